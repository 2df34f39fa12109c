"""How a logger writes its times: told from the cells, never guessed between day and month."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from statistics import median

from analytics.errors import LeftOpen
from analytics.intake.stamps import EPOCH_MS, EPOCH_S, ISO

COMPACT_DAY = "%Y%m%d"
CLOCK = (
    r"(?:(?P<gap>T|,?\s+)(?P<hm>\d{1,2}:\d{2})(?P<s>:\d{2})?(?P<part>\.\d{1,6})?"
    r"(?P<half>\s?[AaPp][Mm])?)?"
)
SHAPES = {
    "number": re.compile(
        r"(?P<a>\d{1,2})(?P<mark>[./-])(?P<b>\d{1,2})(?P=mark)(?P<y>\d{4}|\d{2})" + CLOCK
    ),
    "year": re.compile(
        r"(?P<y>\d{4})(?P<mark>[./-])(?P<a>\d{1,2})(?P=mark)(?P<b>\d{1,2})" + CLOCK
    ),
    "word": re.compile(
        r"(?P<a>\d{1,2})(?P<mark>[ /-])(?P<b>[A-Za-z]{3})(?P=mark)(?P<y>\d{4}|\d{2})" + CLOCK
    ),
}
COMPACT = re.compile(r"(19|20)\d{2}(0[1-9]|1[0-2])(0[1-9]|[12]\d|3[01])")
SECONDS, MILLISECONDS = re.compile(r"\d{9,10}(\.\d+)?"), re.compile(r"\d{12,13}(\.0+)?")
MONTHS = 12
STEP_SLACK = 1.5  # as of a gap
UTC_NAME = re.compile(
    r"\b(?:utc|gmt)\s*(?P<sign>[+-])?(?P<h>\d{1,2})?:?(?P<m>\d{2})?\b", re.IGNORECASE
)


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeForm:
    """A form of time; ``text`` is None for ISO 8601, ``note`` says what people should know."""

    text: str | None
    note: str = ""


def mostly(pattern: str | re.Pattern[str], cells: Sequence[str]) -> bool:
    """Tell whether more than half of the cells fit."""
    fits = sum(re.fullmatch(pattern, one) is not None for one in cells)
    return fits * 2 > len(cells)


def is_time(cells: Sequence[str]) -> bool:
    """Tell whether a column nobody named for it holds times."""
    return mostly(ISO, cells) or any(mostly(one, cells) for one in SHAPES.values())


def time_form(cells: Sequence[str], where: str) -> TimeForm | None:
    """Find the form of time cells.

    Parameters
    ----------
    cells : sequence of str
        Not blank.
    where : str
        The file and column, for the refusal.

    Returns
    -------
    TimeForm or None
        None where the cells are no form of time that is known.

    Raises
    ------
    LeftOpen
        When nothing in the cells tells the day from the month.
    """
    if not cells or mostly(ISO, cells):
        return TimeForm(text=None)
    if mostly(COMPACT, cells):
        return TimeForm(text=COMPACT_DAY)
    for form, pattern, unit in ((EPOCH_S, SECONDS, "s"), (EPOCH_MS, MILLISECONDS, "ms")):
        if mostly(pattern, cells):
            return TimeForm(text=form, note=f"Times are read as {unit} since 1970 in UTC.")
    for kind, pattern in SHAPES.items():
        found = [one for one in map(pattern.fullmatch, cells) if one]
        if len(found) * 2 > len(cells):
            return _formed(kind, found, where)
    return None


def clock_in(name: str) -> str | None:
    """Read a fixed clock off a column's name: ``Time (UTC)``, ``Date Time, GMT-06:00``."""
    found = UTC_NAME.search(name)
    if found is None:
        return None
    sign = found["sign"]
    return f"{sign}{int(found['h'] or 0):02d}:{found['m'] or '00'}" if sign else "+00:00"


def _formed(kind: str, found: list[re.Match[str]], where: str) -> TimeForm:
    one = Counter(_shape(match) for match in found).most_common(1)[0][0]
    mark, long, tail = one
    year = "%Y" if long else "%y"
    if kind == "year":
        return TimeForm(text=f"{year}{mark}%m{mark}%d{tail}")
    if kind == "word":
        return TimeForm(text=f"%d{mark}%b{mark}{year}{tail}")
    day_first = f"%d{mark}%m{mark}{year}{tail}"
    month_first = f"%m{mark}%d{mark}{year}{tail}"
    first = any(int(match["a"]) > MONTHS for match in found)
    second = any(int(match["b"]) > MONTHS for match in found)
    both, why = first and second, "only so are all of the file's days and months in range"
    if not first and not second:
        cells = [match[0] for match in found]
        first, second = _days_follow(cells, day_first), _days_follow(cells, month_first)
        why = "only so do the file's days follow one another at its own step"
    if first == second:
        raise _undecided(found[0][0], day_first, month_first, where, both=both)
    order = "day first" if first else "month first"
    note = f"Dates are read {order}: {why}."
    return TimeForm(text=day_first if first else month_first, note=note)


def _days_follow(cells: Sequence[str], form: str) -> bool:
    """Tell whether the next day ever comes a step of the file's own after the one before.

    Read with day and month in each other's place the next day is a month off.
    """
    times = [one for one in (_read(cell, form) for cell in cells) if one is not None]
    steps = [((after - before).total_seconds(), after.date() != before.date())
             for before, after in pairwise(times) if after > before]  # fmt: skip
    within = [seconds for seconds, crosses in steps if not crosses]
    if not within:
        return False
    longest = STEP_SLACK * median(within)
    return any(crosses and seconds <= longest for seconds, crosses in steps)


def _read(cell: str, form: str) -> datetime | None:
    try:
        return datetime.strptime(cell, form)  # noqa: DTZ007 - a wall time
    except ValueError:
        return None


def _shape(match: re.Match[str]) -> tuple[str, bool, str]:
    """Give the mark between the parts, whether the year is long, and the clock's form."""
    long = len(match["y"]) > len("24")
    if match["hm"] is None:
        return match["mark"], long, ""
    gap = match["gap"] if match["gap"].strip() else " "
    half = match["half"]
    tail = gap + ("%I:%M" if half else "%H:%M")
    tail += ":%S" if match["s"] else ""
    tail += ".%f" if match["part"] else ""
    tail += (" %p" if half and half[0].isspace() else "%p") if half else ""
    return match["mark"], long, tail


def _undecided(
    cell: str, day_first: str, month_first: str, where: str, *, both: bool
) -> LeftOpen:
    why = (
        f"some dates fit only day first and some only month first (the first says {cell!r})."
        if both
        else f"nothing in the file tells whether the day or the month comes first ({cell!r})."
    )
    remedy = (
        f'State it: put {{"time": {{"format": "{day_first}"}}}} for day first, or '
        f'"{month_first}" for month first, into a file and give it with --mapping FILE.'
    )
    answers = {
        f"{order} first{_as_told(cell, form)}": {"time": {"format": form}}
        for order, form in (("day", day_first), ("month", month_first))
    }
    return LeftOpen(where, why, remedy, "Which comes first in its dates?", answers)


def _as_told(cell: str, form: str) -> str:
    """Say which day a cell would be, where it is one."""
    day = _read(cell, form)
    return "" if day is None else f" ({cell} is {day.day} {day:%b} {day.year})"
