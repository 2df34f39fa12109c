"""How long a new hole settles: until water has passed each depth twice, or the creep ends."""

from typing import Any

import numpy as np

from analytics.model import Bools, Floats, Placement, Times
from analytics.settings import Settings

WETTING_DAYS = 2  # a wetting rises within these, the creep of a new hole does not
LEAST_SHARE = 0.5  # of the days of a window that must have been read


def settling_days(
    values: Floats, days: Times, placements: tuple[Placement, ...], settings: Settings
) -> Bools:
    """Find the days on which each depth still settles after an installation.

    Ours, after common practice: from installation until ``settling_cycles`` wettings have come
    to the depth and gone, or until the values of ``settling_window_days`` lie within
    ``settling_trend``, so that no trend is left outside noise; never less than
    ``settling_days``, never more than ``settling_most_days``. A crop that draws on a depth, or
    rain that wets it, keeps it outside noise: then wettings decide. A depth that was
    never read after installation settles for the least time only.

    Parameters
    ----------
    values : (D, k) float
        Daily means of usable readings, m3/m3, NaN where there are none.
    days : (D,) datetime64[D]
        Local, without holes.
    placements : tuple of Placement
    settings : Settings

    Returns
    -------
    (D, k) bool
    """
    settling = np.zeros(values.shape, np.bool_)
    for one in placements:
        if one.installed_on is None or not len(days):
            continue
        age: Any = (days - np.datetime64(one.installed_on, "D")) / np.timedelta64(1, "D")
        span = np.flatnonzero((age >= 0) & (age < settings.settling_most_days))
        if not len(span):
            continue
        part = slice(int(span[0]), int(span[-1]) + 1)
        for sensor in range(values.shape[1]):
            settled = _settled(values[part, sensor], settings)
            calm = np.flatnonzero(settled & (age[part] >= settings.settling_days))
            end = span[calm[0]] if len(calm) else part.stop
            settling[part.start : end, sensor] = True
    return settling


def _settled(values: Floats, settings: Settings) -> Bools:
    """Ask for each day whether enough wettings have passed, or no drift is left."""
    read = np.isfinite(values)
    if read.sum() <= WETTING_DAYS:
        return np.ones(len(values), np.bool_)
    passed = np.cumsum(_passed(values, settings)) >= settings.settling_cycles
    return passed | (_drift(values, settings) < settings.settling_trend)


def _passed(values: Floats, settings: Settings) -> Bools:
    """Mark the days on which a layer has fallen back from a wetting's peak."""
    passed = np.zeros(len(values), np.bool_)
    early = np.full(WETTING_DAYS, np.nan)
    low = np.fmin(np.r_[early[:1], values[:-1]], np.r_[early, values[:-WETTING_DAYS]])
    rose = (values - low[: len(values)] >= settings.settling_rise).tolist()
    peak = np.nan
    for day, value in enumerate(values.tolist()):
        if rose[day] or value > peak:
            peak = value
        elif value < peak - settings.settling_fall:
            passed[day], peak = True, np.nan
    return passed


def _drift(values: Floats, settings: Settings) -> Floats:
    """Range of the last days' values; inf where too few were read."""
    window = int(settings.settling_window_days)
    found = np.full(len(values), np.inf)
    if len(values) < window:
        return found
    parts = np.lib.stride_tricks.sliding_window_view(values, window)
    enough = np.isfinite(parts).sum(axis=1) >= LEAST_SHARE * window
    spread = np.fmax.reduce(parts, axis=1) - np.fmin.reduce(parts, axis=1)
    found[window - 1 :] = np.where(enough, spread, np.inf)
    return found
