"""Parting the rows that can be taken from those that cannot, each with one reason."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.intake.sheet import Sheet
from analytics.model import Bools

KEY_JOIN = " + "
COLUMNS = ["line", "column", "value", "reason"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Check:
    """Rows that fail in ``column``, and why."""

    bad: Bools
    column: str
    reason: str


def sift(sheet: Sheet, checks: list[Check]) -> tuple[Bools, pd.DataFrame]:
    """Split rows into taken and rejected.

    A row that fails several checks is told once, by the first.

    Returns
    -------
    taken : (n,) bool
    rejects : DataFrame
        line, column, value, reason; by line; one row a rejected row of the file.
    """
    taken = np.ones(sheet.table.num_rows, dtype=bool)
    told: list[tuple[int, str, str, str]] = list(sheet.ragged)
    for check in checks:
        rows = np.flatnonzero(taken & check.bad)
        taken[rows] = False
        values = _values(sheet, check.column, rows)
        lines = sheet.lines[rows].tolist()
        told += [
            (line, check.column, value, check.reason)
            for line, value in zip(lines, values, strict=True)
        ]
    rejects = pd.DataFrame(sorted(told), columns=pd.Index(COLUMNS))
    return taken, rejects


def _values(sheet: Sheet, column: str, rows: NDArray[np.intp]) -> list[str]:
    """Give what stands in the rows; of a key made of several columns, all of them."""
    if not len(rows):
        return []
    parts = [one for one in column.split(KEY_JOIN) if one in sheet.table.column_names]
    cells = [sheet.table.column(one).take(rows).to_pylist() for one in parts]
    if not cells:
        return [""] * len(rows)
    return [
        " ".join("" if one is None else str(one) for one in row)
        for row in zip(*cells, strict=True)
    ]
