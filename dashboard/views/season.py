"""The season: a coming one's windows, or a crop that stands or stood, from any of its days."""

from typing import Any

import pandas as pd
import streamlit as st

from analytics.units import System
from dashboard import data, state, words
from dashboard.charts.palette import Palette
from dashboard.charts.season import demand_and_capacity
from dashboard.data import growing, watering
from dashboard.views.parts import controls, frame, season_coefficients, season_crop
from dashboard.views.parts.downloads import chart_makers, csv_text, take
from dashboard.views.parts.field_panels import show as draw
from dashboard.views.parts.offer import offer
from dashboard.views.parts.tables import table
from dashboard.words import growing as of_crop
from dashboard.words import season as said


def show() -> None:
    """Show the page."""
    store = data.opened()
    windows = watering.season_windows(store)
    names = _fields(store, windows)
    if not names:
        frame.answer(said.NONE, said.NONE_DO, "")
        season_coefficients.show_missing(store)
        frame.cautions()
        return
    top = st.container()
    first = next(iter(names))
    _told_if_not_here(store, names, names[first])
    with st.container(horizontal=True, vertical_alignment="bottom"):
        field = state.field(names, placeholder=names[first], width=280) or first
        window = windows[windows["field"] == field].to_dict("records")
        rows = growing.crops(store, field)
        options = _crops(rows, window[0] if window else None)
        key = state.season.growing(options)
        crop = _chosen(rows, key)
        day = season_crop.day_of(crop) if crop else None
        system = state.units(store.units)
    if crop is None or day is None:
        _coming(store, top, window[0], names[field], system)
        named = str(window[0]["crop"])
    else:
        season_crop.show(store, top, crop, day, names[field], system, rows)
        named = str(crop["crop"])
    season_coefficients.show(store, field, names[field], named)
    season_coefficients.show_missing(store)
    _standing(store, names, system)
    if crop is None:
        _every(windows, system)
    frame.cautions()


def _fields(store: data.Store, windows: pd.DataFrame) -> dict[str, str]:
    """Name every field with a coming crop or one that a probe followed, by name."""
    known = {*windows["field"], *growing.fields_followed(store)}
    named = {one: name for one, name in watering.field_names(store).items() if one in known}
    return dict(sorted(named.items(), key=lambda one: one[1]))


def _told_if_not_here(store: data.Store, names: dict[str, str], shown: str) -> None:
    """Warn where the address names a field that is not there, or one without a season."""
    every, asked = watering.field_names(store), state.asked()
    controls.told_if_not_there(every, shown)
    if asked in every.values() and asked not in names.values():
        st.warning(said.NO_CROP.format(asked, shown))


def _crops(rows: pd.DataFrame, window: dict[Any, Any] | None) -> dict[str, str]:
    """Name a field's crops: one that stands, the coming one, then those that stood."""
    several = len(set(rows["site"])) > 1
    named = {_key(row): of_crop.name(row, several=several) for row in rows.to_dict("records")}
    standing = {_key(row) for row in rows[rows["open"].astype(bool)].to_dict("records")}
    coming = {} if window is None else {of_crop.COMING: of_crop.coming(window)}
    first = {key: name for key, name in named.items() if key in standing}
    return {**first, **coming, **{key: one for key, one in named.items() if key not in first}}


def _key(row: dict[Any, Any]) -> str:
    return f"{row['site']} {row['planted_on']:%Y-%m-%d}"


def _chosen(rows: pd.DataFrame, key: str) -> dict[Any, Any] | None:
    return next((row for row in rows.to_dict("records") if _key(row) == key), None)


def _coming(store: data.Store, top: Any, row: dict[Any, Any], name: str,
            system: System) -> None:  # fmt: skip
    """Show a season that is still to come."""
    with top:
        share = store.settings.reliability
        frame.answer(said.answer(row, name),
                     said.second(row, row["source_name"], share, system), "")  # fmt: skip
    days = watering.season_demand(store, row["field"])
    with st.container(border=True):
        frame.heading("What the crop asks for, and what the source can give", row["crop"])

        def drawn(palette: Palette, width: int | str) -> Any:
            return demand_and_capacity(days, row, palette, system, width=width)

        draw(drawn(frame.palette(), "container"), said.answer(row, name))
        about = season_crop.Named(field=str(row["field"]), day=f"{row['planting']:%Y-%m-%d}")
        take(about, "demand", chart_makers(drawn, lambda: days))
        frame.muted(f"{said.HOW} {said.BANK}")


def _standing(store: data.Store, names: dict[str, str], system: System) -> None:
    """List every crop that stands, the one with the least room first."""
    rows = growing.standing(store)
    if rows.empty:
        return
    with st.container(border=True):
        frame.heading("Every standing crop", words.counted(len(rows), "probe"))
        lines = [
            of_crop.standing_row(row, names.get(str(row["field"]), ""), system)
            for row in rows.to_dict("records")
        ]
        table(of_crop.STANDING_HEAD, lines, tall=True)
        frame.muted(of_crop.STANDING)
        offer("CSV", lambda: csv_text(rows), file_name="standing-crops.csv", mime="text/csv",
              key="take_standing", kind="tertiary")  # fmt: skip


def _every(windows: pd.DataFrame, system: System) -> None:
    """List every field's windows."""
    with st.container(border=True):
        frame.heading("Every field's coming season", words.counted(len(windows), "field"))
        head = ["Field", "Crop", "Source", "Planting", "Capacity", "Peak demand", "Run from",
                "Run until", "Bank"]  # fmt: skip
        table(head, [_line(row, system) for row in windows.to_dict("records")], tall=True)
        told = windows.drop(columns=["name", "source_name"])
        offer("CSV", lambda: csv_text(told), file_name="season-windows.csv", mime="text/csv",
              key="take_season", kind="tertiary")  # fmt: skip


def _line(row: dict[Any, Any], system: System) -> list[str]:
    field, crop, *rest = said.window_line(row, system)
    return [field, crop, row["source_name"] or "none", *rest]


if __name__ == "__main__":
    show()
