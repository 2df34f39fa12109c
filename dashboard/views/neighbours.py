"""How one field stands beside others, layer by layer, and how the district is spread."""

import streamlit as st

from dashboard import data, state, words
from dashboard.views.parts import controls, frame, neighbours_gathered, neighbours_panels
from dashboard.words import neighbours as said


def show() -> None:
    """Show the page."""
    store = data.opened()
    top = st.container()
    chosen = controls.field(store)
    if chosen.site is None:
        with top:
            frame.notice(chosen.name, words.EMPTY_FIELD)
    else:
        group = neighbours_gathered.gathered(
            store, frame.palette(), chosen, chosen.site, state.likeness()
        )
        with top:
            neighbours_panels.headed(group)
        _panels(group)
    frame.cautions()


def _panels(group: neighbours_gathered.Group) -> None:
    if group.others:
        for panel in (
            neighbours_panels.cores, neighbours_panels.ranked, neighbours_panels.columns,
            neighbours_panels.winter,
        ):  # fmt: skip
            with st.container(border=True):
                panel(group)
    elif not group.alone:
        frame.muted(said.NO_OTHERS)
    neighbours_panels.district(group)


if __name__ == "__main__":
    show()
