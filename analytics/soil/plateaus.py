"""Flat stretches that the published rules doubt: low after a drop, and at saturation."""

import numpy as np
from numpy.typing import NDArray

from analytics.model import Bools, Floats, Record
from analytics.settings import Settings
from analytics.soil.days import sampling_step
from analytics.soil.flags import run_ends

NOUGHT = 1e-6  # m3/m3, below what any logger writes: rounding of sums
Places = NDArray[np.intp]


def low_after_drop(record: Record, drops: Bools, settings: Settings) -> Bools:
    """Find sensors that stay flat from a drop on.

    Dorigo et al. (2013), flag D09: from a drop (D07) on, as long as the variance of the 13
    hours ahead over their mean stays below 0.001; never fewer than 13 hours. Their variance
    is in per cent by volume, so the limit is 0.00001 in m3/m3. Holes are bridged.

    Parameters
    ----------
    record : Record
        Hourly, or shorter steps.
    drops : (n, k) bool
        Of :func:`analytics.soil.breaks.breaks`.
    settings : Settings

    Returns
    -------
    (n, k) bool
    """
    found = np.zeros(record.theta.shape, np.bool_)
    for sensor in np.flatnonzero(drops.any(axis=0)):
        rows = np.flatnonzero(np.isfinite(record.theta[:, sensor]))
        values = record.theta[rows, sensor]
        window = _window(record, settings.low_flat_h)
        if len(values) < window:
            continue
        mean, variance = _ahead(values, window)
        flat = variance < settings.low_flat * mean
        flat |= (variance < NOUGHT**2) & (np.abs(mean) < NOUGHT)
        for start in np.flatnonzero(drops[rows[: len(flat)], sensor] & flat):
            rough = np.flatnonzero(~flat[start:])
            end = start + (rough[0] if len(rough) else len(flat) - start) + window - 2
            found[rows[start : end + 1], sensor] = True
    return found


def saturated(record: Record, settings: Settings, highest: Floats | None = None) -> Bools:
    """Find plateaus at the top of what a sensor ever read.

    Dorigo et al. (2013), flag D10: hours with a variance of the 12 hours ahead of at most
    0.05 (per cent by volume) squared, 0.000005 (m3/m3) squared; a slope of 0.25 per cent by
    volume an hour within 12 hours of the start and one below nought within 12 hours of the
    end; a mean between the two of more than 0.95 times the highest reading in range. The
    steepest rise and fall bound the plateau where they lie within it. Holes are bridged.
    Ours: its mean lies ``plateau_climb`` above that of the 12 hours before, since the noise of
    a common sensor alone has such slopes (with 0 the rule is the published one).

    Parameters
    ----------
    record : Record
        Hourly, or shorter steps.
    settings : Settings
    highest : (k,) float, optional
        What each sensor read at most before the record given, where that is a part of a longer
        one; NaN for nothing.

    Returns
    -------
    (n, k) bool
    """
    found = np.zeros(record.theta.shape, np.bool_)
    window = _window(record, settings.plateau_h)
    top = np.full(record.theta.shape[1], np.nan) if highest is None else highest
    for sensor in range(record.theta.shape[1]):
        rows = np.flatnonzero(np.isfinite(record.theta[:, sensor]))
        values = record.theta[rows, sensor]
        for first, last in _plateaus(values, window, settings, float(top[sensor])):
            found[rows[first : last + 1], sensor] = True
    return found


def _window(record: Record, hours: float) -> int:
    return max(round(hours / sampling_step(record.times)), 2)


def _ahead(values: Floats, window: int) -> tuple[Floats, Floats]:
    """Mean and variance of each reading and the ones ahead of it; none where too few are."""
    base = float(values.mean())
    near = values - base
    total = np.r_[0.0, np.cumsum(near)]
    square = np.r_[0.0, np.cumsum(near * near)]
    mean = (total[window:] - total[:-window]) / window
    spread = (square[window:] - square[:-window]) - window * mean**2
    return mean + base, np.maximum(spread, 0.0) / (window - 1)


def _plateaus(
    values: Floats, window: int, settings: Settings, highest: float
) -> list[tuple[int, int]]:
    inside = values[values < settings.theta_high]
    if len(values) < 2 * window or not len(inside):
        return []
    high = settings.plateau_share * float(np.fmax(inside.max(), highest))
    if values.max() <= high:
        return []  # no plateau's mean can lie above it
    _, variance = _ahead(values, window)
    starts, ends = run_ends(variance <= settings.plateau_variance)
    slope = np.gradient(values)
    slope[[0, -1]] /= 2  # as the filter has it, the first and last reading repeated
    rise = _extreme(slope, starts - window, window, largest=True)
    fall = _extreme(slope, ends, window, largest=False)
    ends = ends + window - 1
    first = np.where((starts <= rise) & (rise <= ends), rise, starts)
    last = np.where((starts <= fall) & (fall <= ends), fall, ends)
    kept = (slope[rise] >= settings.plateau_rise) & (slope[fall] < 0) & (last >= first)
    first, last = first[kept], last[kept]
    mean = _mean_of(values, first, last + 1)
    climb = mean - _mean_of(values, np.maximum(first - window, 0), np.maximum(first, 1))
    kept = (mean > high) & (climb >= settings.plateau_climb)
    return list(zip(first[kept].tolist(), last[kept].tolist(), strict=True))


def _mean_of(values: Floats, first: Places, after: Places) -> Floats:
    total = np.r_[0.0, np.cumsum(values)]
    return (total[after] - total[first]) / (after - first)


def _extreme(slope: Floats, since: Places, window: int, *, largest: bool) -> Places:
    """Find the steepest rise or fall of the 2 windows and one reading from each place on."""
    around = np.clip(since[:, None] + np.arange(2 * window + 1), 0, len(slope) - 1)
    picked = slope[around]
    best = picked.argmax(axis=1) if largest else picked.argmin(axis=1)
    return around[np.arange(len(since)), best]
