"""The selected field under the map: its core, its sentence, and the way to its page."""

from html import escape
from typing import Any

import streamlit as st

from dashboard import state
from dashboard.charts.core_strip import core_svg, data_uri
from dashboard.views.parts import answers, frame, rows
from dashboard.views.parts.district import District

FIELD_PAGE = "views/field.py"
CORE_PX = (56.0, 150.0)


def selected(district: District, names: dict[str, str]) -> str | None:
    """Show the choice list, and of the field chosen the core and what is said of it.

    Returns
    -------
    str or None
        The field chosen. Call this before list and map are filled: the choice list is what
        reads the address.
    """
    left, right = st.columns([5, 7], gap="medium", vertical_alignment="center")
    with left:
        field = state.field(names, placeholder="Choose a field, here or on the map")
        if field is not None:
            st.page_link(FIELD_PAGE, label=f"Open {names[field]}")
    with right:
        found = district.every[district.every["field"] == field].to_dict("records")
        if found:
            _told(found[0], district)
        else:
            frame.muted("No field is selected.")
    return field


def _told(row: dict[Any, Any], district: District) -> None:
    system, site = district.system, str(row["site"])
    drawn = rows.cores(district.store, district.day, {site}).get(site, ())
    label = rows.label_of(row, system, district.split_cm)
    core = core_svg(
        drawn,
        width=CORE_PX[0],
        height=CORE_PX[1],
        palette=district.palette,
        split_cm=district.split_cm,
        label=label,
    )
    told = ". ".join(answers.told_of(row, system))
    st.html(
        f'<div class="ow-selected"><img src="{data_uri(core)}" alt="{escape(label)}"><div>'
        f"<p><b>{escape(answers.field_sentence(district.store, row, system))}</b></p>"
        f"<p>{escape(told)}</p>"
        f'<p class="ow-muted">{escape(answers.rests_of(row, system))}</p></div></div>'
    )
