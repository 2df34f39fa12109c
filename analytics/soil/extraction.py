"""What each layer gave to each crop, how hard roots pulled, and when they were done."""

from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from numpy.lib.stride_tricks import sliding_window_view

from analytics.contract import TABLES
from analytics.model import Bools, Daily, Floats, Layer, Season, Times
from analytics.settings import Settings
from analytics.soil.layer_points import highest_kept, lowest_kept
from analytics.soil.profile import MM_PER_CM

NAMES = list(TABLES["extraction"].names)
FAO29_RULE = (0.4, 0.3, 0.2, 0.1)
"""Share of each quarter of the root zone from the top: FAO-56, p. 180."""
QUARTERS = len(FAO29_RULE)
END_DAYS = 7  # what a layer stood at in the end is read within so many days
AVERAGED = 3  # days: one wild day is no peak
STOPPED_DAYS = 5
LEAST_MM = 0.1


def extraction(  # noqa: PLR0917 - each is a record of its own kind
    daily: Daily, uptake: pd.DataFrame, layers: tuple[Layer, ...], seasons: tuple[Season, ...],
    field: str, settings: Settings,
) -> pd.DataFrame:  # fmt: skip
    """Sum up what each layer gave to each crop.

    Parameters
    ----------
    daily : Daily
    uptake : DataFrame
        As `roots.uptake` gives it; empty for a daily record, whose rows then know only what
        each layer gave.
    layers : tuple of Layer
    seasons : tuple of Season
    field : str
    settings : Settings

    Returns
    -------
    DataFrame
        Columns of the contract's ``extraction``. gave_mm: the highest state kept for five days
        since planting, less the state at harvest (or now). uptake_mm: sum over the days since
        the layer was rooted; days on which it rose are not in it. peak_mm_d: the most in a
        day, of three days' median. stopped_on: last day on which the median of five still
        reached ``stopped_share`` of that; blank while it does. share: of the season's uptake.
        quarter: of the root zone, that in which the middle of the layer lies. driest: the
        lowest state kept for five days, m3/m3.
    """
    rows: list[dict[str, Any]] = []
    every = _arrays(uptake)
    for season in sorted(seasons, key=lambda one: one.planted_on):
        days = _days(daily, season)
        if len(days) == 0:
            continue
        state = np.where((daily.frozen | daily.held)[days], np.nan, daily.state[days])
        known = {
            "field": field, "crop": season.crop, "planted_on": season.planted_on,
            "harvested_on": season.harvested_on,
        }  # fmt: skip
        took = _within(every, daily.days[days])
        some = [
            {**known, **_of_layer(state, took, daily, layer, season, settings)}
            for layer in layers
        ]
        rows += _shared(some, layers)
    return _frame(daily.site, rows)


def _days(daily: Daily, season: Season) -> np.ndarray:
    """Rows of a season's days, of the placement in which it ended."""
    planted = np.datetime64(season.planted_on, "D")
    end = daily.days[-1:] if season.harvested_on is None else season.harvested_on
    inside = (daily.days >= planted) & (daily.days <= np.array(end, dtype="datetime64[D]"))
    rows = np.flatnonzero(inside & (daily.placement > 0))
    return rows[daily.placement[rows] == daily.placement[rows[-1]]] if len(rows) else rows


class _Took(NamedTuple):
    """Columns of ``uptake`` as arrays: a small frame a season and layer is slow."""

    date: Times
    depth_cm: Floats
    mm: Floats
    rooted: Bools


def _arrays(uptake: pd.DataFrame) -> _Took:
    return _Took(
        uptake["date"].to_numpy("datetime64[us]"), uptake["depth_cm"].to_numpy(np.float64),
        uptake["mm"].to_numpy(np.float64), uptake["rooted"].to_numpy(bool),
    )  # fmt: skip


def _within(uptake: _Took, days: np.ndarray) -> _Took:
    inside = (uptake.date >= days[0]) & (uptake.date <= days[-1])
    return _Took(
        uptake.date[inside], uptake.depth_cm[inside], uptake.mm[inside], uptake.rooted[inside]
    )


def _of_layer(  # noqa: PLR0917 - as `extraction`
    state: Floats, took: _Took, daily: Daily, layer: Layer, season: Season,
    settings: Settings,
) -> dict[str, Any]:  # fmt: skip
    column = int(np.searchsorted(daily.depths_cm, layer.depth_cm))
    there = column < len(daily.depths_cm) and daily.depths_cm[column] == layer.depth_cm
    theta = state[:, column] if there else np.full(len(state), np.nan)
    mm = layer.thickness_cm * MM_PER_CM
    mine = took.depth_cm == layer.depth_cm
    told: dict[str, Any] = {
        "depth_cm": layer.depth_cm, "gave_mm": _gave(theta) * mm,
        "driest": float(lowest_kept(theta[:, None])[0]),
    }  # fmt: skip
    if not mine.any():
        return told
    rooted = mine & took.rooted
    days, pulled = took.date[rooted], took.mm[rooted]
    return {**told, **_pull(days, pulled, settings, growing=season.harvested_on is None)}


