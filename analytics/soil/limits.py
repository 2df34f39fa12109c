"""Full, lower and refill points of each layer: learned in place, given, or from the texture."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.model import Bools, Daily, Floats, Layer, Placement, Season, Times
from analytics.settings import Settings
from analytics.soil.drained import Drained, drained_values, ponded_days
from analytics.soil.layer_points import (
    Point,
    full_point,
    highest_kept,
    low_end,
    lower_point,
    lowest_kept,
)
from analytics.soil.points import (
    Version,
    all_points,
    columns_of,
    given_points,
    points_of,
    versions,
)
from analytics.soil.series import carried
from analytics.soil.settling import settling_days
from analytics.soil.texture import P_REFERENCE_MM_D, depletion_fraction

__all__ = ["Evidence", "all_evidence", "all_points", "evidence_of", "learn_limits", "points_of"]

LAST_THIRD = 2 / 3  # of a season: the crop is mature and the profile at its driest


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evidence:
    """What one placement's record shows of its layers' points: D days by k layers.

    ``lows`` holds, for each layer, the harvest and the low end of each dry-down, m3/m3.
    """

    days: Times  # (D,)
    state: Floats  # (D, k) m3/m3, NaN while frozen or held
    sound: Bools  # (D, k) settled, and neither ponded nor out of a soil's reach
    ponded: Bools  # (D, k)
    years: NDArray[np.int64]  # (D,) number of the off-season
    drained: tuple[Drained, ...]  # (k,)
    kept: Floats  # (k,) highest value kept for some days, NaN where none
    driest: Floats  # (k,) lowest value kept
    lows: list[list[tuple[np.datetime64, float]]]


def learn_limits(  # noqa: PLR0917 - each is a record of its own kind
    daily: Daily,
    layers: tuple[Layer, ...],
    seasons: tuple[Season, ...],
    placements: tuple[Placement, ...],
    set_limits: pd.DataFrame,
    settings: Settings,
    etc_mm_d: float = P_REFERENCE_MM_D,
    evidence: Mapping[int, Evidence] | None = None,
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
    etc_mm_d : float
        What the latest crop asks for at full cover, mm/d; p is adjusted for it.
    evidence : mapping of placement number to Evidence, optional
        As `all_evidence` gathers it; gathered here where it is left out.

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
    known = evidence or all_evidence(daily, layers, seasons, placements, settings)
    for placement in placements:
        days = np.flatnonzero(daily.placement == placement.number)
        since = _opened(daily, placement, days)
        learned = _placement_points(known[placement.number], layers, settings)
        for layer, (full, lower) in zip(layers, learned, strict=True):
            place = {"placement": placement.number, "depth_cm": layer.depth_cm}
            rows += _rows(place, since, {"full": full, "lower": lower})
            rows += given_points(layer, placement, since, settings)
    p = depletion_fraction(_latest_crop(seasons), etc_mm_d)
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


def _placement_points(
    seen: Evidence, layers: tuple[Layer, ...], settings: Settings
) -> list[tuple[Point, Point]]:
    points = []
    for j, layer in enumerate(layers):
        any_read = bool(np.isfinite(seen.state[:, j]).any())
        full = full_point(layer, seen.drained[j], seen.years, seen.kept[j], settings,
                     ponded=bool(seen.ponded[:, j].any()), seen=any_read)  # fmt: skip
        lows = [low for _, low in seen.lows[j]]
        points.append((full, lower_point(layer, lows, float(seen.driest[j]), full, settings)))
    return points


def all_evidence(
    daily: Daily,
    layers: tuple[Layer, ...],
    seasons: tuple[Season, ...],
    placements: tuple[Placement, ...],
    settings: Settings,
) -> dict[int, Evidence]:
    """Gather the evidence of each placement, by its number; see `evidence_of`."""
    return {
        one.number: evidence_of(
            daily, np.flatnonzero(daily.placement == one.number), layers, seasons, one, settings
        )
        for one in placements
    }


def evidence_of(  # noqa: PLR0917 - as `learn_limits`
    daily: Daily, rows: NDArray[np.intp], layers: tuple[Layer, ...],
    seasons: tuple[Season, ...], placement: Placement, settings: Settings,
) -> Evidence:  # fmt: skip
    """Gather what one placement's days show of each layer's full and lower point.

    Parameters
    ----------
    daily : Daily
    rows : (D,) int
        The placement's days, as rows of ``daily``.
    layers : tuple of Layer
    seasons : tuple of Season
    placement : Placement
    settings : Settings

    Returns
    -------
    Evidence
        The same that `learn_limits` judges by.
    """
    columns = columns_of(daily.depths_cm, layers)
    days = daily.days[rows]
    unfrozen = ~(daily.frozen | daily.held)[rows][:, columns] & (columns >= 0)
    state = np.where(unfrozen, daily.state[rows][:, columns], np.nan)
    settled = ~settling_days(state, days, (placement,), settings)
    ponded = ponded_days(carried(state, settings.follow_days), settings)
    sound = settled & ~ponded & (state <= settings.ponded_theta)
    allowed = sound & _fallow(days, seasons, settings)
    return Evidence(
        days=days, state=state, sound=sound, ponded=ponded,
        years=_off_seasons(days, seasons, settings),
        drained=drained_values(state, allowed, layers, settings),
        kept=highest_kept(np.where(sound, state, np.nan)),
        driest=lowest_kept(np.where(sound, state, np.nan)),
        lows=_season_lows(np.where(settled, state, np.nan), days, seasons, settings),
    )  # fmt: skip


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


def _off_seasons(
    days: Times, seasons: tuple[Season, ...], settings: Settings
) -> NDArray[np.int64]:
    """Count the off-seasons by day; without seasons, years that turn in ``frost_month``."""
    if not seasons:
        months = days.astype("datetime64[M]") - (int(settings.frost_month) - 1)
        return months.astype("datetime64[Y]").astype(np.int64)
    planted = np.sort([np.datetime64(season.planted_on, "D") for season in seasons])
    return np.searchsorted(planted, days).astype(np.int64)


def _season_lows(
    state: Floats, days: Times, seasons: tuple[Season, ...], settings: Settings
) -> list[list[tuple[np.datetime64, float]]]:
    """Low end of each completed season's last third, by layer, where the layer dried down."""
    lows: list[list[tuple[np.datetime64, float]]] = [[] for _ in range(state.shape[1])]
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
            low = low_end(whole[np.isfinite(whole)], last[np.isfinite(last)], settings)
            harvested = np.datetime64(season.harvested_on, "D")
            lows[j] += [(harvested, low)] if low is not None else []
    return lows
