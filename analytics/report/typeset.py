"""Set pages as PDF: words, tables and drawings in, a file out; no browser, no network."""

import json
from collections.abc import Mapping, Sequence
from importlib.resources import as_file, files
from typing import Any, Literal

import typst

Block = dict[str, Any]
Paper = Literal["letter", "a4"]
_SIZES = {"letter": "us-letter", "a4": "a4"}


def words(kind: Literal["title", "lead", "head", "text", "note"], text: str) -> Block:
    """Make a block of words."""
    return {"kind": kind, "text": text}


def picture(svg: str, told: str, share: float = 1.0) -> Block:
    """Make a drawing: SVG, what it says in words, and the share of the width it takes."""
    return {"kind": "picture", "svg": svg, "text": told, "share": share}


def table(
    head: Sequence[str], rows: Sequence[Sequence[str]], *, words_first: int = 1,
    widths: Sequence[float] = (),
) -> Block:  # fmt: skip
    """Make a table whose first columns are words and the others figures.

    ``widths`` are shares of what room is left; 0 fits a column to its content.
    """
    return {"kind": "table", "head": list(head), "rows": [list(row) for row in rows],
            "words": words_first, "widths": list(widths) or [0.0] * len(head)}  # fmt: skip


def beside(parts: Sequence[Sequence[Block]], widths: Sequence[float]) -> Block:
    """Set stacks of blocks beside one another, by shares of the width."""
    return {"kind": "beside", "parts": [list(one) for one in parts], "widths": list(widths)}


def pdf(title: str, pages: Sequence[Sequence[Block]], *, foot: str, paper: Paper) -> bytes:
    """Set pages.

    Parameters
    ----------
    title : str
        Of the file.
    pages : sequence of pages, each a sequence of blocks
        A page that does not hold its blocks runs on.
    foot : str
        Stands at the foot of every page, before its number.
    paper : {"letter", "a4"}

    Returns
    -------
    bytes
        The PDF. Every text is set as it is, whatever signs it holds.
    """
    given: Mapping[str, Any] = {
        "title": title, "pages": [list(one) for one in pages], "foot": foot,
        "paper": _SIZES[paper],
    }  # fmt: skip
    source = files("analytics.report").joinpath("pages.typ")
    with as_file(source) as path:
        return bytes(typst.compile(path, format="pdf", sys_inputs={"given": json.dumps(given)}))
