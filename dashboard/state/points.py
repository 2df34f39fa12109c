"""The Points page: which layer and point, the value being entered, and what was said."""

from dataclasses import dataclass, replace
from typing import Any, Literal

import streamlit as st

from dashboard.state.selection import FIELD, GROWN, LAYER, POINT, POINTS, PROBE, held, one_of

VALUE, DRAG, FROM, WHY = "point_value", "point_drag", "point_from", "point_why"
TYPED = "typed"
SAVE, BACK = "save", "back"
_BEGUN, _PRESSED, _TOLD = "point_begun", "point_pressed", "told"
_ACCEPTED = "points_accepted"


@dataclass(frozen=True, slots=True, kw_only=True)
class Version:
    """A version in force as a person sees it: its number, 0 if none set it, and its words."""

    number: int
    told: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Begun:
    """An entry: of which point, over which version, from which value, m3/m3.

    ``value`` is None once somebody pressed to save it: it then counts as typed.
    """

    of: str
    over: Version
    value: float | None


def point() -> str:
    """Show the choice of point: full, refill or lower."""
    return one_of("Point", POINTS, POINT)


def layer(options: dict[str, str], first: str) -> str:
    """Show the choice among a probe's layers, depth to name; the depth lives in the address."""
    asked = held(LAYER)
    st.session_state[LAYER] = asked if asked in options else first
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


def enter(of: str, now: Version, value: float) -> None:
    """Begin an entry anew for another point, or where what holds changed under an idle one."""
    begun: _Begun | None = st.session_state.get(_BEGUN)
    # A new session has drawn no box yet. Its browser may still show an old one's: what is
    # typed there arrives with the first run and would be lost if a value were put over it.
    if begun is None:
        _begin(of, now, value)
    elif begun.of != of or VALUE not in st.session_state:
        _begin(of, now, value)
        offer(value)
        st.session_state[WHY] = ""  # a reason is one change's; its author goes on
    elif _idle(begun, now):
        _begin(of, now, value)
        offer(value)


def _begin(of: str, now: Version, value: float) -> None:
    st.session_state[_BEGUN] = _Begun(of=of, over=now, value=round(value, 3))
    st.session_state[FROM] = TYPED


def _idle(begun: _Begun, now: Version) -> bool:
    """Say whether what holds changed while nobody had touched the entry."""
    return begun.over != now and st.session_state[VALUE] == begun.value


def first(value: float) -> float | Literal["min"]:
    """Give the number box its first value, unless one was put into it."""
    return "min" if VALUE in st.session_state else round(value, 3)


def level(value: float) -> None:
    """Let the slider, before it is drawn, say what the number box says."""
    if st.session_state.get(DRAG) != value:
        st.session_state[DRAG] = value


def overtaken(now: Version) -> bool:
    """Say whether another version than the one that the entry began over holds now."""
    return st.session_state[_BEGUN].over != now


def press(what: str, drawn: Version) -> None:
    """Note from a button's callback what held on the page where it was pressed."""
    st.session_state[_PRESSED] = (what, drawn)
    if what == SAVE:
        st.session_state[_BEGUN] = replace(st.session_state[_BEGUN], value=None)


def pressed() -> tuple[str, Version] | None:
    """Give what was pressed, and what held on its page, once; None in a new session."""
    return st.session_state.pop(_PRESSED, None)


def accept(shown: list[dict[Any, Any]]) -> None:
    """Note from a callback which points its button showed: the list may differ by now."""
    st.session_state[_ACCEPTED] = shown


def accepted() -> list[dict[str, Any]]:
    """Give the points that were accepted, once."""
    return st.session_state.pop(_ACCEPTED, [])


def finish() -> None:
    """Let the next run begin anew: what was entered is saved, or a version taken back."""
    st.session_state[_BEGUN] = replace(st.session_state[_BEGUN], of="")


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
