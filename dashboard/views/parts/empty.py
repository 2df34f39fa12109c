"""What is shown before there is anything to show, and what to do about it."""

from analytics.errors import OverwinterError
from dashboard import data, words
from dashboard.views.parts import frame


def no_store(trouble: OverwinterError) -> None:
    """Say that no store could be opened, and how to get one."""
    frame.notice(
        "No store is open.",
        str(trouble),
        "To look at an invented district first, run `overwinter demo`.",
    )


def _fields_in(number: int) -> str:
    return f"Its {words.counted(number, 'field')} {'is' if number == 1 else 'are'} in."


def ready(store: data.Store) -> bool:
    """Tell whether there is something to show; if not, say what is missing."""
    if not len(data.fields(store)):
        frame.notice(
            words.EMPTY_STORE,
            f"Import files with `overwinter import {store.path} FILE...`, then work them out "
            f"with `overwinter assess {store.path}`.",
        )
        return False
    if store.as_of is None:
        frame.notice(
            "This store has not been assessed yet.",
            f"{_fields_in(len(data.fields(store)))} Work out what their soil holds with "
            f"`overwinter assess {store.path}`, then reload this page.",
        )
        return False
    if not data.dates(store):
        frame.notice(
            "No probe has reported yet.",
            f"Import logger files with `overwinter import {store.path} FILE...`, then run "
            f"`overwinter assess {store.path}`.",
        )
        return False
    return True
