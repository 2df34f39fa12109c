"""Guessing a mapping from a header and a sample of rows; what cannot be decided is refused."""

import re
from collections.abc import Sequence
from itertools import permutations
from typing import Any

from analytics.errors import InputRefused
from analytics.intake.header import Meaning, meaning
from analytics.intake.known import Known
from analytics.intake.quantities import KINDS, SOIL
from analytics.intake.sheet import BLANKS
from analytics.intake.stamps import ISO
from analytics.intake.whose import matched, named
from analytics.settings import Settings

TIME_NAMES = (
    "time",
    "timestamp",
    "datetime",
    "date_time",
    "date time",
    "date",
    "lst_date",
    "day",
)
SITE_NAMES = ("site", "site_id", "probe", "probe_id", "station", "wban", "wbanno", "logger")
MISSING = (-99, -999, -9999, -99999)
COMPACT_DAY = "%Y%m%d"
REMEDY = "Give a mapping with it (--mapping FILE)."
Rows = Sequence[Sequence[str | None]]


def guess_mapping(
    columns: Sequence[str], sample: Rows, file_name: str, known: Known
) -> dict[str, Any]:
    """Guess how a wide logger file is read.

    Parameters
    ----------
    columns : sequence of str
        The header.
    sample : rows of text
        From every part of the file: units that no name gives are told from their range.
    file_name : str
    known : Known

    Raises
    ------
    InputRefused
        When time, site or a unit cannot be decided, or nothing is recognised.
    """
    values = {name: _column(sample, j) for j, name in enumerate(columns) if name}
    if not promising(columns):
        found = f"no column is a soil moisture or temperature at a depth ({', '.join(values)})."
        raise InputRefused(file_name, found, REMEDY)
    time = _time(values, file_name)
    meanings = {name: meaning(name) for name in values if name not in named(time)}
    kept, twins = _first_of_each({k: v for k, v in meanings.items() if v is not None})
    others = [name for name in meanings if meanings[name] is None]
    site = _site({name: values[name] for name in others}, len(sample), file_name, known)
    entries, notes = _with_units(kept, values, file_name)
    used = {*named(time), *named(site), *kept}
    if twins:
        pairs = ", ".join(f"{one} (as {other})" for one, other in twins)
        notes.append(f"Second columns of the same quantity and depth are not used: {pairs}.")
    return {
        "name": file_name,
        "time": time,
        "site": site,
        "missing": list(MISSING),
        "columns": entries,
        "aside": [name for name in values if name not in used],
        "notes": notes,
    }


def promising(columns: Sequence[str]) -> bool:
    """Tell from the names alone whether any column could be kept."""
    return any(meaning(name) for name in columns)


def _column(sample: Rows, place: int) -> list[str]:
    cells = [(row[place] or "").strip() for row in sample]
    return [one for one in cells if one not in BLANKS]


def _time(values: dict[str, list[str]], file_name: str) -> dict[str, Any]:
    lower = {name.lower(): name for name in values}
    if "date" in lower and _mostly(
        r"\d{1,2}:\d{2}(:\d{2})?", values.get(lower.get("time", ""), [])
    ):
        return {"columns": [lower["date"], lower["time"]], "join": " "}
    hits = [lower[one] for one in TIME_NAMES if one in lower]
    hits += [name for name in values if _mostly(ISO, values[name])]
    if not hits:
        found = f"no column is the time of the readings ({', '.join(values)})."
        raise InputRefused(file_name, found, REMEDY)
    column = hits[0]
    if not values[column] or _mostly(ISO, values[column]):
        return {"column": column}
    if _mostly(r"(19|20)\d{6}", values[column]):
        return {"column": column, "format": COMPACT_DAY}
    found = f"the times are not written as ISO 8601 ({values[column][0]!r})."
    remedy = 'Give a mapping with "time": {"column": ..., "format": ...} (--mapping FILE).'
    where = f"{file_name}, column {column!r}"
    raise InputRefused(where, found, remedy)


def _mostly(pattern: str, cells: list[str]) -> bool:
    fits = sum(re.fullmatch(pattern, one) is not None for one in cells)
    return fits * 2 > len(cells)


