"""Set slides as PPTX: words, native tables and pictures in, a file out; no network."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from pptx import Presentation
from pptx.dml.color import RGBColor
from pptx.oxml.ns import qn
from pptx.util import Emu, Inches, Pt

WIDE, HIGH, EDGE = 13.333, 7.5, 0.5  # inches: a screen of 16 to 9
BLANK = 6  # layout of the library's own template that holds nothing
INK, MUTED = RGBColor(0x1F, 0x1B, 0x17), RGBColor(0x5F, 0x58, 0x50)
LINE, TINT = "D9D3C9", RGBColor(0xEC, 0xE7, 0xDE)
MAKER = "Overwinter"


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """Where something stands on a slide, inches."""

    left: float
    top: float
    width: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """Lines of text, the size of their type in points."""

    lines: tuple[str, ...]
    box: Box
    size: float = 20.0
    bold: bool = False
    muted: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A PNG that fits into its box, and what it says in words."""

    png: bytes
    told: str
    box: Box


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table of the deck's own: it can be edited where it stands.

    ``widths`` are shares of its width; left out, all columns are alike.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    box: Box
    size: float = 18.0
    widths: tuple[float, ...] = ()


Part = Words | Picture | Table
WHOLE = Box(left=EDGE, top=1.6, width=WIDE - 2 * EDGE, height=HIGH - 1.6 - EDGE)
"""What a heading leaves of a slide."""


def heading(sentence: str) -> Words:
    """Head a slide."""
    box = Box(left=EDGE, top=0.35, width=WIDE - 2 * EDGE, height=1.2)
    return Words(lines=(sentence,), box=box, size=32.0, bold=True)


def deck(title: str, slides: Sequence[Sequence[Part]]) -> bytes:
    """Set slides.

    Parameters
    ----------
    title : str
        Of the file.
    slides : sequence of slides, each a sequence of parts

    Returns
    -------
    bytes
        The PPTX. Every text is set as it is; nobody is named as its author.
    """
    made = Presentation()
    made.slide_width, made.slide_height = Inches(WIDE), Inches(HIGH)
    _about(made, title)
    for parts in slides:
        slide = made.slides.add_slide(made.slide_layouts[BLANK])
        for part in parts:
            _put(slide.shapes, part)
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


def _about(made: Any, title: str) -> None:
    about = made.core_properties
    about.title, about.author, about.last_modified_by = title, MAKER, MAKER
    about.subject = about.keywords = about.comments = about.category = ""
    about.created = about.modified = datetime.now(UTC).replace(tzinfo=None)


def _put(shapes: Any, part: Part) -> None:
    if isinstance(part, Words):
        _words(shapes, part)
    elif isinstance(part, Picture):
        _picture(shapes, part)
    else:
        _table(shapes, part)


def _edges(box: Box) -> tuple[Inches, Inches, Inches, Inches]:
    return Inches(box.left), Inches(box.top), Inches(box.width), Inches(box.height)


def _words(shapes: Any, part: Words) -> None:
    frame = shapes.add_textbox(*_edges(part.box)).text_frame
    frame.word_wrap = True
    for at, line in enumerate(part.lines):
        paragraph = frame.paragraphs[0] if at == 0 else frame.add_paragraph()
        _run(paragraph, line, part.size, bold=part.bold, ink=MUTED if part.muted else INK)


def _run(paragraph: Any, line: str, size: float, *, bold: bool, ink: RGBColor) -> None:
    run = paragraph.add_run()
    run.text = line
    run.font.size, run.font.bold, run.font.color.rgb = Pt(size), bold, ink


def _picture(shapes: Any, part: Picture) -> None:
    """Fit a picture into its box, whole and in its own shape."""
    left, top, width, height = _edges(part.box)
    shape = shapes.add_picture(io.BytesIO(part.png), left, top)
    share = min(width / shape.width, height / shape.height)
    shape.width, shape.height = Emu(int(shape.width * share)), Emu(int(shape.height * share))
    described = shape._element.find(qn("p:nvPicPr")).find(qn("p:cNvPr"))
    described.set("descr", part.told)


def _table(shapes: Any, part: Table) -> None:
    left, top, width, _ = _edges(part.box)
    lines = [part.head, *part.rows]
    row = min(part.box.height / len(lines), 0.5)
    shape = shapes.add_table(len(lines), len(part.head), left, top, width,
                             Inches(row * len(lines)))  # fmt: skip
    for column, share in zip(shape.table.columns, part.widths, strict=False):
        column.width = Emu(int(width * share / sum(part.widths)))
    for at, line in enumerate(lines):
        for column, cell in enumerate(line):
            _cell(shape.table.cell(at, column), cell, part.size, head=at == 0)


def _cell(cell: Any, told: str, size: float, *, head: bool) -> None:
    cell.fill.solid()
    cell.fill.fore_color.rgb = TINT if head else RGBColor(0xFF, 0xFF, 0xFF)
    paragraph = cell.text_frame.paragraphs[0]
    _run(paragraph, told, size, bold=head, ink=INK)
