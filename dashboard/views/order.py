"""Which field first, how much, by when; and what would change it."""

import streamlit as st

from dashboard import data, state
from dashboard.data import watering
from dashboard.views.parts import (
    frame,
    order_map,
    order_page,
    order_panels,
    order_take,
    order_whatif,
)


def show() -> None:
    """Show the page."""
    store = data.opened()
    sources = watering.source_names(store)
    top = st.container()
    with st.container(horizontal=True, vertical_alignment="bottom"):
        chosen = state.order.queue(sources)
        system = state.units(store.units)
    shown = order_page.gathered(store, frame.palette(), system, chosen)
    with top:
        order_panels.answer(shown, known=bool(sources))
        order_panels.unmet(shown)
    _page(shown)
    frame.cautions()


def _page(shown: order_page.Shown) -> None:
    if shown.laid.order["rank"].notna().any():
        with st.container(border=True):
            order_panels.picture(shown)
        order_panels.sources(shown)
        with st.container(border=True):
            order_whatif.panel(shown)
        with st.container(border=True):
            order_panels.reasons(shown)
        left, right = st.columns([7, 5], gap="small")
        with left, st.container(border=True):
            order_map.panel(shown)
        with right, st.container(border=True):
            order_take.panel(shown)
    order_panels.dry(shown)
    order_panels.outlook(shown)


if __name__ == "__main__":
    show()
