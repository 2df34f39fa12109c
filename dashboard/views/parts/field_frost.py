"""How deep each winter's frost went at one probe, and when the ground was frozen."""

from typing import Any

import streamlit as st

from analytics.units import DEPTH, System, text
from dashboard import data, words
from dashboard.views.parts import frame
from dashboard.views.parts.downloads import csv_text, take
from dashboard.views.parts.field_facts import Shown
from dashboard.views.parts.tables import table
from dashboard.words import tally as told

_HEAD = ["Winter", "Deepest", "On", "Frozen days", "First", "Last"]


def winters(shown: Shown) -> None:
    """List the winters, latest first, folded away until asked for."""
    found = data.winters_frost(shown.store, shown.site, shown.day)
    with st.expander("Frost, winter by winter"):
        if found.empty:
            frame.muted(told.NO_FROST)
            return
        rows = found.iloc[::-1].to_dict("records")
        split = shown.store.settings.frost_month > 1
        table(_HEAD, [_row(one, shown.system, over_new_year=split) for one in rows])
        frame.muted(told.FROST_DATES)
        take(shown, "frost-by-winter", {"CSV": lambda: csv_text(found)})


def _row(one: dict[Any, Any], system: System, *, over_new_year: bool) -> list[str]:
    began = int(one["winter"])
    name = f"{began}/{(began + 1) % 100:02d}" if over_new_year else str(began)
    days = (words.day_text(one[name], year=False) for name in ("deepest_on", "first", "last"))
    deepest_on, first, last = days
    return [name, text(one["deepest_cm"], DEPTH, system),
            deepest_on, str(one["days"]), first, last]  # fmt: skip
