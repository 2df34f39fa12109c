"""What pages make of what they read, kept like it: bound to a generation, and in number."""

from collections.abc import Callable
from typing import Any, TypeVar

import streamlit as st

from dashboard.data import KEPT, Store

Made = TypeVar("Made")


def once(store: Store, key: tuple[str, ...], make: Callable[[], Made]) -> Made:
    """Make something plain out of what was read, once for a generation and key.

    ``key`` names all that ``make`` depends on beside the store.
    """
    return _made(str(store.path), store.generation, key, make)


@st.cache_data(max_entries=KEPT, show_spinner=False)
def _made(path: str, generation: str, key: tuple[str, ...], _make: Callable[[], Any]) -> Any:
    del path, generation, key  # parts of the key only
    return _make()
