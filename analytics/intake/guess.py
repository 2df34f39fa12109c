"""Guessing a mapping from a header and a sample of rows; what cannot be decided is refused."""

import re
from collections.abc import Mapping, Sequence
from itertools import permutations, zip_longest
from statistics import median
from typing import Any

from analytics.errors import InputRefused
from analytics.intake.clock import time_rule
from analytics.intake.header import SITE_NAMES, Meaning, meaning, meaning_under
from analytics.intake.known import Known
from analytics.intake.mapping import example
from analytics.intake.quantities import KINDS, RAW, SOIL
from analytics.intake.sheet import BLANKS
from analytics.intake.stamps import ISO
from analytics.intake.whose import matched, named, whose
from analytics.settings import Settings

MISSING = (-99, -999, -9999, -99999)
REMEDY = "Give a mapping with it (--mapping FILE)."
Rows = Sequence[Sequence[str | None]]


def guess_mapping(
    columns: Sequence[str],
    sample: Rows,
    file_name: str,
    known: Known,
    *,
    units: Sequence[str] = (),
    hints: Mapping[str, Any] | None = None,
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
    units : sequence of str
        The row of units beneath the header, where there is one.
    hints : mapping, optional
        The parts of a mapping that a person has decided: ``time``, ``site``, ``missing``,
        ``calibration`` (column name to curve).

    Raises
    ------
    InputRefused
        When time, site or a unit cannot be decided, or nothing is recognised.
    """
    hints = hints or {}
    values = {name: _column(sample, j) for j, name in enumerate(columns) if name}
    if not promising(columns):
        found = f"no column is a soil moisture or temperature at a depth ({', '.join(values)})."
        raise InputRefused(file_name, found, _mapping_like(columns))
    time, said = time_rule(columns, sample, file_name, hints.get("time", {}))
    meanings = {
        name: meaning_under(name, under)
        for name, under in zip_longest(columns, units[: len(columns)], fillvalue="")
        if name and name not in named(time)
    }
    meanings = _no_bare_beside_named(meanings)
    kept, twins = _first_of_each({k: v for k, v in meanings.items() if v is not None})
    others = {name: values[name] for name in meanings if meanings[name] is None}
    site = hints.get("site") or _site(others, len(sample), file_name, known)
    entries, notes = _with_units(kept, values, file_name, hints.get("calibration", {}))
    used = {*named(time), *named(site), *kept}
    if twins:
        pairs = ", ".join(f"{one} (as {other})" for one, other in twins)
        notes.append(f"Second columns of the same quantity and depth are not used: {pairs}.")
    return {
        "name": file_name,
        "time": time,
        "site": site,
        "missing": [*hints.get("missing", MISSING)],
        "columns": entries,
        "aside": [name for name in values if name not in used],
        "notes": [*said, *notes],
    }


def promising(columns: Sequence[str]) -> bool:
    """Tell from the names alone whether any column could be kept."""
    return any(meaning(name) for name in columns)


def _column(sample: Rows, place: int) -> list[str]:
    cells = [(row[place] or "").strip() for row in sample]
    return [one for one in cells if one not in BLANKS]


def _no_bare_beside_named(meanings: dict[str, Meaning | None]) -> dict[str, Meaning | None]:
    """Leave bare depths alone where other columns say that they are the soil's."""
    told = any(one and one.quantity in SOIL and not one.bare for one in meanings.values())
    return {name: None if told and one and one.bare else one for name, one in meanings.items()}


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
        one_only = all(len(ids) == 1 for ids in words.values())
        remedy = f"Import the sites first. {REMEDY}"
        raise whose(file_name, found, remedy, sites if one_only else [])
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
    kept: dict[str, Meaning],
    values: dict[str, list[str]],
    file_name: str,
    curves: Mapping[str, Any],
) -> tuple[list[dict[str, Any]], list[str]]:
    entries = []
    notes: dict[str, list[str]] = {}
    untold: dict[str, list[str]] = {}
    for name, one in kept.items():
        if one.unit is None:
            untold.setdefault(one.quantity, []).extend(values[name])
    _refuse_no_moisture(kept, values, file_name)
    numbers = {quantity: _numbers(cells) for quantity, cells in untold.items()}
    for name, one in kept.items():
        unit, why = one.unit, one.why
        if unit is None:
            told = numbers[one.quantity]
            unit, reason = _by_range(
                one.quantity, told, f"{file_name}, column {name!r}", [*values]
            )
            why = "; ".join(filter(None, [reason, why]))
        if "because" in why or "taken as" in why:
            notes.setdefault(why, []).append(name)
        depth = {} if one.depth_cm is None else {"depth_cm": one.depth_cm}
        entry = {"column": name, "quantity": one.quantity, **depth, "unit": unit, "why": why}
        entries.append(entry | _curve(name, unit, curves, file_name))
    return entries, [f"{', '.join(names)}: {why}." for why, names in notes.items()]


def _refuse_no_moisture(
    kept: dict[str, Meaning], values: dict[str, list[str]], file_name: str
) -> None:
    """Refuse columns that only a depth names where their values are no moisture's."""
    most = {"percent": 100.0 * Settings().fraction_to, "fraction": Settings().fraction_to}
    for name, one in kept.items():
        numbers = _numbers(values[name]) if one.bare else []
        if numbers and (
            min(numbers) < 0.0 or median(numbers) > most.get(one.unit or "percent", 0.0)
        ):
            span = f"values from {min(numbers):g} to {max(numbers):g}"
            found = f"its name is only a depth, and {span} are no soil moisture."
            where = f"{file_name}, column {name!r}"
            raise InputRefused(where, found, _mapping_like([*values]))


def _curve(name: str, unit: str, curves: Mapping[str, Any], file_name: str) -> dict[str, Any]:
    """Give a column of raw counts its curve, which no header tells."""
    if name in curves:
        return {"unit": RAW, "calibration": curves[name]}
    if unit != RAW:
        return {}
    where = f"{file_name}, column {name!r}"
    remedy = f'Give its curve: a mapping with {{"calibration": {{"{name}": [0.05, 0.0002]}}}}'
    remedy += ", from the constant term up (--mapping FILE)."
    raise InputRefused(where, "it holds raw counts, and nothing says what they mean.", remedy)


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


def _by_range(
    quantity: str, numbers: list[float], where: str, columns: Sequence[str]
) -> tuple[str, str]:
    """Decide a unit by the values, or refuse."""
    kind = KINDS[quantity]
    at = Settings()
    low, high = min(numbers, default=float("nan")), max(numbers, default=float("nan"))
    unit = ""
    if quantity == "vwc":
        whole = 100.0 * at.fraction_to  # a spike may lie above it, not the usual value
        unit = (
            "percent"
            if high >= at.percent_from and median(numbers) <= whole
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
    remedy = f"Put {some} into the name, or: {_mapping_like(columns)}"
    raise InputRefused(where, found, remedy)


def _mapping_like(columns: Sequence[str]) -> str:
    return f"Give a mapping with it (--mapping FILE), such as {example(columns)}."
