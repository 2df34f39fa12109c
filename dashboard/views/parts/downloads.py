"""The tables behind a field's page, to take away as CSV in inside units (mm, cm, m3/m3)."""

from collections.abc import Callable

import pandas as pd
import streamlit as st

from dashboard import data
from dashboard.views.parts import frame
from dashboard.views.parts.field_facts import Shown


def downloads(shown: Shown) -> None:
    """Show one button a table; a table is read only when it is asked for."""
    store, site, day, first = shown.store, shown.site, shown.day, shown.first_day
    tables: dict[str, Callable[[], pd.DataFrame]] = {
        "readiness": lambda: pd.concat([shown.zones, shown.layers], ignore_index=True),
        "tally": lambda: data.tally(store, site, day),
        "limits": lambda: data.limits(store, site),
        "weekly": lambda: data.weekly(store, site, first, day),
        "flags": lambda: data.flags(store, site, first, day),
        "gaps": lambda: data.gaps(store, site, first, day),
    }
    with st.expander("Take the tables away"):
        frame.muted(
            "CSV; water in mm, depth in cm, water content in m³/m³, whatever is shown above."
        )
        with st.container(horizontal=True):
            for name, read in tables.items():
                st.download_button(
                    name, lambda read=read: read().to_csv(index=False),
                    file_name=f"{shown.field}-{name}-{day}.csv", mime="text/csv",
                    on_click="ignore", key=f"take_{name}",
                )  # fmt: skip