def _first_of_each(
    meanings: dict[str, Meaning],
) -> tuple[dict[str, Meaning], list[tuple[str, str]]]:
    """Keep the first column of each quantity and depth; pair the others with it."""
    first: dict[tuple[str, float | None], str] = {}
    twins = []
    for name, one in meanings.items():
        key = (one.quantity, one.depth_cm)
        if key in first:
            twins.append((name, first[key]))
        else:
            first[key] = name
    return {name: meanings[name] for name in first.values()}, twins


def _site(
    values: dict[str, list[str]], rows: int, file_name: str, known: Known
) -> dict[str, Any]:
    """Find the site: a column named for it, one that holds known ids, else the file's name."""
    sites = list(known.sites)
    hits = [name for name in values if name.lower() in SITE_NAMES]
    fitting = [
        name
        for name, cells in values.items()
        if sum(matched(one, sites) is not None for one in cells) * 2 > len(cells)
    ]
    # A column that is named for it counts even where the sample shows other stations only.
    if chosen := [*[one for one in hits if one in fitting], *hits, *fitting]:
        return {"column": chosen[0]}
    # Ids stand in most rows; a remark does not.
    words = {
        name: {*cells}
        for name, cells in values.items()
        if len(cells) * 2 > rows and _is_word(cells[0])
    }
    for one, other in permutations(words, 2):
        for join in ("-", "_", " ", ""):
            if _compose(words[one], join, words[other], sites):
                return {"columns": [one, other], "join": join}
    if words and not any(one.lower() in file_name.lower() for one in sites):
        found = f"no column holds a known site id, but {', '.join(words)} may say which it is."
        raise InputRefused(file_name, found, f"Import the sites first. {REMEDY}")
    return {"from": "file name"}


def _compose(first: set[str], join: str, second: set[str], sites: list[str]) -> bool:
    """Tell whether a first and a second word, joined, make any known id."""
    return any(
        one.startswith(f"{word}{join}") and one[len(word) + len(join) :] in second
        for one in sites
        for word in first
    )


def _is_word(cell: str) -> bool:
    return re.search(r"[A-Za-z]", cell) is not None and not re.fullmatch(ISO, cell)


def _with_units(
    kept: dict[str, Meaning], values: dict[str, list[str]], file_name: str
) -> tuple[list[dict[str, Any]], list[str]]:
    entries = []
    notes: dict[str, list[str]] = {}
    for name, one in kept.items():
        unit, why = one.unit, one.why
        if unit is None:
            alike = [
                k for k, v in kept.items() if v.quantity == one.quantity and v.unit is None
            ]
            numbers = _numbers([cell for k in alike for cell in values[k]])
            unit, reason = _by_range(one.quantity, numbers, f"{file_name}, column {name!r}")
            why = "; ".join(filter(None, [reason, why]))
        if "because" in why or "taken as" in why:
            notes.setdefault(why, []).append(name)
        depth = {} if one.depth_cm is None else {"depth_cm": one.depth_cm}
        entries.append(
            {"column": name, "quantity": one.quantity, **depth, "unit": unit, "why": why}
        )
    return entries, [f"{', '.join(names)}: {why}." for why, names in notes.items()]


def _numbers(cells: list[str]) -> list[float]:
    numbers = []
    for cell in cells:
        try:
            number = float(cell)
        except ValueError:
            continue
        if number not in MISSING:
            numbers.append(number)
    return numbers


def _by_range(quantity: str, numbers: list[float], where: str) -> tuple[str, str]:
    """Decide a unit by the values, or refuse."""
    kind = KINDS[quantity]
    at = Settings()
    low, high = min(numbers, default=float("nan")), max(numbers, default=float("nan"))
    unit = ""
    if quantity == "vwc":
        unit = (
            "percent"
            if high >= at.percent_from
            else "fraction"
            if high <= at.fraction_to
            else ""
        )
    elif "F" in kind.units:
        cold = quantity in SOIL and low < at.celsius_below
        unit = "F" if high >= at.fahrenheit_from else "C" if cold else ""
    if unit:
        shown = f"fall to {low:g}" if unit == "C" else f"reach {high:g}"
        return unit, f"{unit}, because values {shown}"
    span = f"values from {low:g} to {high:g}" if numbers else "no value in the sample"
    found = f"the unit of {kind.label} cannot be told from its name or its values ({span})."
    some = " or ".join(list(kind.units)[:2])
    raise InputRefused(
        where, found, f"Put {some} into the name, or give a mapping (--mapping FILE)."
    )
