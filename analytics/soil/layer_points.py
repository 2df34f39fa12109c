"""What one layer's evidence says of its full and lower point."""

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from analytics.model import Bools, Floats, Layer
from analytics.settings import Settings
from analytics.soil.drained import Drained
from analytics.soil.standin import soil_words, stand_in

SEED = 1983  # resampling repeats exactly
RESAMPLES = 200
BEYOND_NOISE = 3.0  # sensor sds, the usual three sigma
KEPT_DAYS = 5  # a value kept so long is no passing peak
LOW_SHARE = 0.05
"""What a dry-down's low end is read at: the 5 % quantile, so that one stray low is none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One learned or stood-in point of a layer."""

    value: float
    sd: float
    state: str
    reason: str
    wettings: int = 0
    ponded: bool = False


def highest_kept(state: Floats) -> Floats:
    """Highest value that a layer kept for some days, NaN where it kept none."""
    if len(state) < KEPT_DAYS:
        return np.full(state.shape[1], np.nan)
    lowest = sliding_window_view(state, KEPT_DAYS, axis=0).min(axis=-1)
    best = np.where(np.isfinite(lowest), lowest, -np.inf).max(axis=0)
    return np.where(np.isfinite(best), best, np.nan)


def lowest_kept(state: Floats) -> Floats:
    """Lowest value that a layer kept for some days, NaN where it kept none."""
    return -highest_kept(-state)


def full_point(
    layer: Layer, drained: Drained, years: NDArray[np.int64], kept: float,
    settings: Settings, *, ponded: bool, seen: bool,
) -> Point:  # fmt: skip
    """Full point of a layer from its drained values, or what stands in for it.

    Parameters
    ----------
    layer : Layer
    drained : Drained
        The layer's drained values.
    years : (D,) int
        Number of the off-season of each day.
    kept : float
        Highest value that the layer kept for some days, NaN where none; a lower bound.
    settings : Settings
    ponded, seen : bool
        Whether the layer stood ponded, and whether anything good was read of it.

    Returns
    -------
    Point
        Median of the upper cluster, m3/m3. The sd is a bootstrap's with the sensor's noise;
        the top layer's carries what evaporation takes before it has drained.
    """
    if len(drained.value) == 0:
        return _full_unseen(layer, kept, settings, ponded=ponded, seen=seen)
    upper = upper_cluster(drained.value, settings)
    values, n = drained.value[upper], int(upper.sum())
    sure = int((upper & drained.sure).sum())
    off_seasons = len(np.unique(years[drained.day[upper]]))
    learned = sure >= settings.learned_wettings and off_seasons >= settings.learned_seasons
    sd = float(np.hypot(_spread_of_centre(values, settings), settings.drained_sd))
    if layer.top_cm <= 0.0:
        sd = float(np.hypot(sd, settings.surface_sd))
    return Point(
        value=float(np.median(values)),
        sd=sd if learned else float(np.hypot(sd, settings.provisional_sd)),
        state="learned" if learned else "provisional",
        reason=f"drained after {counted(n, 'wetting')} in {counted(off_seasons, 'off-season')}",
        wettings=n, ponded=ponded,
    )  # fmt: skip


def upper_cluster(values: Floats, settings: Settings) -> Bools:
    """Tell which drained values are of the upper cluster; the others were only part wetted."""
    top = np.quantile(values, settings.upper_quantile, method="nearest")
    return np.abs(values - top) <= settings.cluster_width


def counted(number: int, what: str) -> str:
    """Count something in words: "1 off-season", "3 wettings"."""
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _spread_of_centre(values: Floats, settings: Settings) -> float:
    """Uncertainty of the median: bootstrap and the sensor's noise, never below a floor."""
    picks = np.random.default_rng(SEED).integers(0, len(values), (RESAMPLES, len(values)))
    resampled = float(np.std(np.median(values[picks], axis=1)))
    noise = settings.sensor_sd / np.sqrt(len(values))
    return max(float(np.hypot(resampled, noise)), settings.limit_sd)


