"""Versions of points: given beforehand, set by a person, and those in force on a day."""

from collections.abc import Mapping
from datetime import date
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.contract import TABLES
from analytics.model import Floats, Layer, Placement, Points
from analytics.settings import Settings
from analytics.soil.standin import stand_in
from analytics.soil.texture import depletion_fraction

LIMITS = TABLES["limits"].names
PLACE = ["placement", "depth_cm"]
BY_TEXTURE = "texture"
BY_TABLE_22 = "of full to lower, FAO-56 Table 22"  # how a derived refill point tells itself
Columns = pd.DataFrame | Mapping[str, NDArray]
Version = dict[str, Any]  # one row of ``limits``; valid_from is a datetime64[D]


def columns_of(depths_cm: Floats, layers: tuple[Layer, ...]) -> NDArray[np.intp]:
    """Find each layer's sensor among the columns of a record, -1 where it has none."""
    at = {float(depth): j for j, depth in enumerate(depths_cm)}
    return np.array([at.get(layer.depth_cm, -1) for layer in layers], dtype=np.intp)


def given_points(
    layer: Layer, placement: Placement, since: np.datetime64, settings: Settings
) -> list[Version]:
    """Points that came with the layers: undated ones hold for every placement.

    A dated one holds from its date, in the placement that stood on it only: a point carried
    over a re-installation means nothing.
    """
    if layer.limits_from is not None and not _stood(placement, layer.limits_from):
        return []
    start = since if layer.limits_from is None else np.datetime64(layer.limits_from, "D")
    values = {"full": layer.full, "lower": layer.lower, "refill": layer.refill}
    return [
        {
            "placement": placement.number, "depth_cm": layer.depth_cm, "point": point,
            "value": value, "sd": settings.limit_sd, "state": "set",
            "valid_from": max(start, since), "set_by": layer.limits_by,
            "reason": "given with the layers", "wettings": 0, "ponded": False,
        }
        for point, value in values.items() if value is not None
    ]  # fmt: skip


def _stood(placement: Placement, on: date) -> bool:
    removed = placement.removed_on is not None and on >= placement.removed_on
    early = placement.installed_on is not None and on < placement.installed_on
    return not removed and (not early or placement.number == 1)


def versions(
    site: str, learned: list[Version], set_limits: pd.DataFrame, p: float, settings: Settings
) -> pd.DataFrame:
    """Lay all versions side by side, and add a refill point for each full or lower one.

    Parameters
    ----------
    site : str
    learned : list of dict
        Versions of points learned or given, in rising order of weight.
    set_limits : DataFrame
        Columns of ``limits``: versions set by a person. They win over others of one date.
    p : float
        Share of available water that may be taken, 1.
    settings : Settings

    Returns
    -------
    DataFrame
        Columns of the contract's ``limits``, by placement, depth, point and date.
        refill = full - p (full - lower), FAO-56 Eq. 82-83; its state is the full point's. None
        is derived from the day on which one was given or set.
    """
    known = {(row["placement"], row["depth_cm"]) for row in learned}
    rows = [*learned, *_set_by_person(set_limits, known, settings)]
    newest = {(r["placement"], r["depth_cm"], r["point"], r["valid_from"]): r for r in rows}
    places: dict[tuple[int, float], list[Version]] = {}
    for key in sorted(newest):
        places.setdefault(key[:2], []).append(newest[key])
    complete = [row for place in places.values() for row in (*place, *_refills(place, p))]
    complete.sort(key=lambda r: (r["placement"], r["depth_cm"], r["point"], r["valid_from"]))
    return _frame(site, complete)


def _set_by_person(
    set_limits: pd.DataFrame, known: set[tuple[int, float]], settings: Settings
) -> list[Version]:
    """Read a person's versions of the placements and layers that exist."""
    rows = []
    for row in set_limits.to_dict("records"):
        since = np.datetime64(pd.Timestamp(row["valid_from"]), "D")
        place = {"placement": int(row["placement"]), "depth_cm": float(row["depth_cm"])}
        sd = row.get("sd")
        rows.append({
            **row, **place, "valid_from": since, "state": "set", "wettings": 0, "ponded": False,
            "sd": settings.limit_sd if sd is None or pd.isna(sd) else float(sd),
        })  # fmt: skip
    return [row for row in rows if (row["placement"], row["depth_cm"]) in known]


def _refills(place: list[Version], p: float) -> list[Version]:
    given = [row["valid_from"] for row in place if row["point"] == "refill"]
    fulls = [row for row in place if row["point"] == "full"]
    lowers = [row for row in place if row["point"] == "lower"]
    days = sorted({row["valid_from"] for row in (*fulls, *lowers)})
    rows = []
    for day in (day for day in days if not given or day < min(given)):
        full, lower = _in_force(fulls, day), _in_force(lowers, day)
        rows.append({
            **full, "point": "refill", "valid_from": day,
            "value": full["value"] - p * (full["value"] - lower["value"]),
            "sd": float(np.hypot((1.0 - p) * full["sd"], p * lower["sd"])),
            "reason": f"full less {p:.2f} {BY_TABLE_22}",
        })  # fmt: skip
    return rows


