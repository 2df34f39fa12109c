"""Small tools for daily series: carrying a value over short holes, noise, thickness."""

import numpy as np
from numpy.typing import NDArray

from analytics.model import Floats, Layer
from analytics.settings import Settings

MAD_TO_SD = 1.4826  # of a normal distribution


def carried(values: Floats, longest_days: float) -> Floats:
    """Carry each column's last value over holes, so that steps across them can be seen.

    Parameters
    ----------
    values : (D, k) float
        One row a day.
    longest_days : float
        A longer hole stays a hole after so many days.

    Returns
    -------
    (D, k) float
        For comparing days only; never written down as a reading.
    """
    rows = np.arange(len(values))[:, None]
    seen = np.maximum.accumulate(np.where(np.isfinite(values), rows, -1), axis=0)
    found = np.take_along_axis(values, np.maximum(seen, 0), axis=0)
    return np.where((seen >= 0) & (rows - seen <= longest_days), found, np.nan)


def step_noise(values: Floats) -> Floats:
    """Robust standard deviation of each column's step from one day to the next.

    Parameters
    ----------
    values : (D, k) float

    Returns
    -------
    (k,) float
        1.4826 x the median absolute deviation of the daily steps; 0 where there are none.
    """
    return _spread(np.diff(values, axis=0))


def bend_noise(values: Floats) -> Floats:
    """Robust standard deviation of a column's daily step that is noise, not steady change.

    A crop's uptake makes every step large and much alike; only what bends from one day to the
    next is noise. The second difference of independent errors has three times the variance of
    the first, so its deviation is divided by the square root of three.

    Parameters
    ----------
    values : (D, k) float

    Returns
    -------
    (k,) float
        In the units of ``values``; 0 where there are fewer than three.
    """
    return _spread(np.diff(values, n=2, axis=0)) / 3.0**0.5


def _spread(steps: Floats) -> Floats:
    """Robust standard deviation of each column, 0 where it holds nothing."""
    (middle,) = quantiles(steps, 0.5)
    (away,) = quantiles(np.abs(steps - middle), 0.5)
    return MAD_TO_SD * np.nan_to_num(away)


def quantiles(values: Floats, *shares: float) -> Floats:
    """Quantiles of each column's known values, NaN where a column holds none.

    Parameters
    ----------
    values : (n, k) float
    *shares : float
        From 0 to 1.

    Returns
    -------
    (m, k) float
        A row a share. Between two values what lies linearly between.
    """
    ordered = np.sort(values.T, axis=1)  # NaN last
    count = np.isfinite(ordered).sum(axis=1)
    found = np.full((len(shares), len(count)), np.nan)
    some = np.flatnonzero(count)
    place = np.multiply.outer(shares, count[some] - 1)
    below = place.astype(np.intp)
    above = np.minimum(below + 1, count[some] - 1)
    low, high = ordered[some, below], ordered[some, above]
    found[:, some] = low + (place - below) * (high - low)
    return found


def wettest_of(state: Floats, noise: Floats, settings: Settings) -> Floats:
    """Value from which on each layer is at its wettest; inf where it never moved enough.

    Parameters
    ----------
    state : (D, k) float
    noise : (k,) float
        Least rise that stands out of a layer's noise.
    settings : Settings

    Returns
    -------
    (k,) float
    """
    low, high = quantiles(state, 1.0 - settings.wet_quantile, settings.wet_quantile)
    moved = high - low > settings.wet_span
    return np.where(moved, high - noise, np.inf)


def thickness_mm(depths_cm: Floats, layers: tuple[Layer, ...]) -> Floats:
    """Millimetres of water in each layer per unit of theta; 0 for a sensor without a layer."""
    thick = {layer.depth_cm: layer.thickness_cm * 10.0 for layer in layers}
    return np.array([thick.get(float(depth), 0.0) for depth in depths_cm])


def runs(days: NDArray[np.intp], apart: int) -> list[NDArray[np.intp]]:
    """Split ascending day numbers where two are more than ``apart`` days apart."""
    if len(days) == 0:
        return []
    return np.split(days, np.flatnonzero(np.diff(days) > apart) + 1)
