"""The people's tables: typed by the contract; one bad value refuses the whole file."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from zoneinfo import available_timezones

import numpy as np
import pandas as pd

from analytics.contract import Column, Table
from analytics.errors import InputRefused
from analytics.intake import cells
from analytics.intake.known import Known
from analytics.intake.otherunits import in_unit
from analytics.intake.sheet import Sheet
from analytics.model import Bools

REMEDIES = {
    "number": "Write a plain number, such as 12.5.",
    "date": "Write a day of the calendar as year-month-day, such as 2024-11-05.",
    "text": "Fill it in.",
}
ROUNDING = 1.0  # %, by which parts that a laboratory rounded may miss the whole
# The second may not come before, or lie below, the first.
ORDERED = {
    "sources": (("available_from", "available_until"),),
    "sites": (("installed_on", "removed_on"),),
    "layers": (
        ("top_cm", "bottom_cm"),
        ("lower", "full"),
        ("lower", "refill"),
        ("refill", "full"),
    ),
    "seasons": (("planted_on", "harvested_on"), ("planted_on", "emerged_on")),
    "weather": (("tmin_c", "tmax_c"),),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One value that refuses the file."""

    line: int
    column: str
    found: str
    remedy: str


def require(name: str, table: Table, columns: tuple[str, ...]) -> None:
    """Refuse a header that lacks a column the table needs."""
    lacking = [one.name for one in table.columns if one.required and one.name not in columns]
    if lacking:
        where = f"{name}, column {lacking[0]!r}"
        found = f"the table {table.name!r} needs it, but the header says {', '.join(columns)}."
        remedy = f"Add or rename the column ({', '.join(lacking)})."
        raise InputRefused(where, found, remedy)


def typed(sheet: Sheet, table: Table, known: Known) -> pd.DataFrame:
    """Check every value of a people's table.

    Parameters
    ----------
    sheet : Sheet
        Its columns carry the contract's names; others are left aside.
    table : Table
    known : Known
        Sites and fields that rows may refer to.

    Returns
    -------
    DataFrame
        All columns of the contract but shapes: text ``str``, numbers float (NaN missing),
        dates datetime64[us] (NaT missing).

    Raises
    ------
    InputRefused
        With the first problem (by row) and the count of the others.
    """
    problems = [
        Problem(line=line, column=column, found=f"{reason}.", remedy="Mend the row.")
        for line, column, _, reason in sheet.ragged
    ]
    frame = pd.DataFrame(index=range(sheet.table.num_rows))
    for column in table.columns:
        if column.kind != "shape":
            values, found = _column(sheet, column)
            frame[column.name] = values
            problems += found
    for check in (_references, _zones, _order, _shares, _repeats):
        problems += check(sheet, table, frame, known)
    refuse_all(sheet.name, problems)
    return frame


def refuse_all(name: str, problems: list[Problem]) -> None:
    """Raise the first problem, with how many stand behind it."""
    if not problems:
        return
    first = min(problems, key=lambda one: one.line)
    where = f"{name}, row {first.line}" + (f", column {first.column!r}" if first.column else "")
    others = len(problems) - 1
    more = f" ({others} more problem{'s' * (others > 1)} in this file.)" if others else ""
    raise InputRefused(where, first.found, first.remedy + more)


def _column(sheet: Sheet, column: Column) -> tuple[pd.Series, list[Problem]]:
    rows = sheet.table.num_rows
    if column.name not in sheet.table.column_names:
        kind = {"text": "str", "number": "float64"}.get(column.kind, "datetime64[us]")
        return pd.Series([None] * rows, dtype=kind), []
    given = sheet.table.column(column.name)
    if column.kind == "number":
        numbers, bad = cells.numbers(given)
        values = pd.Series(numbers)
    elif column.kind == "date":
        dates, bad = cells.days(given)
        values = pd.Series(dates.astype("datetime64[us]"))
    else:
        values = pd.Series(cells.texts(given).to_pylist(), dtype="str")
        bad = np.zeros(rows, dtype=bool)
    return values, list(_faults(sheet, column, values, bad))


