"""The map: a base whose script never changes, over it what does, so that it mounts once.

The base is drawn anew on every run, which takes a few milliseconds: streamlit-folium hangs what
it adds on the map it is given, so a kept one would grow, its script would differ, and the
map would mount again and lose its place.
"""

from typing import Any

import folium
import geopandas as gpd
import pandas as pd
from streamlit_folium import st_folium

from dashboard import data, maps, state
from dashboard.data import kept
from dashboard.views.parts.answers import shown_of
from dashboard.views.parts.district import District
from dashboard.views.parts.measures import Measure

KEY = "map"
HEIGHT_PX = 500
NAMED = 8
# Seen from the frame that the map component is served in.
LEAFLET = "../../app/static/leaflet/leaflet"


def shown_frame(district: District) -> pd.DataFrame:
    """Tell the map what each field shows: text, step, and whether held, silent or known."""
    told = [_shown(row, district) for row in district.kept.to_dict("records")]
    columns = ["field", "value_text", "code", "known", "held", "silent", "tooltip"]
    return pd.DataFrame(told, columns=columns)


def _shown(row: dict[Any, Any], district: District) -> dict[str, Any]:
    shade = district.measure.shade(row)
    held, seen = row["held"], row["seen"]
    return {
        "field": row["field"],
        "value_text": shade.text,
        "code": shade.code,
        "known": shade.code is not None,
        "held": not pd.isna(held) and bool(held),
        "silent": not pd.isna(seen) and seen < 1,
        "tooltip": shown_of(row, district.zone, district.system, district.split_cm),
    }


def map_panel(district: District, shown: pd.DataFrame, selected: str | None) -> None:
    """Draw the map; a click on a field selects it.

    Parameters
    ----------
    district : District
        Whose fields and landmarks.
    shown : DataFrame
        As ``shown_frame`` gives it; only these fields are drawn, the first by name.
    selected : str or None
        The field with the ring.
    """
    store, palette = district.store, district.palette
    every = data.fields(store)
    drawn = every[every["field"].isin(shown["field"])]
    names = set(shown["field"].head(NAMED))
    told = kept.once(
        store, ("map", *district.key, str(selected)),
        lambda: maps.field_sketch(drawn, shown, palette, selected, names),
    )  # fmt: skip
    groups = [maps.field_group(told)]
    ring = list(drawn.loc[drawn["field"] == selected, "geometry"])
    if ring:
        groups.insert(0, maps.selection_ring(ring[0], palette))
    st_folium(
        _base(district, every),
        key=KEY,
        height=HEIGHT_PX,
        use_container_width=True,
        feature_group_to_add=groups,
        returned_objects=["last_object_clicked"],
        on_change=lambda: _clicked(drawn),
    )


def _base(district: District, every: gpd.GeoDataFrame) -> folium.Map:
    return maps.base_map(
        maps.bounds_of(list(every.geometry)),
        data.landmarks(district.store),
        district.palette,
        f"{LEAFLET}.js",
        f"{LEAFLET}.css",
        system=district.system,
        tiles=data.tiles(),
    )


def map_key(measure: Measure) -> str:
    """Say how to read the map."""
    return (
        f"Number in a field: {measure.number}. Dotted rim: frozen, value held. Hatched half: a "
        "sensor is silent. Hatched with “?”: not known. Ring: the selected field."
    )


def _clicked(drawn: gpd.GeoDataFrame) -> None:
    said = state.recall(KEY) or {}
    state.choose(maps.field_at(drawn, said.get("last_object_clicked")))
