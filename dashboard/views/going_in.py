"""Which fields go into the season short of water, how short, and where they lie."""

import streamlit as st

from dashboard import data
from dashboard.data import kept
from dashboard.views.parts import answers, controls, frame, news_panel, rows, take_report
from dashboard.views.parts.class_bar import class_bar
from dashboard.views.parts.district import District, unique_names
from dashboard.views.parts.field_list import field_list
from dashboard.views.parts.map_panel import map_key, map_panel, shown_frame
from dashboard.views.parts.selected import selected

IN_SIGHT = 8  # rows of the list that stand on a screen


def show() -> None:
    """Show the page."""
    store = data.opened()
    top = st.container()
    district = controls.going_in(store, frame.palette())
    with top:
        frame.answer(*answers.district(district))
    if not district.kept.empty:
        news_panel.show(store, unique_names(district.every), district.system)
        _panels(district)
        take_report.all_fields(store, district.system)
    frame.cautions()


@st.fragment
def _panels(district: District) -> None:
    """Draw list, map and the selected field together, so that a click redraws only these."""
    left, right = st.columns([5, 7], gap="small")
    with st.container(border=True):
        field = selected(district, unique_names(district.every))
    with left:
        _list(district, field)
    with right, st.container(border=True):
        _map(district, field)


def _list(district: District, field: str | None) -> None:
    title = f"Shortest first, {district.where}"
    rest = ", scroll for the rest" if len(district.kept) > IN_SIGHT else ""
    frame.heading(title, f"{district.counted}{rest}")
    field_list(
        kept.once(district.store, ("list", *district.key), lambda: rows.list_rows(district)),
        selected=field,
        head=rows.head(district),
        foot=rows.foot(district.kept, district.system),
        label=title,
        palette=district.palette,
    )


def _map(district: District, field: str | None) -> None:
    store, key = district.store, ("shown", *district.key)
    shown = kept.once(store, key, lambda: shown_frame(district))
    frame.heading(district.measure.title, district.counted)
    class_bar(shown["code"], district.measure, district.palette)
    map_panel(district, shown, field)
    frame.muted(map_key(district.measure))


if __name__ == "__main__":
    show()
