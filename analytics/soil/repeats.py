"""Readings that leap for an hour, and sensors that say the same for days."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.model import Bools, Floats, Record
from analytics.settings import Settings
from analytics.soil.days import sampling_step

REFERENCE_DAYS = 30.0  # how long before and after a repeat the sensor's usual noise is judged
HOURS_A_DAY = 24.0


def spikes(record: Record, settings: Settings) -> Bools:
    """Find readings that leap and return within the hour, in a quiet record.

    Dorigo et al. (2013), flag D06: x(t)/x(t-1) above 1.15 or below 0.85, bends
    0.8 < abs(x''(t-1) / x''(t+1)) < 1.2, and variance over mean of the 12 hours either side, t
    left out, below 1 in per cent by volume, which is 0.01 in m3/m3. The second derivative is
    the Savitzky-Golay one of window 3 and order 2: x(t-1) - 2 x(t) + x(t+1).

    Parameters
    ----------
    record : Record
        Hourly, or shorter steps.
    settings : Settings

    Returns
    -------
    (n, k) bool
    """
    theta = record.theta
    found = np.zeros(theta.shape, np.bool_)
    if len(theta) < 5:  # noqa: PLR2004 - the bends before and after take five
        return found
    before, now = theta[1:-3], theta[2:-2]
    leap = (now > before * (1 + settings.spike_change)) | (
        now < before * (1 - settings.spike_change)
    )
    rows, sensors = np.nonzero(leap)
    rows += 2
    kept = _peak(theta, rows, sensors) & _unbroken(record, rows)
    kept &= _balanced(theta, rows, sensors, settings)
    rows, sensors = rows[kept], sensors[kept]
    quiet = _quiet(record, rows, sensors, settings)
    found[rows[quiet], sensors[quiet]] = True
    return found


def _peak(theta: Floats, rows: NDArray[np.intp], sensors: NDArray[np.intp]) -> Bools:
    """Ask that a reading stands above both its neighbours, or below both: a ramp does not."""
    up = theta[rows, sensors] - theta[rows - 1, sensors]
    down = theta[rows, sensors] - theta[rows + 1, sensors]
    return up * down > 0


def _unbroken(record: Record, rows: NDArray[np.intp]) -> Bools:
    """Ask that the two readings either side come at the usual step."""
    span: Any = record.times[rows + 2] - record.times[rows - 2]
    return span / np.timedelta64(1, "h") < 4.5 * sampling_step(record.times)


def _balanced(
    theta: Floats, rows: NDArray[np.intp], sensors: NDArray[np.intp], settings: Settings
) -> Bools:
    x = [theta[rows + shift, sensors] for shift in (-2, -1, 0, 1, 2)]
    before, after = x[0] - 2 * x[1] + x[2], x[2] - 2 * x[3] + x[4]
    after = np.where(after == 0, np.nan, after)
    return np.abs(np.abs(before / after) - 1) < settings.spike_balance


def _quiet(
    record: Record, rows: NDArray[np.intp], sensors: NDArray[np.intp], settings: Settings
) -> Bools:
    reach = round(settings.spike_window_h / sampling_step(record.times))
    shift = np.r_[-reach:0, 1 : reach + 1]
    around = rows[:, None] + shift
    values = record.theta[np.clip(around, 0, len(record.theta) - 1), sensors[:, None]]
    there = np.isfinite(values) & (around >= 0) & (around < len(record.theta))
    count = np.maximum(there.sum(axis=1), 1)
    mean = np.where(there, values, 0.0).sum(axis=1) / count
    spread = np.where(there, values - mean[:, None], 0.0)
    return (spread**2).sum(axis=1) / count < settings.spike_quiet * np.abs(mean)


def stuck(record: Record, settings: Settings, *, hourly: bool) -> Bools:
    """Find sensors that repeat one value longer than their own noise lets them.

    A quiet deep sensor, rounded, may honestly repeat for weeks. So a repeat counts only when
    it lasts ``stuck_days`` (``stuck_daily_days`` in a daily record) and, at the share p of
    changing readings in the 30 days before and after it (the lower of the two), the chance
    (1 - p)^m of m repeats is below ``stuck_chance``.

    Returns
    -------
    (n, k) bool
    """
    found = np.zeros(record.theta.shape, np.bool_)
    days = settings.stuck_days if hourly else settings.stuck_daily_days
    for sensor in range(record.theta.shape[1]):
        rows = np.flatnonzero(np.isfinite(record.theta[:, sensor]))
        values, times = record.theta[rows, sensor], record.times[rows]
        for first, last in _long_repeats(values, times, days):
            if _beyond_chance(values, times, (first, last), settings):
                found[rows[first : last + 1], sensor] = True
    return found


def _long_repeats(values: Floats, times: Any, days: float) -> list[tuple[int, int]]:
    if not len(values):
        return []
    change = np.flatnonzero(values[1:] != values[:-1])
    first, last = np.r_[0, change + 1], np.r_[change, len(values) - 1]
    long = (times[last] - times[first]) / np.timedelta64(1, "h") >= days * HOURS_A_DAY
    return list(zip(first[long].tolist(), last[long].tolist(), strict=True))


def _beyond_chance(
    values: Floats, times: Any, repeat: tuple[int, int], settings: Settings
) -> bool:
    first, last = repeat
    reach = np.timedelta64(round(REFERENCE_DAYS * HOURS_A_DAY), "h")
    begin = int(np.searchsorted(times, times[first] - reach))
    end = int(np.searchsorted(times, times[last] + reach, side="right"))
    beside = (values[begin:first], values[last + 1 : end])
    shares = [float((np.diff(part) != 0).mean()) for part in beside if len(part) > 1]
    if not shares:
        return False
    usual = min(*shares, 1 - np.finfo(float).eps)
    return bool((last - first) * np.log1p(-usual) < np.log(settings.stuck_chance))
