"""Pairs of fields that show something when they stand side by side."""

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.model import Floats
from analytics.water.compare import footing, told_apart

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
    known = bare.dropna(subset=["deep_deficit_mm", "sd_mm"]).sort_values("field")
    fields, crops = list(known["field"]), list(known["last_crop"])
    apart_mm = _apart(known)
    alike = {"same crop": _same_crop(crops), "same top": _near(known["upper_fill"], TOP_ALIKE)}
    picked: list[Contrast] = []
    free, fresh = np.ones(len(known), bool), np.ones(len(known), bool)
    for at in range(most):
        kind: Kind = "same top" if at % 2 else "same crop"
        firsts = free & fresh if kind == "same crop" else free
        fit = np.where(alike[kind] & firsts[:, None] & free, apart_mm, 0.0)
        if fit.any():
            one, other = np.unravel_index(fit.argmax(), fit.shape)  # of like ones the first
            crop = crops[one] if isinstance(crops[one], str) else ""
            picked.append(Contrast(kind=kind, shorter=fields[one], other=fields[other],
                                   crop=crop, apart_mm=float(fit[one, other])))  # fmt: skip
            free[[one, other]] = False
            fresh &= np.array([crop != own for own in crops])
    return picked


def _apart(known: pd.DataFrame) -> Floats:
    """Tell by how much each field (row) is for sure shorter than each other one, else 0, mm."""
    short, sd = (known[name].to_numpy(float) for name in ("deep_deficit_mm", "sd_mm"))
    stands = np.array([footing(_states(one)) for one in known["basis"]], dtype=object)
    apart = short[:, None] - short
    sure = (apart > 0) & told_apart(apart, sd[:, None], sd)
    like = (stands[:, None] == stands) & _near(known["floor_cm"], DEPTH_ALIKE_CM)
    return np.where(sure & like, apart, 0.0)


def _near(values: pd.Series, reach: float) -> NDArray[np.bool_]:
    each = values.to_numpy(float)
    return np.abs(each[:, None] - each) <= reach


def _same_crop(crops: list[Any]) -> NDArray[np.bool_]:
    named = np.array([one if isinstance(one, str) else None for one in crops], dtype=object)
    told = np.array([one is not None for one in named], dtype=bool)
    return (named[:, None] == named) & told


def _states(basis: Any) -> list[str]:
    return [one.partition(":")[0] for one in str(basis).split(";")]
