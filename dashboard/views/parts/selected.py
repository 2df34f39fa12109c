"""The selected field under the map: its core, its sentence, and the way to its page."""

from html import escape
from typing import Any

import pandas as pd
import streamlit as st

from dashboard import data, state, words
from dashboard.charts.core_strip import core_svg, data_uri
from dashboard.charts.palette import Palette
from dashboard.views.parts import answers, controls, rows

FIELD_PAGE = "views/field.py"
CORE_PX = (56.0, 150.0)


def selected(
    store: data.Store, every: pd.DataFrame, names: dict[str, str], field: str | None,
    chosen: controls.GoingIn, palette: Palette,
) -> None:  # fmt: skip
    """Show the choice list, and of the field chosen the core and what is said of it."""
    with st.container(border=True):
        left, right = st.columns([5, 7], gap="medium", vertical_alignment="center")
        with left:
            state.field(names, placeholder="Choose a field, here or on the map")
            if field is not None:
                st.page_link(FIELD_PAGE, label=f"Open {names[field]}")
        with right:
            found = every[every["field"] == field].to_dict("records")
            _told(store, found[0] if found else None, chosen, palette)


def _told(
    store: data.Store, row: dict[Any, Any] | None, chosen: controls.GoingIn, palette: Palette
) -> None:
    if row is None:
        st.html('<p class="ow-note">No field is selected.</p>')
        return
    split = store.settings.zone_split_cm
    drawn = rows.cores(store, chosen.day, {str(row["site"])}).get(str(row["site"]), ())
    label = rows.label_of(row, chosen.system, split)
    core = core_svg(drawn, width=CORE_PX[0], height=CORE_PX[1], palette=palette, split_cm=split,
                    label=label)  # fmt: skip
    said = answers.field_sentence(store, row, chosen.system)
    told = answers.told_of(row, chosen.system)
    second = ". ".join(told) + "." if told else ""
    rests = answers.rests_of(row, chosen.system)
    st.html(
        f'<div class="ow-selected"><img src="{data_uri(core)}" alt="{escape(label)}"><div>'
        f"<p><b>{escape(said)}</b></p><p>{escape(second)}</p>"
        f'<p class="ow-muted">{escape(rests)}</p></div></div>'
    )
