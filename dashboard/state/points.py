"""The Points page: which layer and point, the value being entered, and what was said."""

import streamlit as st

from dashboard.state.selection import FIELD, GROWN, LAYER, POINT, POINTS, PROBE, held, one_of

VALUE, DRAG, FROM = "point_value", "point_drag", "point_from"
TYPED = "typed"
_OF, _TOLD = "point_of", "told"


def point() -> str:
    """Show the choice of point: full, refill or lower."""
    return one_of("Point", POINTS, POINT)


def layer(options: dict[str, str]) -> str:
    """Show the choice among a probe's layers, depth to name; the depth lives in the address."""
    asked = held(LAYER)
    st.session_state[LAYER] = asked if asked in options else next(iter(options))
    chosen = st.selectbox("Layer", list(options), key=LAYER, width=190,
                          format_func=lambda one: options.get(one, str(one)))  # fmt: skip
    st.query_params[LAYER] = chosen
    return chosen


def open_layer(field: str, site: str, depth: str) -> None:
    """Select a layer of a field's full point from a callback."""
    st.session_state[FIELD], st.session_state[LAYER] = field, depth
    st.session_state[POINT], st.session_state[PROBE] = "full", site


def grown(options: dict[str, str]) -> str:
    """Show the choice of a crop that was grown (its planting, ISO, to its name)."""
    if st.session_state.get(GROWN) not in options:
        st.session_state[GROWN] = next(iter(options))
    return st.selectbox("Crop", list(options), key=GROWN, width=260,
                        label_visibility="collapsed",
                        format_func=lambda one: options.get(one, str(one)))  # fmt: skip


def enter(of: str, value: float) -> None:
    """Begin the entry of a value anew when it is about another point than before."""
    if st.session_state.get(_OF) != of:
        st.session_state[_OF] = of
        offer(value)
        st.session_state[FROM] = TYPED


def offer(value: float) -> None:
    """Put a value into the entry, from a callback or before it is drawn."""
    st.session_state[VALUE] = st.session_state[DRAG] = round(value, 3)


def follow(key: str) -> None:
    """Let number and slider say the same, after one of them was moved."""
    offer(st.session_state[key])
    retype()


def retype() -> None:
    """Say that the value entered is a person's own, not one of those offered."""
    st.session_state[FROM] = TYPED


def tell(words: str) -> None:
    """Keep a sentence for the run that follows."""
    st.session_state[_TOLD] = words


def told() -> str:
    """Give the sentence that was kept, once."""
    return str(st.session_state.pop(_TOLD, ""))
