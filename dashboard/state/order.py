"""The Watering order page: which source, and what is assumed."""

from collections.abc import Mapping
from typing import Any

import streamlit as st

from dashboard.state.selection import ADDRESS

QUEUE = "queue"
WHAT_IF = "what_if_"


def queue(options: Mapping[str, str]) -> str:
    """Show the choice of source (id to name), all of them being the default: an empty id."""
    every = {"": "All sources", **options}
    chosen = st.selectbox(
        "Source", list(every), key=QUEUE, format_func=lambda one: every.get(one, str(one)),
        width=220, **ADDRESS,
    )  # fmt: skip
    return chosen if chosen in every else ""


def assume(values: Mapping[str, Any]) -> None:
    """Set the what-if's controls from a callback, by their short names."""
    for name, value in values.items():
        st.session_state[f"{WHAT_IF}{name}"] = value
