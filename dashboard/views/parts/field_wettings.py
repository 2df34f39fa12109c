"""The wettings of one off-season, as a list."""

from typing import Any

import pandas as pd

from analytics.units import DEPTH, WATER, System
from dashboard import data, words
from dashboard.views.parts import frame
from dashboard.views.parts.downloads import csv_text, take
from dashboard.views.parts.field_facts import Shown
from dashboard.views.parts.measures import bare
from dashboard.views.parts.tables import table

WHOLE = 1.0


def wettings(shown: Shown, rows: pd.DataFrame) -> None:
    """List what wetted the soil in the off-season whose tally rows are given."""
    start, end = f"{rows['from'].min():%Y-%m-%d}", f"{rows['to'].max():%Y-%m-%d}"
    found = data.wettings(shown.store, shown.site, start, min(end, shown.day))
    frame.heading("What wetted the soil", words.counted(len(found), "wetting"))
    if found.empty:
        frame.muted("Nothing was seen to wet the soil in this off-season.")
        return
    table(*listed(found, shown.system), tall=True)
    take(shown, "wettings-list", {"CSV": lambda: csv_text(found)})


def listed(found: pd.DataFrame, system: System) -> tuple[list[str], list[list[str]]]:
    """Write wettings as a table: head, and one row a wetting."""
    unit, depth = WATER.shown(system).unit, DEPTH.shown(system).unit
    head = ["Began", "Cause", f"Received, {unit}", f"Stored, {unit}", "Stayed",
            f"Reached, {depth}", "Layers"]  # fmt: skip
    return head, [_row(one, system) for one in found.to_dict("records")]


def _row(one: dict[Any, Any], system: System) -> list[str]:
    reached = one["depth_reached_cm"]
    return [
        words.day_text(one["start"]),
        words.cause_name(one["cause"]),
        _water(one["applied_mm"], system),
        _water(one["stored_mm"], system),
        _share(one),
        "—" if pd.isna(reached) else f"{reached * DEPTH.shown(system).factor:.0f}",
        "passed by" if one["bypass"] is True else "in turn",
    ]


def _water(value: float, system: System) -> str:
    return "—" if pd.isna(value) or value == 0 else bare(value, system)


def _share(one: dict[Any, Any]) -> str:
    share = one.get("storage_efficiency", one["stayed"])
    if pd.isna(share) or share < 0:  # what dried meanwhile is no part of what came
        return "—"
    return "all" if share >= WHOLE else f"{100 * share:.0f} %"