def _full_unseen(
    layer: Layer, kept: float, settings: Settings, *, ponded: bool, seen: bool
) -> Point:
    """Let the texture stand in, never below what the layer was seen to hold."""
    texture = stand_in(layer)
    bound = kept - settings.sensor_sd if np.isfinite(kept) else -np.inf
    reason = f"never seen to drain; {soil_words(layer)}"
    if bound > texture.full:
        reason = "never seen to drain; the highest value kept stands in, a lower bound"
    return Point(
        value=max(texture.full, bound), sd=texture.full_sd,
        state="not_yet_seen" if seen else "texture", reason=reason, ponded=ponded,
    )  # fmt: skip


def low_end(whole: Floats, last: Floats, settings: Settings) -> float | None:
    """Low end of one dry-down, m3/m3; None where the layer hardly fell or did not rest there.

    Parameters
    ----------
    whole, last : (n,) float
        Finite states of the season and of its last third, m3/m3.
    settings : Settings
    """
    if len(last) < KEPT_DAYS:
        return None
    low = float(np.quantile(last, LOW_SHARE))
    rested = (last <= low + settings.lower_rest).sum() >= settings.lower_days
    return low if rested and whole.max() - low > settings.drydown else None


def lower_point(
    layer: Layer, lows: list[float], driest: float, full: Point, settings: Settings
) -> Point:
    """Lower point of a layer, never above what the layer was seen to dry to and stay at.

    Parameters
    ----------
    layer : Layer
    lows : list of float
        Low end of each season in which the layer dried down and rested, m3/m3.
    driest : float
        Lowest value that the layer kept for some days, NaN where none; an upper bound. Not
        used for the top layer, which the air dries below what roots can reach.
    full : Point
    settings : Settings
    """
    point = _lower_of_seasons(layer, lows, full, settings)
    if layer.top_cm <= 0.0 or not driest < point.value - BEYOND_NOISE * settings.sensor_sd:
        return point
    return Point(
        value=driest, sd=float(np.hypot(point.sd, settings.provisional_sd)),
        state="provisional", wettings=point.wettings,
        reason="the lowest value kept stands in, an upper bound",
    )  # fmt: skip


def _lower_of_seasons(
    layer: Layer, lows: list[float], full: Point, settings: Settings
) -> Point:
    """Lower point of a layer from the low ends of its dry-downs, or from its texture.

    Parameters
    ----------
    layer : Layer
    lows : list of float
        Low end of each season in which the layer dried down and rested, m3/m3.
    full : Point
    settings : Settings

    Returns
    -------
    Point
        Median of the lower cluster. A crop that had water enough stops far above the limit:
        a low end beyond the reach of the texture's lower point is none.
    """
    texture = stand_in(layer)
    lowest = np.array([low for low in lows if low <= min(lows) + settings.cluster_width])
    reach = texture.lower + settings.lower_reach * texture.lower_sd
    ceiling = min(reach, full.value - settings.least_span)
    if len(lowest) == 0 or np.median(lowest) > ceiling:
        return _lower_by_texture(layer, full, settings)
    sd = _spread_of_centre(lowest, settings)
    learned = len(lowest) >= settings.learned_seasons
    return Point(
        value=float(np.median(lowest)), wettings=len(lowest),
        sd=sd if learned else float(np.hypot(sd, settings.provisional_sd)),
        state="learned" if learned else "provisional",
        reason=f"low end of {counted(len(lowest), 'dry-down')} under a crop",
    )  # fmt: skip


def _lower_by_texture(layer: Layer, full: Point, settings: Settings) -> Point:
    texture = stand_in(layer)
    value = texture.lower
    if value > full.value - settings.least_span:
        value = full.value * texture.lower / texture.full
    reason = f"no dry-down to the limit seen; {soil_words(layer)}"
    return Point(value=value, sd=texture.lower_sd, state="texture", reason=reason)
