"""What one field's soil holds, what the crop left and the winter brought, layer by layer."""

import pandas as pd
import streamlit as st

from dashboard import data, words
from dashboard.views.parts import controls, field_facts, field_panels, field_tally, frame
from dashboard.views.parts.downloads import downloads
from dashboard.views.parts.tables import zones_table


def show() -> None:
    """Show the page."""
    store, palette = data.opened(), frame.palette()
    top = st.container()
    chosen = controls.field(store)
    if chosen.site is None:
        with top:
            frame.notice(chosen.name, words.EMPTY_FIELD)
    else:
        shown = field_facts.gathered(store, palette, chosen, chosen.site)
        with top:
            field_facts.headed(shown)
        _page(shown)
    frame.cautions()


def _page(shown: field_facts.Shown) -> None:
    with st.container(border=True):
        field_panels.picture(shown)
    rows = _winter(shown)
    with st.container(border=True):
        frame.heading("What each zone holds, and how sure that is")
        zones_table(shown.zones, shown.system, shown.split_cm)
    if not rows.empty:
        with st.container(border=True):
            field_tally.by_layer(shown, rows)
    with st.container(border=True):
        field_panels.record(shown)
    with st.container(border=True):
        field_panels.years(shown)
    downloads(shown)


def _winter(shown: field_facts.Shown) -> pd.DataFrame:
    left, middle, right = st.columns([9, 8, 4], gap="small")
    with left, st.container(border=True):
        rows = field_tally.chosen(shown)
        if not rows.empty:
            field_tally.waterfall(shown, rows)
    with middle, st.container(border=True):
        field_panels.winters(shown)
    with right, st.container(border=True):
        field_facts.facts(shown)
    return rows


if __name__ == "__main__":
    show()
