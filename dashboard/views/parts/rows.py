"""Rows of the list of fields, out of readiness."""

from typing import Any

import pandas as pd

from analytics.units import WATER, System, text
from dashboard import data, words
from dashboard.charts.core_strip import CoreLayer, core_label, core_layers, core_svg, data_uri
from dashboard.charts.figures import interval_svg
from dashboard.charts.palette import Palette
from dashboard.views.parts.answers import detail_of, line_of
from dashboard.views.parts.measures import bare

LISTED = 60
"""Rows drawn; of a larger district the foot says what follows."""
CORE_PX = (24.0, 64.0)


def cores(store: data.Store, day: str, sites: set[str]) -> dict[str, tuple[CoreLayer, ...]]:
    """Read the cores of some sites on a day."""
    found = data.layers(store, day)
    found = found[found["site"].isin(sites)]
    return {str(site): core_layers(rows) for site, rows in found.groupby("site")}


def list_rows(
    store: data.Store, rows: pd.DataFrame, day: str, system: System, palette: Palette
) -> list[dict[str, Any]]:
    """Build the rows of the list: texts and pictures, ranked as the frame is ordered."""
    listed = rows.head(LISTED)
    drawn = cores(store, day, set(listed["site"].dropna()))
    scale = scale_mm(rows)
    return [
        _row(rank, row, drawn.get(str(row["site"]), ()), scale, system, palette, store)
        for rank, row in enumerate(listed.to_dict("records"), start=1)
    ]


def scale_mm(rows: pd.DataFrame) -> float:
    """Find the right end of the list's scale: the largest shortage with its spread."""
    reach = (rows["deficit_mm"] + words.EIGHT_IN_TEN * rows["sd_mm"].fillna(0)).max()
    return 1.0 if pd.isna(reach) else max(float(reach), 1.0)


def _row(
    rank: int, row: dict[Any, Any], layers: tuple[CoreLayer, ...], scale: float,
    system: System, palette: Palette, store: data.Store,
) -> dict[str, Any]:  # fmt: skip
    short, sd = row["deficit_mm"], row["sd_mm"]
    known = not pd.isna(short)
    label = label_of(row, system, store.settings.zone_split_cm)
    width, height = CORE_PX
    core = core_svg(layers, width=width, height=height, palette=palette, label=label,
                    split_cm=store.settings.zone_split_cm)  # fmt: skip
    interval = interval_svg(short if known else None, None if pd.isna(sd) else sd, scale,
                            system, palette)  # fmt: skip
    return {
        "field": row["field"], "rank": str(rank), "name": row["name"], "detail": detail_of(row),
        "line": line_of(row, system), "figure": bare(max(short, 0.0), system) if known else "—",
        "within": within(sd, system) if known else "", "core": data_uri(core),
        "core_words": label, "interval": data_uri(interval),
        "interval_words": words.within_words(sd, system) if known else words.NOT_KNOWN,
    }  # fmt: skip


def within(sd_mm: float, system: System) -> str:
    """Write the half width of the 8-in-10 interval beside a figure: "±0.5"."""
    return "" if pd.isna(sd_mm) else f"±{bare(words.EIGHT_IN_TEN * sd_mm, system)}"


def label_of(row: dict[Any, Any], system: System, split_cm: float) -> str:
    """Say a field's core in words."""
    upper, deep = (
        None if pd.isna(row[name]) else row[name]
        for name in ("upper_deficit_mm", "deep_deficit_mm")
    )
    return core_label(row["name"], upper, deep, system, split_cm)


def head(rows: pd.DataFrame, zone: str, system: System, split_cm: float) -> dict[str, str]:
    """Write the words over the list's columns."""
    unit = WATER.shown(system).unit
    where = words.zone_label(zone, system, split_cm)
    top = text(scale_mm(rows), WATER, system)
    return {
        "words": "Field, crop, source",
        "figure": f"Short {where}, {unit}" if where.startswith("below") else f"Short, {where}, {unit}",
        "interval": f"0 to {top}, 8 in 10",
    }


def foot(rows: pd.DataFrame, system: System) -> str:
    """Say what follows the rows drawn."""
    rest = rows.iloc[LISTED:]
    if rest.empty:
        return ""
    known = rest["deficit_mm"].dropna()
    if known.empty:
        return f"{len(rest)} more, not known"
    most, least = (text(max(one, 0.0), WATER, system) for one in (known.iloc[0], known.iloc[-1]))
    return f"{len(rest)} more, from {most} down to {least}. Filter, or choose one by name."
