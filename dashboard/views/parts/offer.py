"""The one button by which anything is taken away; on a shared server it leaves a trail."""

from collections.abc import Callable
from typing import Literal

import streamlit as st

from dashboard.data import session


def offer(
    label: str,
    content: str | bytes | Callable[[], str | bytes],
    *,
    file_name: str,
    mime: str,
    key: str,
    kind: Literal["secondary", "tertiary"] = "secondary",
) -> None:
    """Show a button that gives a file; what is a function is made when it is asked for."""
    made = session.as_now(content) if callable(content) else content
    st.download_button(
        label, made, file_name=file_name, mime=mime, key=key, type=kind,
        on_click=session.noting(file_name),
    )  # fmt: skip
