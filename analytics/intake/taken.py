"""What a readings file gave: the common outcome of the long and the wide reading."""

from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.errors import InputRefused
from analytics.intake.sheet import Sheet
from analytics.intake.sift import Check
from analytics.intake.stamps import Stamps, placed
from analytics.intake.zones import LOCAL
from analytics.model import Record, Times, no_gauge, nothing_replaced

STANDARD = (
    "If the logger keeps standard time all year, put "
    '{"time": {"clock": "standard"}} into its mapping.'
)
SKIPPED = f"Rows fall in the hour that the clock skips in spring. {STANDARD}"
ONCE = f"Rows pass once, without a gap, through the hour that the clock shows twice. {STANDARD}"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Taken:
    """Records, the rows that could not be taken, and the counts of both."""

    records: tuple[Record, ...]
    weather: pd.DataFrame | None
    rejects: pd.DataFrame
    notes: tuple[str, ...]
    rows_in: int
    rows_repeated: int
    rows_overruled: int = 0
    replaced: pd.DataFrame = field(default_factory=nothing_replaced)
    gauge: pd.DataFrame = field(default_factory=no_gauge)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Instants:
    """Rows in UTC: NaT where the row has no place in time, with the checks that say why."""

    utc: Times
    checks: list[Check]
    notes: list[str]


def groups(code: NDArray[np.int64]) -> dict[int, NDArray[np.intp]]:
    """Give the rows of each code that is not negative, in file order."""
    order = np.argsort(code, kind="stable")
    values, starts = np.unique(code[order], return_index=True)
    parts = np.split(order, starts[1:]) if len(order) else []
    return {int(v): rows for v, rows in zip(values, parts, strict=False) if v >= 0}


def instants(
    stamps: Stamps,
    code: NDArray[np.int64],
    zones: list[str],
    track: NDArray[np.int64],
    column: str,
    *,
    clock: str = LOCAL,
) -> Instants:
    """Place every row in time by its site's zone.

    Parameters
    ----------
    stamps : Stamps
        n rows.
    code : (n,) int
        Each row's place in ``zones``; -1 where the site is not known.
    zones : list of str
        IANA names.
    track : (n,) int
        As ``stamps.placed`` takes it.
    column : str
        The time column, for the rejects.
    clock : str
        As ``stamps.placed`` takes it.
    """
    utc = np.full(len(code), np.datetime64("NaT", "us"))
    never = np.zeros(len(code), dtype=bool)
    resolved, once = 0, False
    fit = ~(stamps.bad | stamps.blank)
    for site, rows in groups(np.where(fit, code, -1)).items():
        utc[rows], never[rows], count, through = placed(stamps, zones[site], rows, track, clock)
        resolved, once = resolved + count, once or through
    utc[never] = np.datetime64("NaT")
    checks = [
        Check(bad=stamps.blank, column=column, reason="the row has no time"),
        Check(bad=stamps.bad, column=column, reason="not a date or time of the calendar"),
        Check(bad=never, column=column, reason="the clock skipped this hour in spring"),
    ]
    notes = [_told_apart(resolved)] if resolved else []
    notes += [SKIPPED] if never.any() else [ONCE] if once else []
    return Instants(utc=utc, checks=checks, notes=notes)


def _told_apart(rows: int) -> str:
    """Say how many rows of a doubled hour were placed by their order."""
    fall, were = ("row falls", "it was") if rows == 1 else ("rows fall", "they were")
    return (
        f"{rows} {fall} in the hour that the clock shows twice in autumn; {were} told apart by "
        f"{'its' if rows == 1 else 'their'} order in the file."
    )


def refuse_if_nothing(sheet: Sheet, taken: int, rejects: pd.DataFrame) -> None:
    """Refuse a file of which not one row could be taken."""
    if taken:
        return
    if rejects.empty:
        raise InputRefused(sheet.name, "there is a header but not one row.", "Export it again.")
    first = rejects.iloc[0]
    where = f"{sheet.name}, row {first['line']}"
    where += f", column {first['column']!r}" if first["column"] else ""
    found = f"not one row can be taken: {first['reason']} ({first['value']!r}), and so on."
    raise InputRefused(where, found, "Check the columns, or give a mapping that fits the file.")


def refuse_if_blank(name: str, records: tuple[Record, ...], *, weather: bool) -> None:
    """Refuse a file whose every reading is missing."""
    read = any(np.isfinite(one.theta).any() or np.isfinite(one.temp_c).any() for one in records)
    if not read and not weather:
        found = "it holds no reading: every moisture and temperature is missing."
        raise InputRefused(name, found, "Check that the probe was connected, or the mapping.")
