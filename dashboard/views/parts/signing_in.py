"""Signing in and out on a shared server; a dashboard of one's own shows nothing of it."""

import streamlit as st

from dashboard.data import session
from dashboard.views.parts import frame
from dashboard.words import signing


def ask() -> None:
    """Let somebody sign in; nothing of the store is shown before."""
    frame.header(None)
    frame.notice(signing.SIGN_IN, signing.SIGN_IN_WHY)
    st.button("Sign in", on_click=st.login)


def told() -> None:
    """Say who is signed in and what they see, beside the way out."""
    seen = session.told()
    if seen is None:
        return
    left, right = st.columns([5, 1], vertical_alignment="center")
    with left:
        frame.muted(signing.signed_in(seen.who, seen.role, seen.growers))
    right.button("Sign out", on_click=st.logout)


def is_guest() -> bool:
    """Tell a session for which no field is open, and say so to it."""
    seen = session.told()
    if seen is None or seen.role != "guest":
        return False
    frame.notice(signing.NO_FIELD, signing.no_role(seen.who))
    return True
