"""Dying sensors: noise far beyond their own usual, or weeks half out of range."""

import numpy as np
from numpy.typing import NDArray

from analytics.model import Bools, Floats, Record, Times
from analytics.settings import Settings
from analytics.soil.days import day_starts
from analytics.soil.flags import Flag, runs
from analytics.soil.series import quantiles

WEEK_DAYS = 7
QUIET_QUANTILE = 0.25  # a sensor's usual noise; holds while it dies in less than half its life


def failing_days(
    record: Record, flags: NDArray[np.uint16], days: Times, settings: Settings, *, hourly: bool
) -> Bools:
    """Find the readings of a failing sensor.

    Ours. A day's noise is the mean absolute second difference of its readings. A sensor fails
    when most days of the week around have ``failing_noise`` times its usual noise, for at
    least ``failing_days``; it has failed since the noise last was below ``failing_onset``
    times. It is trusted again once ``recover_days`` seen days pass without (and never when the
    record ends before that). A week with more than ``failing_range_share`` of its readings out
    of range is failing as a whole. Readings that look like percent are left out. A daily
    record is judged by range alone, since its second differences are weather.

    Parameters
    ----------
    record : Record
    flags : (n, k) uint16
        ``RANGE`` and ``UNIT`` set.
    days : (n,) datetime64[D]
        Local, never decreasing.
    settings : Settings
    hourly : bool

    Returns
    -------
    (n, k) bool
    """
    cut, at = day_starts(days)
    fraction = (flags & np.uint16(Flag.UNIT)) == 0
    out = fraction & ((flags & np.uint16(Flag.RANGE)) != 0)
    failing = _weeks_out_of_range(record.theta, out, cut, at, settings)
    if hourly:
        noise = _day_noise(np.where(fraction, record.theta, np.nan), cut, at)
        failing |= _noisy_spans(noise, settings)
    if not failing.any():
        return np.zeros(record.theta.shape, np.bool_)
    return failing[np.repeat(at, np.diff(np.r_[cut, len(days)]))]


def _weeks_out_of_range(
    theta: Floats, out: Bools, cut: NDArray[np.intp], at: NDArray[np.intp], settings: Settings
) -> Bools:
    bad: Floats = np.zeros((int(at[-1]) + 1, theta.shape[1]))
    if not out.any():
        return bad > 0
    seen = bad.copy()
    bad[at] = np.add.reduceat(out, cut, axis=0, dtype=np.float64)
    seen[at] = np.add.reduceat(np.isfinite(theta), cut, axis=0, dtype=np.float64)
    return _week(bad) > settings.failing_range_share * _week(seen)


def _week(counts: Floats) -> Floats:
    """Sum the week round each day (what there is of it at the ends)."""
    total = np.vstack([np.zeros((1, counts.shape[1])), np.cumsum(counts, axis=0)])
    day = np.arange(len(counts))
    half = WEEK_DAYS // 2
    return total[np.minimum(day + half + 1, len(counts))] - total[np.maximum(day - half, 0)]


def _day_noise(theta: Floats, cut: NDArray[np.intp], at: NDArray[np.intp]) -> Floats:
    """Mean absolute second difference of each day, NaN on a day without three readings."""
    bend = np.full(theta.shape, np.nan)
    bend[1:-1] = np.abs(theta[:-2] - 2 * theta[1:-1] + theta[2:])
    known = np.isfinite(bend)
    count = np.add.reduceat(known, cut, axis=0, dtype=np.float64)
    total = np.add.reduceat(np.where(known, bend, 0.0), cut, axis=0)
    noise = np.full((at[-1] + 1, theta.shape[1]), np.nan)
    noise[at] = np.where(count > 0, total / np.maximum(count, 1), np.nan)
    return noise


def _noisy_spans(noise: Floats, settings: Settings) -> Bools:
    seen = np.isfinite(noise)
    usual = np.nan_to_num(quantiles(noise, QUIET_QUANTILE)[0])
    times_usual = noise / np.maximum(usual, settings.failing_floor)
    loud = _most_days(times_usual > settings.failing_noise, seen)
    uneasy = _most_days(times_usual > settings.failing_onset, seen)
    failing = np.zeros_like(seen)
    for sensor in np.flatnonzero(loud.any(axis=0)):
        spans = [
            (_onset(uneasy[:, sensor], first), last)
            for first, last in runs(loud[:, sensor])
            if last - first + 1 >= settings.failing_days
        ]
        for first, last in _until_recovered(spans, seen[:, sensor], settings):
            failing[first : last + 1, sensor] = True
    return failing


def _most_days(marked: Bools, seen: Bools) -> Bools:
    """Ask whether most of the seen days of the week round each day are marked."""
    return _week(marked.astype(np.float64)) > _week(seen.astype(np.float64)) / 2


def _onset(uneasy: Bools, first: int) -> int:
    """Go back to where the noise began to grow."""
    calm = np.flatnonzero(~uneasy[:first])
    return int(calm[-1]) + 1 if len(calm) else 0


def _until_recovered(
    spans: list[tuple[int, int]], seen: Bools, settings: Settings
) -> list[tuple[int, int]]:
    """Carry each noisy span on over the quiet days that are too few to trust again."""
    nexts = [*(first for first, _ in spans), len(seen)][1:]
    return [
        (first, after - 1 if seen[last + 1 : after].sum() < settings.recover_days else last)
        for (first, last), after in zip(spans, nexts, strict=True)
    ]
