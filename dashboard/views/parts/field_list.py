"""The list of fields beside the map: a small component, since no stock table selects like it.

Rows are options of a listbox: arrow keys move, Enter selects, a screen reader says which is
selected. Nothing is fetched: markup, style and script travel inside the page.
"""

from pathlib import Path
from typing import Any

from streamlit.components.v2 import component

from dashboard import state
from dashboard.charts.palette import Palette

KEY = "field_list"
_HERE = Path(__file__)
_list = component(
    "overwinter_field_list",
    html=_HERE.with_suffix(".html").read_text(encoding="utf-8"),
    css=_HERE.with_suffix(".css").read_text(encoding="utf-8"),
    js=_HERE.with_suffix(".js").read_text(encoding="utf-8"),
)


def tokens(palette: Palette) -> dict[str, str]:
    """Name the palette's colours for style sheets."""
    names = (
        "ground",
        "panel",
        "tint",
        "ink",
        "muted",
        "edge",
        "line",
        "highlight",
        "on_highlight",
    )
    return {f"--ow-{name.replace('_', '-')}": getattr(palette, name) for name in names}


def field_list(
    rows: list[dict[str, Any]],
    *,
    selected: str | None,
    head: dict[str, str],
    foot: str,
    label: str,
    palette: Palette,
) -> None:
    """Show the list; a click on a row selects its field.

    Parameters
    ----------
    rows : list of dict
        ``field``, ``rank``, ``name``, ``detail``, ``line``, ``figure``, ``within`` (texts),
        ``core``, ``interval`` (data addresses), ``core_words``, ``interval_words``.
    selected : str or None
        The field whose row is marked.
    head : dict
        Words over the columns ``words``, ``figure``, ``interval``.
    foot : str
        What is said of the fields not listed; empty for nothing.
    label : str
        What a screen reader calls the list.
    palette : Palette
        Colours.
    """
    _list(
        key=KEY,
        data={"rows": rows, "selected": selected, "head": head, "foot": foot, "label": label,
              "tokens": tokens(palette)},
        on_picked_change=_picked,
    )  # fmt: skip


def _picked() -> None:
    state.choose((state.recall(KEY) or {}).get("picked"))