def _gave(theta: Floats) -> float:
    """Highest value kept less that in the end, m3/m3; NaN where either is not known."""
    last = theta[-END_DAYS:]
    last = last[np.isfinite(last)]
    return float(highest_kept(theta[:, None])[0] - last[-1]) if len(last) else np.nan


def _pull(days: Times, pulled: Floats, settings: Settings, *, growing: bool) -> dict[str, Any]:
    """Sum and peak of a rooted layer's uptake, with its first and last day."""
    if len(pulled) == 0:
        return {"uptake_mm": 0.0}
    peak = float(_usual(pulled, AVERAGED).max())
    drawing = _usual(pulled, STOPPED_DAYS) >= settings.stopped_share * peak
    at = np.flatnonzero(drawing | (peak <= 0.0))
    stopped = days[at[-1]] if len(at) else days[0]
    still = growing and days[-1] - stopped < np.timedelta64(STOPPED_DAYS, "D")
    return {"uptake_mm": float(pulled.sum()), "peak_mm_d": peak, "rooted_on": days[0],
            "stopped_on": pd.NaT if still else stopped}  # fmt: skip


def _usual(pulled: Floats, width: int) -> Floats:
    """Median of each value and its neighbours, of fewer at the ends."""
    half, last = width // 2, len(pulled)
    if last < width:
        return np.array(
            [np.median(pulled[max(i - half, 0) : i + half + 1]) for i in range(last)]
        )
    middle = np.median(sliding_window_view(pulled, width), axis=1)
    first = [np.median(pulled[: i + half + 1]) for i in range(half)]
    end = [np.median(pulled[i - half :]) for i in range(last - half, last)]
    return np.concatenate([first, middle, end])


def _shared(rows: list[dict[str, Any]], layers: tuple[Layer, ...]) -> list[dict[str, Any]]:
    """Add each layer's share of the season's uptake, and its quarter of the root zone."""
    took = [max(row.get("uptake_mm", 0.0), 0.0) for row in rows]
    rooted = [x.bottom_cm for x, row in zip(layers, rows, strict=True) if "rooted_on" in row]
    if not rooted or sum(took) < LEAST_MM:
        return rows
    quarter_cm = max(rooted) / QUARTERS
    for layer, row, mm in zip(layers, rows, took, strict=True):
        at = int((layer.top_cm + layer.bottom_cm) / 2 // quarter_cm) + 1
        row["share"] = mm / sum(took) if "uptake_mm" in row else np.nan
        row["quarter"] = at if at <= QUARTERS else None
    return rows


def _frame(site: str, rows: list[dict[str, Any]]) -> pd.DataFrame:
    frame = pd.DataFrame(rows, columns=[name for name in NAMES if name != "site"])
    frame.insert(1, "site", pd.Series([site] * len(frame), dtype="str"))
    for name in ("planted_on", "harvested_on", "rooted_on", "stopped_on"):
        frame[name] = pd.to_datetime(frame[name]).astype("datetime64[us]")
    kinds = {"field": "str", "crop": "str", "depth_cm": "float64", "gave_mm": "float64",
             "uptake_mm": "float64", "peak_mm_d": "float64", "share": "float64",
             "quarter": "Int64", "driest": "float64"}  # fmt: skip
    return frame.astype(kinds)[NAMES]


def quarter_shares(rows: pd.DataFrame) -> tuple[float, ...] | None:
    """Share the uptake out among the quarters of the root zone, by the depth each layer covers.

    Parameters
    ----------
    rows : DataFrame
        top_cm, bottom_cm, uptake_mm, rooted_on; one row a layer of one season.

    Returns
    -------
    tuple of float or None
        Four shares from the top, 1; None where no layer was rooted or nothing was taken. They
        stand beside ``FAO29_RULE``.
    """
    rooted = rows[rows["rooted_on"].notna() & rows["uptake_mm"].notna()]
    took = rooted["uptake_mm"].clip(lower=0.0)
    if rooted.empty or took.sum() < LEAST_MM:
        return None
    depth = float(rooted["bottom_cm"].max())
    cuts = [depth * one / QUARTERS for one in range(QUARTERS + 1)]
    thickness = rooted["bottom_cm"] - rooted["top_cm"]
    shares = []
    for top, bottom in pairwise(cuts):
        inside = rooted["bottom_cm"].clip(upper=bottom) - rooted["top_cm"].clip(lower=top)
        shares.append(float((took * inside.clip(lower=0.0) / thickness).sum() / took.sum()))
    return tuple(shares)
