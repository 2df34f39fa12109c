"""The coming season: when a decision is open, when the advice is to run, and what to bank."""

from typing import Any

import pandas as pd
import streamlit as st

from analytics.units import WATER, System, text
from dashboard import data, state, words
from dashboard.charts.season import demand_and_capacity
from dashboard.data import watering
from dashboard.views.parts import frame
from dashboard.views.parts.downloads import csv_text
from dashboard.views.parts.field_panels import show as draw
from dashboard.views.parts.offer import offer
from dashboard.views.parts.tables import table
from dashboard.words import season as said


def show() -> None:
    """Show the page."""
    store = data.opened()
    windows = watering.season_windows(store)
    if windows.empty:
        frame.answer(said.NONE, said.NONE_DO, "")
        frame.cautions()
        return
    names = dict(zip(windows["field"], windows["name"], strict=True))
    top = st.container()
    with st.container(horizontal=True, vertical_alignment="bottom"):
        first = next(iter(names))
        field = state.field(names, placeholder=names[first], width=280) or first
        system = state.units(store.units)
    row = windows[windows["field"] == field].to_dict("records")[0]
    with top:
        share = store.settings.reliability
        frame.answer(said.answer(row, names[field]),
                     said.second(row, row["source_name"], share, system), "")  # fmt: skip
    _picture(store, row, system)
    _every(windows, system)
    frame.cautions()


def _picture(store: data.Store, row: dict[Any, Any], system: System) -> None:
    days = watering.season_demand(store, row["field"])
    with st.container(border=True):
        frame.heading("What the crop asks for, and what the source can give", row["crop"])
        chart = demand_and_capacity(days, row, frame.palette(), system)
        draw(chart, said.answer(row, row["name"]))
        frame.muted(f"{said.HOW} {said.BANK}")


def _every(windows: pd.DataFrame, system: System) -> None:
    """List every field's windows."""
    with st.container(border=True):
        frame.heading("Every field's season", f"{len(windows)} fields")
        head = ["Field", "Crop", "Source", "Planting", "Capacity", "Peak demand", "Run from",
                "Run until", "Bank"]  # fmt: skip
        table(head, [_line(row, system) for row in windows.to_dict("records")], tall=True)
        told = windows.drop(columns=["name", "source_name"])
        offer("CSV", lambda: csv_text(told), file_name="season-windows.csv", mime="text/csv",
              key="take_season", kind="tertiary")  # fmt: skip


def _line(row: dict[Any, Any], system: System) -> list[str]:
    bank = row["bank_mm"]
    return [
        row["name"], row["crop"], row["source_name"] or "none",
        words.day_text(row["planting"], year=False), said.rate(row["capacity_mm_d"], system),
        said.rate(row["peak_mm_d"], system),
        *("—" if pd.isna(row[key]) else words.day_text(row[key], year=False)
          for key in ("run_from", "run_until")),
        "—" if pd.isna(bank) else text(bank, WATER, system),
    ]  # fmt: skip


if __name__ == "__main__":
    show()
