"""What else a point might be: every value that speaks for it, with its date and its weight."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from analytics.contract import TABLES
from analytics.model import Bools, Daily, Floats, Layer, Placement, Season
from analytics.settings import Settings
from analytics.soil.attractors import attractors
from analytics.soil.drained import Drained
from analytics.soil.layer_points import upper_cluster
from analytics.soil.limits import Evidence, all_evidence
from analytics.soil.standin import stand_in
from analytics.soil.texture import depletion_fraction

NAMES = list(TABLES["candidates"].names)
PREVIOUS = "previous placement"


class Opinion(NamedTuple):
    """One value that a point might have: ``weight`` counts the days or wettings behind it."""

    point: str
    kind: str
    value: float
    on: Any = None  # datetime64, or None where it has no date
    weight: float = 1.0


def candidates(  # noqa: PLR0917 - each is a record of its own kind
    daily: Daily,
    layers: tuple[Layer, ...],
    seasons: tuple[Season, ...],
    placements: tuple[Placement, ...],
    limits: pd.DataFrame,
    settings: Settings,
    evidence: Mapping[int, Evidence] | None = None,
) -> pd.DataFrame:
    """Lay out every value that each placement's points might have.

    Parameters
    ----------
    daily : Daily
    layers : tuple of Layer
    seasons : tuple of Season
    placements : tuple of Placement
        As effective: nothing but the earlier points, for comparison, crosses one.
    limits : DataFrame
        Columns of ``limits``: the versions these values stand beside.
    settings : Settings
    evidence : mapping of placement number to Evidence, optional
        As `all_evidence` gathers it; gathered here where it is left out.

    Returns
    -------
    DataFrame
        Columns of the contract's ``candidates``, m3/m3. ``drained``: after each wetting, on
        its day. ``histogram``: peaks, see `attractors`. ``season``: each off-season's own
        estimate by the rule of the carried one, each dry-down's low end. ``texture``,
        ``highest_kept`` and ``lowest_kept``, and what the placement before was given.
    """
    known = evidence or all_evidence(daily, layers, seasons, placements, settings)
    crop = max(seasons, key=lambda one: one.planted_on).crop if seasons else None
    before: dict[tuple[float, str], Opinion] = {}
    rows: list[dict[str, Any]] = []
    for placement in placements:
        seen = known[placement.number]
        own = _of_placement(limits[limits["placement"] == placement.number])
        for j, layer in enumerate(layers):
            place = {"placement": placement.number, "depth_cm": layer.depth_cm}
            told = [
                *_full(seen, j, settings), *_lower(seen, j), *_texture(layer, crop),
                *_peaks(seen, j, layer, _middle(own, layer), settings),
                *(one for (depth, _), one in before.items() if depth == layer.depth_cm),
            ]  # fmt: skip
            rows += [{**place, **one._asdict()} for one in told]
        before = own or before
    return frame_of(daily.site, rows)


def frame_of(site: str, rows: list[dict[str, Any]]) -> pd.DataFrame:
    """Lay rows out with the contract's columns and types."""
    frame = pd.DataFrame(rows, columns=[name for name in NAMES if name != "site"])
    frame.insert(0, "site", pd.Series([site] * len(frame), dtype="str"))
    frame["on"] = pd.to_datetime(frame["on"]).astype("datetime64[us]")
    kinds = {"placement": "int64", "depth_cm": "float64", "point": "str", "value": "float64",
             "kind": "str", "weight": "float64"}  # fmt: skip
    known = frame[frame["value"].notna()]
    return known.astype(kinds)[NAMES].reset_index(drop=True)


def _full(seen: Evidence, j: int, settings: Settings) -> Iterator[Opinion]:
    drained = seen.drained[j]
    for row, value in zip(drained.day, drained.value, strict=True):
        yield Opinion("full", "drained", float(value), seen.days[row])
    yield from season_fulls(seen, drained, settings)
    yield Opinion("full", "highest_kept", float(seen.kept[j]))


def season_fulls(seen: Evidence, drained: Drained, settings: Settings) -> list[Opinion]:
    """Give each off-season's own estimate of a full point, by the rule of the carried one.

    Parameters
    ----------
    seen : Evidence
    drained : Drained
        The layer's drained values.
    settings : Settings

    Returns
    -------
    list of Opinion
        Median of the off-season's upper cluster, on the last day that it rests on.
    """
    years = seen.years[drained.day]
    told = []
    for year in np.unique(years):
        of_year = years == year
        upper = upper_cluster(drained.value[of_year], settings)
        values, rows = drained.value[of_year][upper], drained.day[of_year][upper]
        middle = float(np.median(values))
        told.append(Opinion("full", "season", middle, seen.days[rows[-1]], len(values)))
    return told


def _lower(seen: Evidence, j: int) -> Iterator[Opinion]:
    for harvested, low in seen.lows[j]:
        yield Opinion("lower", "season", low, harvested)
    yield Opinion("lower", "lowest_kept", float(seen.driest[j]))


def _texture(layer: Layer, crop: str | None) -> Iterable[Opinion]:
    if layer.texture is None:
        return ()
    said = stand_in(layer)
    refill = said.full - depletion_fraction(crop) * (said.full - said.lower)
    values = {"full": said.full, "lower": said.lower, "refill": refill}
    return [Opinion(point, "texture", value) for point, value in values.items()]


def _middle(newest: Mapping[tuple[float, str], Opinion], layer: Layer) -> float:
    """Middle between a layer's newest full and lower point; a peak above it speaks of full."""
    full, lower = (newest[layer.depth_cm, point].value for point in ("full", "lower"))
    return (full + lower) / 2


def _peaks(
    seen: Evidence, j: int, layer: Layer, middle: float, settings: Settings
) -> Iterator[Opinion]:
    """Give a layer's attractors; the air never lets the top one rest at full."""
    good: Bools = seen.sound[:, j]
    states: Floats = np.where(good, seen.state[:, j], np.nan)
    for value, days in zip(*attractors(states, settings), strict=True):
        point = "full" if value >= middle else "lower"
        if point == "lower" or layer.top_cm > 0.0:
            yield Opinion(point, "histogram", float(value), None, float(days))


def _of_placement(limits: pd.DataFrame) -> dict[tuple[float, str], Opinion]:
    """Newest points of one placement, as the next is shown them."""
    newest = limits.sort_values("valid_from").drop_duplicates(
        ["depth_cm", "point"], keep="last"
    )
    return {
        (float(row["depth_cm"]), str(row["point"])): Opinion(
            str(row["point"]), PREVIOUS, float(row["value"]), None, float(row["wettings"])
        )
        for row in newest.to_dict("records")
    }
