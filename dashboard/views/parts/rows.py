"""Rows of the list of fields, out of readiness."""

from typing import Any

import pandas as pd

from analytics.units import WATER, System, text
from dashboard import data, words
from dashboard.charts.core_strip import CoreLayer, core_label, core_svg, cores_of, data_uri
from dashboard.charts.figures import interval_svg
from dashboard.views.parts.answers import detail_of, line_of
from dashboard.views.parts.district import District
from dashboard.views.parts.measures import bare

LISTED = 40
"""Rows drawn; of a larger district the foot says what follows."""
CORE_PX = (24.0, 64.0)


def cores(store: data.Store, day: str, sites: set[str]) -> dict[str, tuple[CoreLayer, ...]]:
    """Read the cores of some sites on a day."""
    found = data.layers(store, day)
    return cores_of(found[found["site"].isin(sites)])


def list_rows(district: District) -> list[dict[str, Any]]:
    """Build the rows of the list: texts and pictures, ranked as the frame is ordered."""
    listed = district.kept.head(LISTED)
    drawn = cores(district.store, district.day, set(listed["site"].dropna()))
    told = []
    for rank, row in enumerate(listed.to_dict("records"), start=1):
        layers = drawn.get(str(row["site"]), ())
        texts = {"field": row["field"], "rank": str(rank), **_texts(row, district.system)}
        told.append({**texts, **_pictures(row, layers, district)})
    return told


def scale_mm(rows: pd.DataFrame) -> float:
    """Find the right end of the list's scale: the largest shortage with its spread."""
    reach = (rows["deficit_mm"] + words.EIGHT_IN_TEN * rows["sd_mm"].fillna(0)).max()
    return 1.0 if pd.isna(reach) else max(float(reach), 1.0)


def _texts(row: dict[Any, Any], system: System) -> dict[str, str]:
    short, known = row["deficit_mm"], not pd.isna(row["deficit_mm"])
    return {
        "name": row["name"],
        "detail": detail_of(row),
        "line": line_of(row, system),
        "figure": bare(max(short, 0.0), system) if known else "—",
        "within": within(row["sd_mm"], system) if known else "",
    }


def _pictures(
    row: dict[Any, Any], layers: tuple[CoreLayer, ...], district: District
) -> dict[str, str]:
    system, palette = district.system, district.palette
    label = label_of(row, system, district.split_cm)
    width, height = CORE_PX
    core = core_svg(
        layers,
        width=width,
        height=height,
        palette=palette,
        label=label,
        split_cm=district.split_cm,
    )
    short, sd = (None if pd.isna(row[key]) else row[key] for key in ("deficit_mm", "sd_mm"))
    interval = interval_svg(short, sd, scale_mm(district.kept), system, palette)
    return {
        "core": data_uri(core),
        "core_words": label,
        "interval": data_uri(interval),
        "interval_words": words.NOT_KNOWN
        if short is None
        else words.within_words(row["sd_mm"], system),
    }


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


def stale_of(row: dict[Any, Any], store: data.Store, day: str) -> str:
    """Say as of when a field's figures are, where its probe fell silent; else nothing."""
    age = row["age_days"]
    if pd.isna(age) or age <= store.settings.stale_days:
        return ""
    return words.stale_note(row["read_on"], day)


def head(district: District) -> dict[str, str]:
    """Write the words over the list's columns."""
    system, where = district.system, district.where
    unit, comma = WATER.shown(system).unit, "" if where.startswith("below") else ","
    top = text(scale_mm(district.kept), WATER, system)
    return {
        "words": "Field, crop, source",
        "figure": f"Short{comma} {where}, {unit}",
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
    most, least = (
        text(max(one, 0.0), WATER, system) for one in (known.iloc[0], known.iloc[-1])
    )
    return f"{len(rest)} more, from {most} down to {least}. Filter, or choose one by name."
