"""The growers' meeting: letters or names, the fields of the walk and the step."""

import secrets
from collections.abc import Mapping

import streamlit as st

from dashboard.state.selection import NAMES, STEP

_DEAL, _UNMASK, _WALK = "meeting_deal", "meeting_unmask", "meeting_walk"
WITHHELD = {"withheld": "Withheld", "shown": "Shown"}


def deal() -> str:
    """Give the secret by which this session's letters are dealt."""
    return st.session_state.setdefault(_DEAL, secrets.token_hex(16))


def names_shown() -> bool:
    """Show the choice between letters and names; letters until somebody asks for names."""
    held = st.query_params.get(NAMES)
    st.session_state.setdefault(NAMES, "shown" if held == WITHHELD["shown"] else "withheld")
    chosen = st.segmented_control("Names", list(WITHHELD), key=NAMES, required=True,
                                  format_func=lambda one: WITHHELD[one])  # fmt: skip
    if chosen == "shown":
        st.query_params[NAMES] = WITHHELD["shown"]
    elif NAMES in st.query_params:
        del st.query_params[NAMES]
    return chosen == "shown"


def unmasked() -> str:
    """Ask for a grower to whom their own fields are named; no list, which would name all."""
    return st.text_input("Name one grower's own fields", key=_UNMASK, width=240,
                         placeholder="the grower's name, in full").strip()  # fmt: skip


def walk(fields: Mapping[str, str]) -> list[str]:
    """Show which fields are walked through (letter to name), all until one is dropped."""
    held = st.session_state.get(_WALK)
    if held is not None and not set(held) <= set(fields):
        del st.session_state[_WALK]  # the store has changed
    st.session_state.setdefault(_WALK, list(fields))
    return st.multiselect("Fields in the walk", list(fields), key=_WALK,
                          format_func=lambda one: fields.get(one, str(one)))  # fmt: skip


def step(count: int) -> int:
    """Give the step of the walk that the address asks for, within those there are."""
    asked = st.query_params.get(STEP, "1")
    return min(max(int(asked) if asked.isdecimal() else 1, 1), count)


def turn(to: int) -> None:
    """Go to a step of the walk, from a callback."""
    st.query_params[STEP] = str(to)
