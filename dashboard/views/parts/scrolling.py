"""The box that a wide or long table scrolls in: reached and moved by the keyboard too."""

from collections.abc import Sequence
from html import escape


def scrolling(table: str, head: Sequence[str], *, tall: bool = False) -> str:
    """Put a table's HTML into its box; a screen reader is told its columns."""
    told = escape(f"Table: {', '.join(one for one in head if one)}")
    kind = "ow-scroll ow-tall" if tall else "ow-scroll"
    return f'<div class="{kind}" tabindex="0" role="region" aria-label="{told}">{table}</div>'
