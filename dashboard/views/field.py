"""What one field's soil holds, what the crop left and the winter brought, layer by layer."""

import pandas as pd
import streamlit as st

from dashboard import data, state, words
from dashboard.views.parts import (
    controls,
    field_facts,
    field_frost,
    field_panels,
    field_record,
    field_tally,
    field_wettings,
    frame,
    take_report,
)
from dashboard.views.parts.downloads import csv_text, downloads, take
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
        start = _view(shown)
        field_panels.picture(shown, start)
    rows = _winter(shown)
    with st.container(border=True):
        field_record.record(shown, start)
    if rows["change_mm"].notna().any():
        with st.container(border=True):
            field_tally.by_layer(shown, rows)
    _sure(shown, rows)
    field_frost.winters(shown)
    with st.container(border=True):
        field_panels.years(shown)
    take_report.one_field(shown.store, shown.field, shown.system)
    downloads(shown)


def _view(shown: field_facts.Shown) -> str:
    """Show the choice of stretch and what a short one hides; give its first day."""
    with st.container(horizontal=True, vertical_alignment="center"):
        whole = state.span() == "record"
        start = shown.first_day if whole else shown.season_from
        hides = field_facts.hidden(shown, start)
        if hides:
            st.html(f'<p class="ow-second">{hides}</p>')
    return start


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


def _sure(shown: field_facts.Shown, rows: pd.DataFrame) -> None:
    if not rows.empty:
        with st.container(border=True):
            field_wettings.wettings(shown, rows)
    with st.container(border=True):
        frame.heading("What each zone holds, and how sure that is")
        zones_table(shown.zones, shown.system, shown.split_cm)
        take(shown, "zones", {"CSV": lambda: csv_text(shown.zones)})


if __name__ == "__main__":
    show()
