"""The map with each field's rank inside it."""

import pandas as pd
from streamlit_folium import st_folium

from dashboard import data, maps
from dashboard.views.parts import frame
from dashboard.views.parts.map_panel import HEIGHT_PX, LEAFLET
from dashboard.views.parts.order_page import Shown

KEY = "order_map"


def panel(shown: Shown) -> None:
    """Draw the map: rank inside a field, tone by what the whole profile holds."""
    frame.heading("Where, by rank", "tone: what the whole profile holds")
    every = data.fields(shown.store)
    told = _told(shown)
    drawn = every[every["field"].isin(told["field"])]
    if drawn.empty:
        return
    base = maps.base_map(
        maps.bounds_of(list(every.geometry)), data.landmarks(shown.store), shown.palette,
        f"{LEAFLET}.js", f"{LEAFLET}.css", system=shown.system,
    )  # fmt: skip
    first = set(told["field"].head(8))
    st_folium(
        base, key=KEY, height=HEIGHT_PX, use_container_width=True, returned_objects=[],
        feature_group_to_add=[maps.field_features(drawn, told, shown.palette, None, first)],
    )  # fmt: skip
    frame.muted("A field without a number gets no water. Hatched with “?”: not known.")


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
