"""What changed lately and needs a person, with a way to put it aside."""

from typing import Any

import streamlit as st

from analytics.errors import OverwinterError
from analytics.units import System
from dashboard import data, state
from dashboard.data import growing, session
from dashboard.views.parts import frame
from dashboard.words import news as said

LISTED = 3
"""Few enough that the list and the map stay in sight."""


def show(store: data.Store, names: dict[str, str], system: System) -> None:
    """Show the words, newest first; one quiet line where there is none."""
    rows = growing.news(store)
    rows = rows[rows["field"].isin(list(names))]
    if rows.empty or store.as_of is None:
        return
    listed = rows.to_dict("records")
    new = [one for one in listed if said.fresh(one, store.as_of)]
    with st.container(border=True):
        frame.heading("What changed and needs a person", said.head(len(new), len(listed)))
        for at, row in enumerate(listed[:LISTED]):
            _one(store, row, at, names[row["field"]], system)
        if len(listed) > LISTED:
            with st.expander(f"{len(listed) - LISTED} more"):
                for at, row in enumerate(listed[LISTED:], start=LISTED):
                    _one(store, row, at, names[row["field"]], system)


def _one(store: data.Store, row: dict[Any, Any], at: int, name: str, system: System) -> None:
    told, evidence = said.line(row, name, system)
    is_new = store.as_of is not None and said.fresh(row, store.as_of)
    with st.container(horizontal=True, vertical_alignment="center"):
        st.button(told, key=f"news_{at}", type="tertiary", on_click=state.choose,
                  args=(row["field"],))  # fmt: skip
        frame.muted(f"{evidence}{'; new' if is_new else ''}")
        if session.may_write():
            with st.popover("Put aside", type="tertiary"):
                _aside(store, row, at)


def _aside(store: data.Store, row: dict[Any, Any], at: int) -> None:
    with st.form(f"aside_{at}", border=False):
        by = st.text_input("By")
        why = st.text_input("Reason")
        if not st.form_submit_button("Put it aside"):
            return
    try:
        growing.put_aside(store, row, by, why)
    except OverwinterError as trouble:
        st.warning(str(trouble))
        return
    st.rerun()
