"""The Record page: which probe and stretch, what is uploaded, and what was said."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import streamlit as st

from dashboard.state.selection import ADDRESS

SITE = "site"
YEAR = "year"
KIND = "kind"
_SAID = "record_said"
_UPLOAD = "record_upload"


def site(options: Mapping[str, str], first: str) -> str:
    """Show the choice of probe, site to its name; ``first`` until one is chosen."""
    chosen = st.selectbox(
        "Probe",
        list(options),
        index=list(options).index(first),
        key=SITE,
        format_func=lambda one: options.get(one, str(one)),
        width=280,
        **ADDRESS,
    )
    return chosen if chosen in options else first


def year(years: Sequence[str]) -> str:
    """Show the choice of a year of the record, the whole of it being the default."""
    return st.selectbox("Stretch", years, key=YEAR, width=170, **ADDRESS) or years[0]


def kinds(options: Mapping[str, str]) -> list[str]:
    """Show the choice among kinds of trouble, code to name; none chosen means all."""
    return st.multiselect(
        "What is wrong", list(options), key=KIND, placeholder="all",
        format_func=lambda one: options.get(one, str(one)), width=360,
    )  # fmt: skip


def remark(sentence: str, *, fine: bool) -> None:
    """Keep a sentence for the next run, which shows it once."""
    st.session_state[_SAID] = (sentence, fine)


def remarked() -> tuple[str, bool] | None:
    """Give the sentence kept by the run before, once."""
    return st.session_state.pop(_SAID, None)


def uploads(given: Sequence[tuple[str, bytes]], lay: Callable[[str, bytes], Any]) -> list[Any]:
    """Lay uploaded files down once, and give their places as long as they stay chosen."""
    before = st.session_state.get(_UPLOAD, {})
    signs = [(name, len(content), hash(content)) for name, content in given]
    laid = {
        sign: before[sign] if sign in before else lay(*one)
        for sign, one in zip(signs, given, strict=True)
    }
    st.session_state[_UPLOAD] = laid
    return [*laid.values()]


def answer(asks: str, answers: Sequence[str], key: str) -> str | None:
    """Show a question that a file leaves open; None until it is answered."""
    return st.selectbox(asks, answers, index=None, placeholder="choose", key=key, width=360)
