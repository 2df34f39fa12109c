"""Clocks set by an hour: the daily temperature wave shifts against the time written down."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.model import Bools, Floats, Record, Times
from analytics.settings import Settings
from analytics.soil.flags import run_ends

SENSORS = 3  # the shallowest thermometers, whose daily wave is strong
LEAST_SHARE = 0.5  # of a thermometer's readings that must be there
DAY_H = 24.0
WHOLE_DAY = np.timedelta64(30, "h")
"""The readings of a day lie within this, a few lost ones among them; no longer hole does."""
HOUR = np.timedelta64(1, "h")
DAY = np.timedelta64(1, "D")
Waves = NDArray[np.complex128]


def clock_suspect(record: Record, settings: Settings) -> Bools:
    """Find the readings from a clock's jump by an hour until it jumps back.

    Ours. The phase of the daily temperature wave (first harmonic of each day, less the running
    mean of a day, over the shallowest thermometers) after a day is compared with that before
    it, over ``clock_window_days`` each. The clock jumped where the phase shifts by
    ``clock_shift_h`` to ``clock_shift_most_h``, over twice the time too, and by less than
    ``clock_calm_h`` a window earlier and a window later: weather lets it wander back. Near
    frost, and under snow, the wave tells no time, and of days without readings nothing is
    known. It jumped at a hole of exactly one reading within a day of it, else at the day's
    start.

    Parameters
    ----------
    record : Record
        Hourly, or shorter steps, of one placement: in another hole in the ground the same clock
        sees another wave.
    settings : Settings

    Returns
    -------
    (n,) bool
    """
    found = np.zeros(len(record.times), np.bool_)
    known = np.isfinite(record.temp_c).mean(axis=0) > LEAST_SHARE
    sensors = np.flatnonzero(known)[:SENSORS]
    if not len(sensors) or len(record.times) < 2 * DAY_H:
        return found
    days = record.times.astype("datetime64[D]")
    waves, warm = _days(record.times, days, record.temp_c[:, sensors], settings)
    begun: tuple[int, float] | None = None
    for day, shift in _jumps(waves, warm, settings):
        row = _moment(record.times, days, days[0] + day)
        if begun is None:
            begun = row, shift
        elif begun[1] * shift < 0:
            found[begun[0] : row] = True
            begun = None
    if begun is not None:
        found[begun[0] :] = True
    return found


def _days(times: Times, days: Times, temp_c: Floats, settings: Settings) -> tuple[Waves, Bools]:
    """First harmonic of each day (D, sensors), and whether the day was clear of frost."""
    cut = np.flatnonzero(np.r_[True, days[1:] != days[:-1]])
    where = ((days[cut] - days[0]) / DAY).astype(np.intp)
    waves = np.zeros((int(where[-1]) + 1, temp_c.shape[1]), np.complex128)
    warm = np.ones(len(waves), np.bool_)
    length = np.diff(np.r_[cut, len(days)])
    part, seen = _wave(times, days, temp_c, round(float(np.median(length))))
    count = np.add.reduceat(seen, cut, axis=0, dtype=np.float64)
    total = np.add.reduceat(part, cut, axis=0) * 2 / np.maximum(count, 1.0)
    waves[where] = np.where(count >= LEAST_SHARE * np.median(length), total, 0.0)
    warm[where] = np.fmin.reduceat(temp_c, cut, axis=0).min(axis=1) > settings.clock_warm_c
    return waves, warm


def _wave(times: Times, days: Times, temp_c: Floats, day: int) -> tuple[Waves, Bools]:
    """Each reading's part of its daily wave, and whether the day around it is whole."""
    half = max(day // 2, 1)
    known = np.isfinite(temp_c)
    filled = np.where(known, temp_c, np.nanmean(temp_c, axis=0))
    total = np.vstack([np.zeros((1, temp_c.shape[1])), np.cumsum(filled, axis=0)])
    mean = np.zeros_like(filled)
    sums = total[2 * half :] - total[: -2 * half]
    mean[half:-half] = (sums[1:] + sums[:-1]) / (4 * half)
    seen = known.copy()
    seen[:half] = seen[-half:] = False
    spans: Any = times[2 * half :] - times[: -2 * half]
    seen[half:-half] &= (spans <= WHOLE_DAY)[:, None]
    since: Any = (times - days) / HOUR
    turn = np.exp(-2j * np.pi / DAY_H * since)[:, None]
    return np.where(seen, filled - mean, 0.0) * turn, seen


def _jumps(waves: Waves, warm: Bools, settings: Settings) -> list[tuple[int, float]]:
    """List the days at which the wave's phase shifts for good by about an hour."""
    reach = int(settings.clock_window_days)
    if len(waves) <= 4 * reach:
        return []
    near, wide = (_shift(waves, span, settings) for span in (reach, 2 * reach))
    days = np.arange(2 * reach, len(waves) - 2 * reach)
    cold = np.r_[0, np.cumsum(~warm)]
    kept = cold[days + 2 * reach] == cold[days - 2 * reach]
    kept &= _about_an_hour(near[days], settings) & _about_an_hour(wide[days], settings)
    kept &= near[days] * wide[days] > 0
    for beside in (days - reach, days + reach):
        kept &= np.abs(near[beside]) < settings.clock_calm_h
    found = []
    for first, last in zip(*run_ends(kept), strict=True):
        best = days[first + np.abs(wide[days[first : last + 1]]).argmax()]
        found.append((int(best), float(near[best])))
    return found


def _about_an_hour(shift_h: Floats, settings: Settings) -> Bools:
    size = np.abs(shift_h)
    return (size >= settings.clock_shift_h) & (size <= settings.clock_shift_most_h)


def _shift(waves: Waves, reach: int, settings: Settings) -> Floats:
    """Hours by which the phase from each day on differs from before; 0 for a weak wave.

    NaN where half the days before or after have no wave at all.
    """
    total = np.vstack([np.zeros((1, waves.shape[1])), np.cumsum(waves, axis=0)])
    parts = (total[reach:] - total[:-reach]) / reach
    turned = (parts[reach:] * parts[:-reach].conj()).sum(axis=1)
    found = np.zeros(len(waves))
    hours = np.angle(turned) * DAY_H / (2 * np.pi)
    strong = np.abs(turned) >= settings.clock_wave_c**2
    known = np.r_[0, np.cumsum((waves != 0).any(axis=1))]
    enough = known[reach:] - known[:-reach] > LEAST_SHARE * reach
    enough = enough[reach:] & enough[:-reach]
    found[reach : reach + len(turned)] = np.where(enough, np.where(strong, hours, 0.0), np.nan)
    return found


def _moment(times: Times, days: Times, day: np.datetime64) -> int:
    """First row after a hole of one reading about that day, else of that day."""
    first, after = np.searchsorted(days, [day - DAY, day + 2 * DAY])
    wait: Any = np.diff(times[first:after]) / HOUR
    if len(wait):
        single = np.flatnonzero(np.abs(wait / np.median(wait) - 2.0) < LEAST_SHARE)
        if len(single) == 1:
            return int(first + single[0]) + 1
    return int(np.searchsorted(days, day))