def _in_force(rows: list[Version], day: np.datetime64) -> Version:
    """Newest version of one point valid on a day, or the earliest where none is yet."""
    until = [row for row in rows if row["valid_from"] <= day]
    return until[-1] if until else rows[0]


def _frame(site: str, rows: list[Version]) -> pd.DataFrame:
    columns = {name: [row.get(name) for row in rows] for name in LIMITS if name != "site"}
    dates = np.array(columns.pop("valid_from"), dtype="datetime64[us]")
    frame = pd.DataFrame({"site": pd.array([site] * len(rows), dtype="str"), **columns})
    frame["valid_from"] = dates
    kinds = {"placement": "int64", "depth_cm": "float64", "value": "float64", "sd": "float64",
             "wettings": "int64", "ponded": "bool", "point": "str", "state": "str",
             "set_by": "str", "reason": "str"}  # fmt: skip
    return frame.astype(kinds)[list(LIMITS)]


def latest_placement(limits: Columns, on: date) -> int:
    """Find the placement that opened last by a day.

    The largest number is not it: the parts into which an undeclared move cuts placement n are
    numbered 100 n + 1 and so on, and n + 1 comes after them.

    Parameters
    ----------
    limits : DataFrame, or mapping of its columns to arrays
        Of one site, not empty.
    on : date

    Returns
    -------
    int
        The earliest where none has opened yet.
    """
    placement = np.asarray(limits["placement"])
    since = np.asarray(limits["valid_from"], "datetime64[D]")
    opened = {int(one): since[placement == one].min() for one in np.unique(placement)}
    begun = {one: day for one, day in opened.items() if day <= np.datetime64(on, "D")}
    if not begun:
        return min(opened, key=opened.__getitem__)
    return max(begun, key=lambda one: (begun[one], one))


def points_of(
    limits: Columns, layers: tuple[Layer, ...], placement: int, on: date | None = None
) -> Points:
    """Points of one placement in force on a day.

    Parameters
    ----------
    limits : DataFrame, or mapping of its columns to arrays
        As `learn_limits` gives it.
    layers : tuple of Layer
        The order of the answer.
    placement : int
    on : date, optional
        Left out: the newest versions.

    Returns
    -------
    Points
        One value a layer, never NaN: the texture stands in where there is no version.
    """
    at = _versions_of(limits, placement, on)
    picked = [_layer_points(layer, at) for layer in layers]
    full, refill, lower, full_sd, lower_sd, state, lower_state, ponded = zip(
        *picked, strict=True
    )
    return Points(
        placement=placement, full=np.array(full), refill=np.array(refill),
        lower=np.array(lower), full_sd=np.array(full_sd), lower_sd=np.array(lower_sd),
        state=state, lower_state=lower_state, ponded=np.array(ponded, dtype=bool),
    )  # fmt: skip


class _Value(NamedTuple):
    """What a version says of one layer's point."""

    value: float
    sd: float
    state: str
    ponded: bool


def _versions_of(
    limits: Columns, placement: int, on: date | None
) -> dict[tuple[float, str], _Value]:
    """Find, by layer and point, the newest version of a day; the earliest where none is yet."""
    own = np.flatnonzero(np.asarray(limits["placement"]) == placement)
    since = np.asarray(limits["valid_from"], "datetime64[D]")
    order = own[np.argsort(since[own], kind="stable")]
    if on is not None:
        known = since[order] <= np.datetime64(on, "D")
        order = np.r_[order[~known][::-1], order[known]]
    columns = (np.asarray(limits[name])[order].tolist()
               for name in ("depth_cm", "point", *_Value._fields))  # fmt: skip
    return {
        (float(depth), str(point)): _Value(*told)
        for depth, point, *told in zip(*columns, strict=True)
    }


def _layer_points(
    layer: Layer, at: Mapping[tuple[float, str], object]
) -> tuple[float, float, float, float, float, str, str, bool]:
    texture = stand_in(layer)
    full, lower, refill = (
        at.get((layer.depth_cm, name)) for name in ("full", "lower", "refill")
    )
    top = getattr(full, "value", texture.full)
    low = getattr(lower, "value", texture.lower)
    middle = getattr(refill, "value", top - depletion_fraction(None) * (top - low))
    return (
        top, min(max(middle, low), top), low,
        getattr(full, "sd", texture.full_sd), getattr(lower, "sd", texture.lower_sd),
        getattr(full, "state", BY_TEXTURE), getattr(lower, "state", BY_TEXTURE),
        bool(getattr(full, "ponded", False)),
    )  # fmt: skip


def all_points(
    limits: pd.DataFrame, layers: tuple[Layer, ...], placements: tuple[Placement, ...]
) -> dict[int, Points]:
    """Newest points of each placement, by its number."""
    return {one.number: points_of(limits, layers, one.number) for one in placements}
