"""Who is being served: on a shared server people sign in, and see what their role lets them.

The store asks here, each time it is opened, whose eyes it is opened for.
"""

import os
from collections.abc import Callable
from pathlib import Path
from typing import Literal

import streamlit as st
from streamlit.runtime.scriptrunner import get_script_run_ctx

from analytics.store import accounts, layout, sight
from analytics.store.sight import Sight

STORE_VARIABLE = "OVERWINTER_STORE"
as_now = sight.as_now
"""What is made when it is asked for is made for the eyes that it is offered to."""


def looking() -> Sight | None:
    """Give the sight of whoever this session serves; None where nobody is known."""
    ctx = get_script_run_ctx(suppress_warning=True)
    if ctx is None or not st.user.get("is_logged_in", False):
        return None
    if st.user.get("email_verified", True) is False:
        return None
    email, named = st.user.get("email"), os.environ.get(STORE_VARIABLE)
    if not email or not named:
        return None
    return _sight(named, layout.generation(Path(named)), str(email))


@st.cache_data(max_entries=64, show_spinner=False)
def _sight(path: str, generation: str, email: str) -> Sight:
    del generation  # a role given or taken holds at once
    return accounts.sight_of(Path(path), email)


def must_sign_in() -> bool:
    """Tell whether this session serves nobody known, on a server where it has to."""
    return sight.shared() and not st.user.get("is_logged_in", False)


def may_write() -> bool:
    """Tell whether whoever is served may change anything."""
    seen = sight.current()
    return seen is None or seen.whole


def token() -> str:
    """Give what sets apart what two sessions may keep."""
    seen = sight.current()
    return "whole" if seen is None else seen.token


def noting(file_name: str) -> Callable[[], None] | Literal["ignore"]:
    """Give what a click on a file does: nothing, or on a shared server a line of the trail."""
    seen, named = sight.current(), os.environ.get(STORE_VARIABLE)
    if seen is None or not named:
        return "ignore"

    def noted() -> None:
        with sight.looking(seen):
            accounts.took_away(Path(named), file_name)

    return noted


def told() -> Sight | None:
    """Give who is served, to be shown; None on a dashboard of one's own."""
    return sight.current() if sight.shared() else None


sight.find_by(looking)
