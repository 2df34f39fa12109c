"""What can colour the map: each measure puts a field in one of five steps, with words."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd

from analytics.units import MM_PER_INCH, WATER, System, convert, text
from dashboard.charts.palette import CODES
from dashboard.words import CLASS_NAMES, zone_label

Row = Mapping[Any, Any]

# Where one step ends and the next begins; ours, chosen so that a person can say them.
CHANGE_EDGES_MM = {"in": (0.0, 12.7, 25.4, 50.8), "mm": (0.0, 12.5, 25.0, 50.0)}
# A loss that would be written as nought is none: half of the last digit shown.
NOUGHT_MM = {"in": MM_PER_INCH / 20, "mm": 0.5}
SINCE_EDGES_DAYS = (90.0, 365.0, 730.0, 1095.0)
AGE_EDGES_DAYS = (1.5, 3.5, 14.5, 30.5)
DAYS_A_MONTH = 365.25 / 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Shade:
    """One field as a measure shows it: step code or None, and the text inside it."""

    code: str | None
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One measure: its heading, the name and bounds of each step, and what numbers mean."""

    title: str
    names: dict[str, str]
    bounds: dict[str, str]
    number: str
    shade: Callable[[Row], Shade]


def measure(key: str, zone: str, system: System, split_cm: float) -> Measure:
    """Build the measure chosen, for a zone and in the reader's units."""
    where = zone_label(zone, system, split_cm)
    build = {"change": _change, "since": _since, "age": _age}.get(key, _short)
    return build(where, system)


def _known(value: object) -> bool:
    return value is not None and not pd.isna(value)  # type: ignore[arg-type]


def _step(value: float, edges: tuple[float, ...], *, more_is_dry: bool) -> str:
    at = int(np.searchsorted(edges, value, side="right"))
    return CODES[-1 - at] if more_is_dry else CODES[at]


def bare(value: float, system: System, *, signed: bool = False) -> str:
    """Write water without its unit, which stands in the heading."""
    return text(value, WATER, system, signed=signed).split(" ")[0]


def _short(where: str, system: System) -> Measure:
    unit = "inches" if system == "in" else "mm"

    def shade(row: Row) -> Shade:
        code = row["class"]
        if code not in CODES or not _known(row["deficit_mm"]):
            return Shade(code=None, text="?")
        return Shade(code=code, text=bare(max(row["deficit_mm"], 0.0), system))

    bounds = ("under 20 %", "20–40 %", "40–60 %", "60–80 %", "80 % and over")
    return Measure(
        title=f"Water held {_at(where)}, as a share of what it can hold",
        names=dict(CLASS_NAMES),
        bounds=dict(zip(CODES, bounds, strict=True)),
        number=f"{unit} short {_at(where)}", shade=shade,
    )  # fmt: skip


def _at(where: str) -> str:
    return where if where.startswith("below") else f"in the {where}"


def _change(where: str, system: System) -> Measure:
    edges = CHANGE_EDGES_MM[system]
    unit = "inches" if system == "in" else "mm"

    def shade(row: Row) -> Shade:
        if not _known(row["change_mm"]):
            return Shade(code=None, text="?")
        code = _step(row["change_mm"], (-NOUGHT_MM[system], *edges[1:]), more_is_dry=False)
        return Shade(code=code, text=bare(row["change_mm"], system, signed=True))

    said = [f"{convert(one, WATER, system):g}" for one in edges]
    names = ("Lost", "Little", "Some", "More", "Most")
    bounds = ("below 0", *(f"{a} to {b}" for a, b in pairwise(said)),
              f"over {said[-1]}")  # fmt: skip
    return Measure(
        title=f"Change over the last off-season {_at(where)}, {unit}",
        names=dict(zip(CODES, names, strict=True)),
        bounds=dict(zip(CODES, bounds, strict=True)),
        number=f"{unit} gained or lost {_at(where)}", shade=shade,
    )  # fmt: skip


def _since(where: str, system: System) -> Measure:
    del system

    def shade(row: Row) -> Shade:
        if not _known(row["class"]):
            return Shade(code=None, text="?")
        days = row["days_since_full"]
        if not _known(days):
            return Shade(code=CODES[0], text="never")
        code = _step(float(days), SINCE_EDGES_DAYS, more_is_dry=True)
        return Shade(code=code, text=f"{days / DAYS_A_MONTH:.0f}")

    names = ("Over 3 years", "2 to 3 years", "1 to 2 years", "Past year", "Past 90 days")
    bounds = ("or never seen", "25–36 months", "13–24 months", "3–12 months", "0–2 months")
    return Measure(
        title=f"Time since the soil {_at(where)} was last full",
        names=dict(zip(CODES, names, strict=True)),
        bounds=dict(zip(CODES, bounds, strict=True)),
        number=f"months since last full {_at(where)}", shade=shade,
    )  # fmt: skip


def _age(where: str, system: System) -> Measure:
    del where, system

    def shade(row: Row) -> Shade:
        days = row["age_days"]
        if not _known(days):
            return Shade(code=None, text="?")
        code = _step(float(days), AGE_EDGES_DAYS, more_is_dry=True)
        return Shade(code=code, text=f"{days:.0f}")

    names = ("Over a month", "Weeks", "Days", "Recent", "Fresh")
    bounds = ("31 days and over", "15–30 days", "4–14 days", "2–3 days", "0–1 days")
    return Measure(
        title="Age of the last reading", names=dict(zip(CODES, names, strict=True)),
        bounds=dict(zip(CODES, bounds, strict=True)),
        number="days since a probe was last read", shade=shade,
    )  # fmt: skip
