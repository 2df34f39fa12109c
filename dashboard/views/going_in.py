"""Which fields go into the season short of water, how short, and where they lie."""

import pandas as pd
import streamlit as st

from analytics.units import System
from dashboard import data, state, words
from dashboard.charts.palette import Palette
from dashboard.views.parts import answers, controls, frame, rows, selected
from dashboard.views.parts.class_bar import class_bar
from dashboard.views.parts.field_list import field_list
from dashboard.views.parts.map_panel import NAMED, map_panel, shown_frame
from dashboard.views.parts.measures import Measure, measure


def show() -> None:
    """Show the page."""
    store, palette = data.opened(), frame.palette()
    top = st.container()
    chosen, every, kept = controls.going_in(store)
    with top:
        frame.answer(*answers.district(store, every, chosen.day, chosen.zone, chosen.system))
    if kept.empty:
        frame.muted(words.EMPTY_FILTER)
    else:
        split = store.settings.zone_split_cm
        step = measure(chosen.measure, chosen.zone, chosen.system, split)
        _panels(store, every, kept, chosen, step, palette)
    frame.cautions()


@st.fragment
def _panels(
    store: data.Store, every: pd.DataFrame, kept: pd.DataFrame, chosen: controls.GoingIn,
    step: Measure, palette: Palette,
) -> None:  # fmt: skip
    """Draw list, map and the selected field together, so that a click redraws only these."""
    names = controls.unique_names(every)
    field = state.chosen()
    field = field if field in names else None
    left, right = st.columns([5, 7], gap="small")
    with left:
        _list(store, kept, chosen, field, palette)
    with right, st.container(border=True):
        _map(store, kept, chosen, step, palette, field)
    selected.selected(store, every, names, field, chosen, palette)


def _list(
    store: data.Store, kept: pd.DataFrame, chosen: controls.GoingIn, field: str | None,
    palette: Palette,
) -> None:  # fmt: skip
    split = store.settings.zone_split_cm
    where = words.zone_label(chosen.zone, chosen.system, split)
    title = f"Shortest first, {where}"
    frame.heading(title, f"{len(kept)} {'field' if len(kept) == 1 else 'fields'}")
    field_list(
        rows.list_rows(store, kept, chosen.day, chosen.system, palette), selected=field,
        head=rows.head(kept, chosen.zone, chosen.system, split),
        foot=rows.foot(kept, chosen.system), label=title, palette=palette,
    )  # fmt: skip


def _map(
    store: data.Store, kept: pd.DataFrame, chosen: controls.GoingIn, step: Measure,
    palette: Palette, field: str | None,
) -> None:  # fmt: skip
    system: System = chosen.system
    shown = shown_frame(kept, step, chosen.zone, system, store.settings.zone_split_cm)
    frame.heading(step.title, f"{len(kept)} {'field' if len(kept) == 1 else 'fields'}")
    class_bar([code if known else None for code, known in zip(shown["code"], shown["known"], strict=True)], step, palette)
    map_panel(store, shown, palette, system, field, set(kept["field"].head(NAMED)))
    frame.muted(controls.map_key(step))


if __name__ == "__main__":
    show()
