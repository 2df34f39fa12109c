"""The map: a base whose script never changes, over it what does, so that it mounts once.

The base is drawn anew on every run, which takes a few milliseconds: streamlit-folium hangs what
it adds on the map it is given, so a kept one would grow, its script would differ, and the
map would mount again and lose its place.
"""

from typing import Any

import geopandas as gpd
import pandas as pd
import streamlit as st
from streamlit_folium import st_folium

from analytics.units import System
from dashboard import data, maps, state
from dashboard.charts.palette import Palette
from dashboard.views.parts.answers import shown_of
from dashboard.views.parts.measures import Measure

KEY = "map"
HEIGHT_PX = 500
NAMED = 8
# Seen from the frame that the map component is served in.
LEAFLET = "../../app/static/leaflet/leaflet"


def shown_frame(
    rows: pd.DataFrame, chosen: Measure, zone: str, system: System, split_cm: float
) -> pd.DataFrame:
    """Tell the map what each field shows: text, step, and whether held, silent or known."""
    told = []
    for row in rows.to_dict("records"):
        shade = chosen.shade(row)
        held, seen = row["held"], row["seen"]
        told.append(
            {
                "field": row["field"], "value_text": shade.text, "code": shade.code,
                "known": shade.code is not None,
                "held": not pd.isna(held) and bool(held),
                "silent": not pd.isna(seen) and seen < 1,
                "tooltip": shown_of(row, zone, system, split_cm),
            }
        )  # fmt: skip
    columns = ["field", "value_text", "code", "known", "held", "silent", "tooltip"]
    return pd.DataFrame(told, columns=columns)


def map_panel(
    store: data.Store,
    shown: pd.DataFrame,
    palette: Palette,
    system: System,
    selected: str | None,
    names: set[str],
) -> None:
    """Draw the map; a click on a field selects it.

    Parameters
    ----------
    store : Store
        Whose fields and landmarks.
    shown : DataFrame
        As ``shown_frame`` gives it; only these fields are drawn.
    palette : Palette
        Colours.
    system : {"in", "mm"}
        Units of the scale bar.
    selected : str or None
        The field with the ring.
    names : set of str
        Fields whose names are written.
    """
    every = data.fields(store)
    base, centre = _base(store, every, palette, system)
    drawn = every[every["field"].isin(shown["field"])]
    groups = [maps.field_features(drawn, shown, palette, selected, names)]
    ring = drawn[drawn["field"] == selected]
    if len(ring):
        groups.insert(0, maps.selection_ring(ring.geometry.iloc[0], palette))
    st_folium(
        base, key=KEY, height=HEIGHT_PX, use_container_width=True, center=centre,
        feature_group_to_add=groups, returned_objects=["last_object_clicked"],
        on_change=lambda: _clicked(drawn),
    )  # fmt: skip


def _base(
    store: data.Store, every: gpd.GeoDataFrame, palette: Palette, system: System
) -> tuple[Any, tuple[float, float]]:
    bounds = maps.bounds_of(list(every.geometry))
    ground = maps.base_map(bounds, data.landmarks(store), palette, f"{LEAFLET}.js",
                           f"{LEAFLET}.css", system=system)  # fmt: skip
    west, south, east, north = bounds
    return ground, ((south + north) / 2, (west + east) / 2)


def _clicked(drawn: gpd.GeoDataFrame) -> None:
    said = state.recall(KEY) or {}
    state.choose(maps.field_at(drawn, said.get("last_object_clicked")))
