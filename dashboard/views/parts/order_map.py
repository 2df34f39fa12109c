"""The map with each field's rank inside it."""

from typing import Any

import geopandas as gpd
import pandas as pd
import streamlit as st
from streamlit_folium import st_folium

from dashboard import data, maps, state
from dashboard.data import kept, watering
from dashboard.views.parts import frame
from dashboard.views.parts.map_panel import HEIGHT_PX, LEAFLET
from dashboard.views.parts.order_page import Shown
from dashboard.views.parts.selected import FIELD_PAGE
from dashboard.words import order as said

KEY = "order_map"


def panel(shown: Shown) -> None:
    """Draw the map: rank inside a field, tone by what the whole profile holds.

    A click on a field, here or on another page's map, selects it.
    """
    frame.heading("Where, by rank", "tone: what the whole profile holds")
    every = data.fields(shown.store)
    told = kept.once(shown.store, ("order ranks", *shown.key), lambda: _told(shown))
    drawn = every[every["field"].isin(told["field"])]
    if drawn.empty:
        return
    base = maps.base_map(
        maps.bounds_of(list(every.geometry)), data.landmarks(shown.store), shown.palette,
        f"{LEAFLET}.js", f"{LEAFLET}.css", system=shown.system,
    )  # fmt: skip
    first, selected = (
        set(told["field"].head(8)),
        state.picked(watering.field_names(shown.store)),
    )
    sketched = kept.once(
        shown.store, ("order map", *shown.key, str(selected)),
        lambda: maps.field_sketch(drawn, told, shown.palette, selected, first),
    )  # fmt: skip
    groups = [maps.field_group(sketched)]
    ring = list(drawn.loc[drawn["field"] == selected, "geometry"])
    if ring:
        groups.insert(0, maps.selection_ring(ring[0], shown.palette))
    st_folium(
        base, key=KEY, height=HEIGHT_PX, use_container_width=True,
        returned_objects=["last_object_clicked"], feature_group_to_add=groups,
        on_change=lambda: _clicked(drawn),
    )  # fmt: skip
    frame.muted(
        "Number: rank in the order; a field without one is not in it. Hatched with “?”: not "
        "known. Ring: the field selected by a click."
    )
    _selected(shown, selected)


def _clicked(drawn: gpd.GeoDataFrame) -> None:
    told = state.recall(KEY) or {}
    state.choose(maps.field_at(drawn, told.get("last_object_clicked")))


def _selected(shown: Shown, field: str | None) -> None:
    """Say why the selected field stands where it does, and lead to its page."""
    found: list[dict[Any, Any]] = shown.laid.order[shown.laid.order["field"] == field].to_dict(
        "records"
    )
    for row in found:
        rank = "" if pd.isna(row["rank"]) else f"{row['rank']} "
        frame.muted(f"{rank}{row['name']}: {said.reason(row, shown.system)}")
        st.page_link(FIELD_PAGE, label=f"Open {row['name']}")


def _told(shown: Shown) -> pd.DataFrame:
    rows = []
    for row in shown.laid.order.to_dict("records"):
        here = row["field"] in shown.fields.index
        code = shown.fields.loc[row["field"], "class"] if here else None
        rank = "" if pd.isna(row["rank"]) else str(row["rank"])
        rows.append({
            "field": row["field"], "value_text": rank, "held": False, "silent": False,
            "code": code if isinstance(code, str) else None, "known": isinstance(code, str),
            "tooltip": f"{rank} {row['name']}".strip(),
        })  # fmt: skip
    columns = ["field", "value_text", "code", "known", "held", "silent", "tooltip"]
    return pd.DataFrame(rows, columns=columns)
