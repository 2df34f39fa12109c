"""Which points need a person, one layer's point made one's own, and what the roots took."""

import streamlit as st

from dashboard import data, words
from dashboard.data import layer_points
from dashboard.views.parts import frame, points_drydown, points_edit, points_layer, points_work
from dashboard.words import points as said


def show() -> None:
    """Show the page."""
    store, palette = data.opened(), frame.palette()
    judged = layer_points.full_points(store)
    top = st.container()
    listed = st.container()
    chosen = points_layer.controls(store, palette, judged)
    with top:
        points_work.answered(judged, chosen.system)
    with listed:
        points_work.work(store, judged, chosen.system)
    if chosen.layer is None:
        frame.muted(words.EMPTY_FIELD)
    else:
        _layer(chosen.layer)
        with st.container(border=True):
            points_drydown.drydown_of(chosen.layer)
    frame.cautions()


def _layer(layer: points_layer.Layer) -> None:
    with st.container(border=True):
        points_layer.headed(layer)
        picture = st.container()
        left, right = st.columns([1, 1], gap="large")
        with left:
            value = points_edit.entry(layer)
        with right:
            points_edit.before_after(layer, value)
        with picture:
            points_layer.picture(layer, value)
    with st.container(border=True):
        frame.heading("Every version of this layer's points", "latest first")
        points_edit.history(layer)
        frame.muted(said.WINS)


if __name__ == "__main__":
    show()
