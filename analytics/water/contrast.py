"""Pairs of fields that show something when they stand side by side."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import Any, Literal

import pandas as pd

from analytics.water.compare import difference, footing

Kind = Literal["same crop", "same top"]
TOP_ALIKE = 0.1
"""Fills of the upper zone that differ by no more look alike from above; ours."""
DEPTH_ALIKE_CM = 16.0
"""Probes that end within half a foot of each other see the same soil; ours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Contrast:
    """Two fields; the first is the shorter of water in the deep zone, by ``apart_mm``."""

    kind: Kind
    shorter: str
    other: str
    crop: str
    apart_mm: float


def contrasts(rows: pd.DataFrame, most: int = 3) -> list[Contrast]:
    """Pick the pairs that differ most while something else about them is the same.

    A pair stands on like points to a like depth, differs beyond its own 8-in-10 interval, and
    shares no field with another pair. Pairs of one last crop alternate with pairs whose tops
    look alike.

    Parameters
    ----------
    rows : DataFrame
        Columns field, last_crop, growing, deep_deficit_mm, sd_mm (mm), basis, upper_fill (1)
        and floor_cm (where the probe ends, cm). A field whose crop still grows is in no pair.
    most : int
        Number of pairs wanted.
    """
    bare = rows[~rows["growing"].astype("boolean").fillna(value=False)]
    known = bare.dropna(subset=["deep_deficit_mm", "sd_mm"]).to_dict("records")
    found = [one for a, b in combinations(known, 2) for one in _pairs(a, b)]
    found.sort(key=lambda one: (-one.apart_mm, one.shorter, one.other))
    picked: list[Contrast] = []
    used: set[str] = set()
    crops: set[str] = set()
    for at in range(most):
        kind: Kind = "same top" if at % 2 else "same crop"
        free = [
            one for one in found
            if one.kind == kind and not used & {one.shorter, one.other}
            and (kind == "same top" or one.crop not in crops)
        ]  # fmt: skip
        if free:
            picked.append(free[0])
            used |= {free[0].shorter, free[0].other}
            crops |= {free[0].crop}
    return picked


def _pairs(one: Mapping[Hashable, Any], other: Mapping[Hashable, Any]) -> list[Contrast]:
    if not abs(one["floor_cm"] - other["floor_cm"]) <= DEPTH_ALIKE_CM:
        return []
    told = difference(_figure(one), _figure(other))
    if told.verdict not in {"shorter", "less short"}:
        return []
    first, second = (one, other) if told.difference_mm > 0 else (other, one)
    crop = first["last_crop"]
    kinds: list[Kind] = []
    if isinstance(crop, str) and crop == second["last_crop"]:
        kinds.append("same crop")
    if abs(first["upper_fill"] - second["upper_fill"]) <= TOP_ALIKE:
        kinds.append("same top")
    return [
        Contrast(kind=kind, shorter=first["field"], other=second["field"],
                 crop=crop if isinstance(crop, str) else "", apart_mm=abs(told.difference_mm))
        for kind in kinds
    ]  # fmt: skip


def _figure(row: Mapping[Hashable, Any]) -> Any:
    states = [one.partition(":")[0] for one in str(row["basis"]).split(";")]
    return row["deep_deficit_mm"], row["sd_mm"], footing(states)
