"""Full, lower and refill points of each layer: learned in place, given, or from the texture."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from analytics.model import Bools, Daily, Floats, Layer, Placement, Season, Times
from analytics.settings import Settings
from analytics.soil.drained import Drained, drained_values, ponded_days
from analytics.soil.points import (
    Version,
    all_points,
    columns_of,
    given_points,
    points_of,
    versions,
)
from analytics.soil.series import carried
from analytics.soil.texture import depletion_fraction, texture_points

__all__ = ["all_points", "learn_limits", "points_of"]

SEED = 1983  # resampling repeats exactly
RESAMPLES = 200
KEPT_DAYS = 5  # a value kept so long is no passing peak
LAST_THIRD = 2 / 3
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


def learn_limits(  # noqa: PLR0917 - each is a record of its own kind
    daily: Daily,
    layers: tuple[Layer, ...],
    seasons: tuple[Season, ...],
    placements: tuple[Placement, ...],
    set_limits: pd.DataFrame,
    settings: Settings,
) -> pd.DataFrame:
    """Learn each placement's points, and put what was given or set by a person above them.

    Parameters
    ----------
    daily : Daily
    layers : tuple of Layer
        Points known beforehand ride on them: an undated one holds for every placement, a dated
        one only for the placement that stood on that date.
    seasons : tuple of Season
    placements : tuple of Placement
    set_limits : DataFrame
        Columns of ``limits``: versions set by a person; they hold from their ``valid_from``.
    settings : Settings

    Returns
    -------
    DataFrame
        Columns of the contract's ``limits``, m3/m3; a full, a lower and a refill point at
        least for every placement and layer. Nothing crosses a placement.

    Notes
    -----
    Full: see `drained_values`; the robust centre of the upper cluster of those values over all
    seasons, its spread by bootstrap. Lower: the low end of dry-downs in the last third of a
    season. Refill: full - p (full - lower), FAO-56 Table 22.
    """
    rows: list[Version] = []
    for placement in placements:
        days = np.flatnonzero(daily.placement == placement.number)
        since = _opened(daily, placement, days)
        learned = _placement_points(daily, days, layers, seasons, placement, settings)
        for layer, (full, lower) in zip(layers, learned, strict=True):
            place = {"placement": placement.number, "depth_cm": layer.depth_cm}
            rows += _rows(place, since, {"full": full, "lower": lower})
            rows += given_points(layer, placement, since, settings)
    p = depletion_fraction(_latest_crop(seasons))
    return versions(daily.site, rows, set_limits, p, settings)


def _rows(
    place: dict[str, object], since: np.datetime64, points: dict[str, Point]
) -> Iterable[Version]:
    for name, point in points.items():
        yield {
            **place, "point": name, "value": point.value, "sd": point.sd, "state": point.state,
            "valid_from": since, "set_by": "record" if point.wettings else "texture",
            "reason": point.reason, "wettings": point.wettings, "ponded": point.ponded,
        }  # fmt: skip


def _opened(daily: Daily, placement: Placement, days: NDArray[np.intp]) -> np.datetime64:
    if placement.installed_on is not None:
        return np.datetime64(placement.installed_on, "D")
    first = daily.days[days[0]].item() if len(days) else "1970-01-01"  # neither days nor date
    return np.datetime64(first, "D")


def _latest_crop(seasons: tuple[Season, ...]) -> str | None:
    return max(seasons, key=lambda season: season.planted_on).crop if seasons else None


def _placement_points(  # noqa: PLR0917 - as `learn_limits`
    daily: Daily, rows: NDArray[np.intp], layers: tuple[Layer, ...],
    seasons: tuple[Season, ...], placement: Placement, settings: Settings,
) -> list[tuple[Point, Point]]:  # fmt: skip
    columns = columns_of(daily.depths_cm, layers)
    days = daily.days[rows]
    unfrozen = ~(daily.frozen | daily.held)[rows][:, columns] & (columns >= 0)
    state = np.where(unfrozen, daily.state[rows][:, columns], np.nan)
    settled = ~_settling(days, placement, settings)[:, None]
    ponded = ponded_days(carried(state, settings.follow_days), settings)
    sound = settled & ~ponded & (state <= settings.ponded_theta)
    by_texture = np.array([texture_points(layer.texture).full for layer in layers])
    allowed = sound & _fallow(days, seasons, settings)
    drained = drained_values(state, allowed, by_texture, settings)
    years = _off_seasons(days, seasons)
    kept = _highest_kept(np.where(sound, state, np.nan))
    lows = _season_lows(np.where(settled, state, np.nan), days, seasons, settings)
    points = []
    for j, layer in enumerate(layers):
        any_read = bool(np.isfinite(state[:, j]).any())
        full = _full(layer, drained[j], years, kept[j], settings,
                     ponded=bool(ponded[:, j].any()), seen=any_read)  # fmt: skip
        points.append((full, _lower(layer, lows[j], full, settings)))
    return points


def _settling(days: Times, placement: Placement, settings: Settings) -> Bools:
    if placement.installed_on is None:
        return np.zeros(len(days), dtype=bool)
    installed = np.datetime64(placement.installed_on, "D")
    return days < installed + np.timedelta64(int(settings.settling_days), "D")


def _fallow(days: Times, seasons: tuple[Season, ...], settings: Settings) -> Bools:
    """Days on which no crop old enough to matter draws water, as a column."""
    fallow = np.ones(len(days), dtype=bool)
    young = np.timedelta64(int(settings.young_crop_days), "D")
    for season in seasons:
        grown = np.datetime64(season.planted_on, "D") + young
        fallow &= ~((days >= grown) & (days <= _ended(season, days)))
    return fallow[:, None]


def _ended(season: Season, days: Times) -> np.datetime64:
    if season.harvested_on is not None:
        return np.datetime64(season.harvested_on, "D")
    return days[-1] if len(days) else np.datetime64(season.planted_on, "D")


def _off_seasons(days: Times, seasons: tuple[Season, ...]) -> NDArray[np.int64]:
    """Count the off-seasons by day; without seasons, years that turn on the first of July."""
    if not seasons:
        half = np.timedelta64(184, "D")  # July to December
        return (days + half).astype("datetime64[Y]").astype(np.int64)
    planted = np.sort([np.datetime64(season.planted_on, "D") for season in seasons])
    return np.searchsorted(planted, days).astype(np.int64)


def _highest_kept(state: Floats) -> Floats:
    """Highest value that a layer kept for some days, NaN where it kept none."""
    if len(state) < KEPT_DAYS:
        return np.full(state.shape[1], np.nan)
    lowest = sliding_window_view(state, KEPT_DAYS, axis=0).min(axis=-1)
    best = np.where(np.isfinite(lowest), lowest, -np.inf).max(axis=0)
    return np.where(np.isfinite(best), best, np.nan)


def _full(
    layer: Layer, drained: Drained, years: NDArray[np.int64], kept: float,
    settings: Settings, *, ponded: bool, seen: bool,
) -> Point:  # fmt: skip
    if len(drained.value) == 0:
        return _full_unseen(layer, kept, settings, ponded=ponded, seen=seen)
    top = np.quantile(drained.value, settings.upper_quantile, method="nearest")
    upper = np.abs(drained.value - top) <= settings.cluster_width
    values, n = drained.value[upper], int(upper.sum())
    off_seasons = len(np.unique(years[drained.day[upper]]))
    learned = n >= settings.learned_wettings and off_seasons >= settings.learned_seasons
    sd = _spread_of_centre(values, settings)
    return Point(
        value=float(np.median(values)),
        sd=sd if learned else float(np.hypot(sd, settings.provisional_sd)),
        state="learned" if learned else "provisional",
        reason=f"drained after {n} wettings in {off_seasons} off-seasons",
        wettings=n, ponded=ponded,
    )  # fmt: skip


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
    texture = texture_points(layer.texture)
    bound = kept - settings.sensor_sd if np.isfinite(kept) else -np.inf
    words = layer.texture or "no texture known"
    reason = f"never seen to drain; {words}, FAO-56 Table 19"
    if bound > texture.full:
        reason = "never seen to drain; the highest value kept stands in, a lower bound"
    return Point(
        value=max(texture.full, bound), sd=texture.full_sd,
        state="not_yet_seen" if seen else "texture", reason=reason, ponded=ponded,
    )  # fmt: skip


def _season_lows(
    state: Floats, days: Times, seasons: tuple[Season, ...], settings: Settings
) -> list[list[float]]:
    """Low end of each completed season's last third, by layer, where the layer dried down."""
    lows: list[list[float]] = [[] for _ in range(state.shape[1])]
    for season in seasons:
        if season.harvested_on is None:
            continue
        first, stop = np.searchsorted(
            days, np.array([season.planted_on, season.harvested_on], dtype="datetime64[D]")
        )
        late = first + int((stop - first) * LAST_THIRD)
        for j, (whole, last) in enumerate(
            zip(state[first:stop].T, state[late:stop].T, strict=True)
        ):
            low = _low_end(whole[np.isfinite(whole)], last[np.isfinite(last)], settings)
            lows[j] += [low] if low is not None else []
    return lows


def _low_end(whole: Floats, last: Floats, settings: Settings) -> float | None:
    if len(last) < KEPT_DAYS:
        return None
    low = float(np.quantile(last, LOW_SHARE))
    return low if whole.max() - low > settings.drydown else None


def _lower(layer: Layer, lows: list[float], full: Point, settings: Settings) -> Point:
    texture = texture_points(layer.texture)
    if lows:
        lowest = np.sort(lows)[: (len(lows) + 1) // 2]
        value = float(np.median(lowest))
        if value <= full.value - settings.least_span:
            sd = _spread_of_centre(lowest, settings)
            learned = len(lows) >= settings.learned_seasons
            return Point(
                value=value, sd=sd if learned else float(np.hypot(sd, settings.provisional_sd)),
                state="learned" if learned else "provisional", wettings=len(lows),
                reason=f"low end of {len(lows)} dry-downs under a crop",
            )  # fmt: skip
    value = texture.lower
    if value > full.value - settings.least_span:
        value = full.value * texture.lower / texture.full
    reason = f"no dry-down seen; {layer.texture or 'no texture known'}, FAO-56 Table 19"
    return Point(value=value, sd=texture.lower_sd, state="texture", reason=reason)
