"""The Watering order page: which source, and what is assumed."""

from collections.abc import Mapping
from math import isnan, nan
from typing import Any

import streamlit as st

from analytics.units import WATER, System, convert, inside
from dashboard.state.selection import ADDRESS

QUEUE = "queue"
WHAT_IF = "what_if_"
_ASSUMED = "assumed"


def queue(options: Mapping[str, str]) -> str:
    """Show the choice of source (id to name), all of them being the default: an empty id."""
    every = {"": "All sources", **options}
    chosen = st.selectbox(
        "Source", list(every), key=QUEUE, format_func=lambda one: every.get(one, str(one)),
        width=220, **ADDRESS,
    )  # fmt: skip
    return chosen if chosen in every else ""


def assume(values: Mapping[str, Any]) -> None:
    """Let the what-if say this, by its controls' short names, and nothing else.

    Called before the controls are drawn: from a callback.
    """
    for key in [one for one in st.session_state if str(one).startswith(WHAT_IF)]:
        del st.session_state[key]
    st.session_state[_ASSUMED] = dict(values)


def assumed(name: str, usual: Any) -> Any:
    """Give what a control was set to, also before another page was looked at."""
    return st.session_state.get(_ASSUMED, {}).get(name, usual)


def control(name: str, usual: Any) -> dict[str, Any]:
    """Give a control its key, its first value, and a memory that outlasts its page."""
    key = f"{WHAT_IF}{name}"
    st.session_state.setdefault(key, assumed(name, usual))
    return {"key": key, "on_change": _note, "args": (name, key)}


def depth(label: str, name: str, usual_mm: float, system: System) -> float:
    """Ask for a depth of water, mm; it stays the same when it is shown in other units.

    Empty, which NaN is shown as, is no depth at all.
    """
    unit = WATER.shown(system).unit
    key = f"{WHAT_IF}{name}_{system}"
    if key not in st.session_state:
        mm = assumed(name, usual_mm)
        st.session_state[key] = None if isnan(mm) else round(convert(mm, WATER, system), 2)
    st.number_input(
        label.format(unit=unit), min_value=0.0, value=None, key=key, on_change=_note_depth,
        args=(name, key, system), placeholder="none",
    )  # fmt: skip
    return assumed(name, usual_mm)


def _note(name: str, key: str) -> None:
    st.session_state.setdefault(_ASSUMED, {})[name] = st.session_state[key]


def _note_depth(name: str, key: str, system: System) -> None:
    typed = st.session_state[key]
    mm = nan if typed is None else inside(typed, WATER, system)
    st.session_state.setdefault(_ASSUMED, {})[name] = mm
