"""How a text table is laid out: its marks, its header line, the units row beneath.

A logger writes lines about itself above the header, separates by what its country's
spreadsheets expect, and may put the units in a row of their own. The header is the line with
the most names that we know; where none is known, the first line that is not blank.
"""

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass

from analytics.contract import PEOPLE, READINGS
from analytics.intake.header import DATE_PARTS, SITE_NAMES, TIME_NAMES, meaning, unit_word

DELIMITERS = (",", "\t", ";", "|")
SPACES = " "  # any run of blanks
HEADER_WITHIN = 100  # lines; a preamble longer than this is no preamble; ours
JUDGED_ROWS = 200
TABLE_NAMES = frozenset(name for one in (*PEOPLE, READINGS) for name in one.names)
KNOWN_NAMES = TABLE_NAMES | {*TIME_NAMES, *SITE_NAMES, *DATE_PARTS}
LINE_END = re.compile(r"\r\n|\n|\r")
COMMA_DECIMAL = re.compile(r"\s*[+-]?\d*,\d+\s*")
POINT_DECIMAL = re.compile(r"\s*[+-]?\d*\.\d+\s*")
HOW_MADE = {"smp", "avg", "min", "max", "tot", "std", "med", "sample", "average", "total", ""}


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Where the table starts and what parts its cells.

    Attributes
    ----------
    columns : tuple of str
        The header.
    units : tuple of str
        The row of units beneath it, empty where there is none.
    skip : int
        Lines of the file above the first row of data.
    header_line : int
        The header's line, from 1.
    """

    columns: tuple[str, ...]
    delimiter: str = ","
    decimal: str = "."
    units: tuple[str, ...] = ()
    header_line: int = 1
    skip: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class _Header:
    place: int
    delimiter: str
    cells: tuple[str, ...]
    score: int


def cells_of(line: str, delimiter: str) -> list[str]:
    """Part one line; within quotes a delimiter is none."""
    if delimiter == SPACES:
        return line.split()
    return next(csv.reader([line], delimiter=delimiter), [])


def find(lines: Sequence[str]) -> Layout | None:
    """Find the layout of a table from its first lines.

    Parameters
    ----------
    lines : sequence of str
        Whole lines from the start of the file.

    Returns
    -------
    Layout or None
        None where every line is blank.
    """
    header = _header(lines)
    if header is None:
        return None
    beneath = lines[header.place + 1 :][:JUDGED_ROWS]
    below = [cells_of(line, header.delimiter) for line in beneath]
    units, more = _units(header.cells, below)
    rows = below[more:]
    return Layout(
        columns=_trailing(header.cells, rows),
        delimiter=header.delimiter,
        decimal=_decimal(rows),
        units=units,
        header_line=header.place + 1,
        skip=header.place + 1 + more,
    )


def by_cells(rows: Sequence[Sequence[str]]) -> Layout | None:
    """Do the same for rows that are parted already (a spreadsheet)."""
    scored = [(named_score(row), -place) for place, row in enumerate(rows[:HEADER_WITHIN])]
    filled = [place for place, row in enumerate(rows) if any(row)]
    if not filled:
        return None
    best, back = max(scored, default=(0, 0))
    place = -back if best else filled[0]
    columns = tuple(one.strip() for one in rows[place])
    while columns and not columns[-1]:
        columns = columns[:-1]
    units, more = _units(columns, [list(row) for row in rows[place + 1 : place + 4]])
    return Layout(columns=columns, units=units, header_line=place + 1, skip=place + 1 + more)


def _header(lines: Sequence[str]) -> _Header | None:
    shown = [place for place, line in enumerate(lines[:HEADER_WITHIN]) if line.strip()]
    if not shown:
        return None
    tried = [
        _Header(place=place, delimiter=mark, cells=cells, score=named_score(cells))
        for place in shown
        for mark in _marks(lines[place])
        if (cells := tuple(one.strip() for one in cells_of(lines[place], mark)))
    ]
    known = [one for one in tried if one.score]
    first = [one for one in tried if one.place == shown[0]]
    return max(known or first, key=lambda one: (one.score, len(one.cells), -one.place))


def _marks(line: str) -> tuple[str, ...]:
    there = tuple(mark for mark in DELIMITERS if mark in line)
    return there or (",", SPACES)


def named_score(cells: Sequence[str]) -> int:
    """Count the different names that are known."""
    names = {one.strip() for one in cells if any(map(str.isalpha, one))}
    return sum(one.lower() in KNOWN_NAMES or meaning(one) is not None for one in names)


def _units(
    columns: Sequence[str], beneath: Sequence[Sequence[str]]
) -> tuple[tuple[str, ...], int]:
    """Give the units row and how many rows beneath the header are not data."""
    if not beneath or not any(meaning(one) for one in columns):
        return (), 0
    row = [one.strip() for one in beneath[0]]
    said = [one for one in row if one]
    units = sum(unit_word(one) is not None for one in said)
    if not units or any(re.match(r"[+-]?\.?\d", one) for one in said):
        return (), 0
    more = 1
    if len(beneath) > 1 and all(one.strip().lower() in HOW_MADE for one in beneath[1]):
        more += any(one.strip() for one in beneath[1])
    return tuple(row[: len(columns)]), more


def _trailing(columns: tuple[str, ...], rows: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """Add a name for the blank column that a delimiter at every row's end makes."""
    filled = [row for row in rows if any(one.strip() for one in row)]
    longer = len(columns) + 1
    if filled and all(len(row) == longer and not row[-1].strip() for row in filled):
        return (*columns, "")
    return columns


def _decimal(rows: Sequence[Sequence[str]]) -> str:
    cells = [one for row in rows for one in row]
    if not any("," in one for one in cells):
        return "."
    commas = sum(COMMA_DECIMAL.fullmatch(one) is not None for one in cells)
    points = sum(POINT_DECIMAL.fullmatch(one) is not None for one in cells)
    return "," if commas > points else "."
