"""Tables of words: left, wrapped, and when long in a box that scrolls."""

from collections.abc import Sequence
from html import escape

import streamlit as st

from dashboard.views.parts.scrolling import scrolling


def text_table(
    head: Sequence[str], rows: Sequence[Sequence[str]], *, tall: bool = False
) -> None:
    """Show a table of words."""
    heads = "".join(f'<th scope="col">{escape(one)}</th>' for one in head)
    body = "".join(
        "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in rows
    )
    made = (
        f'<table class="ow-table ow-text"><thead><tr>{heads}</tr></thead>'
        f"<tbody>{body}</tbody></table>"
    )
    st.html(scrolling(made, head, tall=tall))
