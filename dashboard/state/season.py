"""The Season page: which crop, looked at from which day."""

from collections.abc import Callable, Mapping
from datetime import date as day

import streamlit as st

from dashboard.state.selection import held

GROWING, ON, START = "growing", "on", "start"


def growing(options: Mapping[str, str]) -> str:
    """Show the choice of a crop, key to name, the first being the default."""
    return _held(GROWING, list(options), lambda: st.selectbox(
        "Crop", list(options), key=GROWING, width=280,
        format_func=lambda one: options.get(one, str(one)),
    ))  # fmt: skip


def _held(key: str, options: list[str], show: Callable[[], str]) -> str:
    """Show a choice that lives in the address where it is not the first."""
    asked = held(key)
    st.session_state[key] = asked if asked in options else options[0]
    chosen = show()
    if chosen != options[0]:
        st.query_params[key] = chosen
    elif key in st.query_params:
        del st.query_params[key]
    return chosen


def on_day(first: day, last: day) -> day:
    """Show the choice of a day of a crop, the last being the default."""
    return _day_within(ON, "Look from the day", first, last, last)


def start_day(first: day, last: day, usual: day) -> day:
    """Show the choice of the day on which watering would start."""
    return _day_within(START, "Start on", first, last, usual)


def _day_within(key: str, label: str, first: day, last: day, usual: day) -> day:
    asked = held(key)
    told = _iso(asked) if isinstance(asked, str) else asked
    st.session_state[key] = told if told and first <= told <= last else usual
    chosen = st.date_input(label, min_value=first, max_value=last, key=key, width=170)
    one = chosen if isinstance(chosen, day) else usual
    if one != usual:
        st.query_params[key] = one.isoformat()
    elif key in st.query_params:
        del st.query_params[key]
    return one


def _iso(words: str) -> day | None:
    try:
        return day.fromisoformat(words)
    except ValueError:
        return None
