"""Excel workbooks: one sheet read row by row, every cell as the text that a CSV would hold.

Numbers keep all their digits, dates and times become ISO 8601; a date shown without a clock
is a day. Formulas give the value that was last worked out.
"""

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, time, timedelta
from itertools import islice
from pathlib import Path
from typing import Any

from analytics.errors import InputRefused
from analytics.intake.layout import JUDGED_ROWS, Layout, by_cells, named_score

HALF_SECOND = timedelta(milliseconds=500)


def look_into(path: Path) -> tuple[str, Layout]:
    """Find the sheet that holds the table, and its layout.

    Returns
    -------
    sheet : str
    layout : Layout

    Raises
    ------
    InputRefused
        When no sheet holds rows, or more than one could be meant.
    """
    found: dict[str, Layout] = {}
    with _book(path) as book:
        for sheet in book.worksheets:
            layout = by_cells([row for _, row in islice(_rows(sheet), JUDGED_ROWS)])
            if layout is not None and len(layout.columns) > 1:
                found[sheet.title] = layout
    named = [one for one in found if named_score(found[one].columns)]
    chosen = named or list(found)
    if len(chosen) == 1:
        return chosen[0], found[chosen[0]]
    if not chosen:
        raise InputRefused(path.name, "no sheet of the workbook holds a table.", "Check it.")
    said = f"{len(chosen)} sheets could be meant ({', '.join(chosen)})."
    raise InputRefused(path.name, said, "Save the one that is meant as a file of its own.")


def rows(path: Path, sheet: str, skip: int) -> Iterator[tuple[int, list[str]]]:
    """Yield a sheet's rows below ``skip``, each with its number; blank ones are no rows."""
    with _book(path) as book:
        for line, row in _rows(book[sheet]):
            if line > skip and any(row):
                yield line, row


@contextmanager
def _book(path: Path) -> Iterator[Any]:
    from openpyxl import load_workbook  # noqa: PLC0415 - slow to load, and few need it

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # styles and print areas are nothing to us
            book = load_workbook(path, read_only=True, data_only=True)
            try:
                yield book
            finally:
                book.close()
    except InputRefused:
        raise
    except Exception as error:
        found = "this cannot be read as an Excel workbook (damaged, locked, or another format)."
        raise InputRefused(path.name, found, "Save it again as .xlsx, or as CSV.") from error


def _rows(sheet: Any) -> Iterator[tuple[int, list[str]]]:
    sheet.reset_dimensions()  # what a logger's export says of its own size is often wrong
    for line, row in enumerate(sheet.iter_rows(), start=1):
        yield line, [_text(cell) for cell in row]


def _text(cell: Any) -> str:
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, datetime):
        shown = (value + HALF_SECOND).replace(microsecond=0)  # a day's fraction is inexact
        return (
            shown.isoformat() if "h" in str(cell.number_format).lower() else f"{shown:%Y-%m-%d}"
        )
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, date | time):
        return value.isoformat()
    return str(value).strip()