def _faults(sheet: Sheet, column: Column, values: pd.Series, bad: Bools) -> Iterator[Problem]:
    tell = partial(_tell, sheet, column.name)
    remedy = REMEDIES[column.kind]
    yield from tell(bad, f"{{!r}} is not a {column.kind}.", remedy)
    if column.required:
        yield from tell(values.isna().to_numpy() & ~bad, "the value is missing.", remedy)
    if column.low is not None and column.high is not None:
        outside = (values < column.low) | (values > column.high)
        span = f"Give a value from {column.low:g} to {column.high:g}{in_unit(column)}."
        yield from tell(outside.to_numpy(), "{!r} is out of range.", span)
    if column.choices:
        other = values.notna() & ~values.isin(column.choices)
        choose = f"Use one of: {', '.join(column.choices)}."
        yield from tell(other.to_numpy(), "{!r} is not known here.", choose)


def _tell(sheet: Sheet, column: str, bad: Bools, found: str, remedy: str) -> Iterator[Problem]:
    for row in np.flatnonzero(bad):
        value = sheet.table.column(column)[int(row)].as_py()
        line = int(sheet.lines[row])
        yield Problem(line=line, column=column, found=found.format(value), remedy=remedy)


def _references(sheet: Sheet, table: Table, frame: pd.DataFrame, known: Known) -> list[Problem]:
    """Find rows that speak of a field or site nobody told us about."""
    problems: list[Problem] = []
    for column, ids in (("field", known.fields), ("site", frozenset(known.sites))):
        if column not in frame or table.name == f"{column}s":
            continue  # the table that names them
        strange = (frame[column].notna() & ~frame[column].isin(ids)).to_numpy()
        remedy = f"Import the {column} first, or correct the id."
        problems += _tell(sheet, column, strange, f"there is no {column} {{!r}}.", remedy)
    return problems


def _zones(sheet: Sheet, _table: Table, frame: pd.DataFrame, _known: Known) -> list[Problem]:
    if "timezone" not in frame:
        return []
    zone = frame["timezone"]
    strange = (zone.notna() & ~zone.isin(available_timezones())).to_numpy()
    remedy = "Use a name of the IANA database, such as America/Chicago."
    return list(_tell(sheet, "timezone", strange, "there is no timezone {!r}.", remedy))


def _order(sheet: Sheet, table: Table, frame: pd.DataFrame, _known: Known) -> list[Problem]:
    problems: list[Problem] = []
    for low, high in ORDERED.get(table.name, ()):
        wrong = (frame[high] < frame[low]).to_numpy()
        remedy = f"Check both {low} and {high}."
        problems += _tell(sheet, high, wrong, f"{{!r}} comes before {low}.", remedy)
    return problems


def _shares(sheet: Sheet, table: Table, frame: pd.DataFrame, _known: Known) -> list[Problem]:
    """Find layers whose sand, silt and clay are not the whole of the soil."""
    if table.name != "layers":
        return []
    parts = frame[["sand", "silt", "clay"]]
    whole = parts.sum(axis=1, skipna=False)
    wrong = ((whole - 100.0).abs() > ROUNDING).to_numpy()
    found = "sand, silt and clay do not make 100 % (clay: {!r})."
    column = next(
        (one for one in ("clay", "silt", "sand") if one in sheet.table.column_names), ""
    )
    return list(_tell(sheet, column, wrong, found, "Correct them, or leave all three out."))


def _repeats(sheet: Sheet, table: Table, frame: pd.DataFrame, _known: Known) -> list[Problem]:
    key = list(table.key)
    again = frame.duplicated(key).to_numpy()
    problems: list[Problem] = []
    for row in np.flatnonzero(again):
        same = (frame[key].iloc[row].isna() & frame[key].isna()) | (
            frame[key] == frame[key].iloc[row]
        )
        first = int(sheet.lines[int(np.flatnonzero(same.all(axis=1))[0])])
        said = ", ".join(str(one) for one in frame[key].iloc[row].fillna("blank"))
        found = f"{' + '.join(key)} {said} already stands in row {first}."
        line = int(sheet.lines[row])
        problems.append(
            Problem(line=line, column=key[0], found=found, remedy="Keep one of the two rows.")
        )
    return problems
