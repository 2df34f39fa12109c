"""How a wide logger file is read: guessed from its header, shown, edited and saved.

A mapping is plain JSON::

    {
      "name": "what people call this kind of file",
      "time": {"column": "date", "format": "%Y%m%d"},
      "site": {"column": "wban"},
      "missing": [-99, -9999, "ERR"],
      "columns": [
        {"column": "SMS:1:-2", "quantity": "vwc", "depth_cm": 5.08, "unit": "percent"},
        {"column": "port 2", "quantity": "vwc", "depth_cm": 30, "unit": "raw",
         "calibration": [-0.05, 0.00025], "gives": "fraction"}
      ],
      "aside": ["WDIRV:1:"],
      "notes": ["what a person should know about the guess"]
    }

``time``: ``column``, or ``columns`` with ``join``; ``format`` as ``strptime`` has it, or
``epoch s`` or ``epoch ms``, ISO 8601 when left out; ``clock`` of times without an offset:
``local`` (the site's zone with its summer time; when left out), ``standard`` (the zone's winter
time all year) or fixed, ``-06:00``.

``site``: ``column``; ``columns`` with ``join``; ``value`` (one site for the whole file); or
``"from": "file name"`` (the known site whose id the file's name holds, else the only one).

``quantity`` and ``unit``: see ``quantities.KINDS``; ``depth_cm`` is needed for ``vwc`` and
``soil_temp``. ``raw`` needs ``calibration``: a polynomial's coefficients from the constant term
up, or an object of site id to such a list; it gives the unit ``gives`` (fraction or C when left
out).

``name``, ``missing``, ``aside``, ``notes`` may be left out, and ``why`` of a column, which says
in words what the guess rests on.

A mapping without ``columns`` is laid over the guess: ``{"time": {"clock": "standard"}}``
decides only that. It may hold ``time``, ``site``, ``missing`` and ``calibration``, an object of
column name to curve.
"""

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from analytics.errors import InputRefused
from analytics.intake.calibration import MOST_TERMS, gives, is_curve
from analytics.intake.quantities import DEEPEST_CM, KINDS, RAW, SOIL
from analytics.intake.whose import named
from analytics.intake.zones import is_clock

HINTS = frozenset({"time", "site", "missing", "calibration", "name", "notes"})
CURVE = f"Give 2 to {MOST_TERMS} numbers from the constant term up, such as [-0.05, 0.00025]."


def example(columns: Sequence[str]) -> str:
    """Write a short mapping for a file with these columns, for a person to start from."""
    named_ones = [one for one in columns if one] or ["time"]
    column = {"column": named_ones[-1], "quantity": "vwc", "depth_cm": 30, "unit": "percent"}
    return json.dumps(
        {
            "time": {"column": named_ones[0]},
            "site": {"from": "file name"},
            "columns": [column],
        },
        ensure_ascii=False,
    )


def header_signature(columns: Sequence[str]) -> str:
    """Give a short sign by which a logger's next file is known: same names, same order."""
    plain = "\n".join(one.strip().casefold() for one in columns)
    return hashlib.sha256(plain.encode()).hexdigest()[:16]


def describe(mapping: Mapping[str, Any]) -> list[dict[str, str]]:
    """Tell a mapping as rows for people: column, quantity, depth, unit, why."""
    time, site = mapping["time"], mapping["site"]
    whose = " + ".join(named(site)) or str(site.get("value", "(file name)"))
    clock = f"clock: {time['clock']}" if "clock" in time else ""
    rows = [
        _row(" + ".join(named(time)), "time", unit=time.get("format", "ISO 8601"), why=clock),
        _row(whose, "site"),
    ]
    for one in mapping["columns"]:
        depth = f"{one['depth_cm']:g} cm" if "depth_cm" in one else ""
        label = KINDS[one["quantity"]].label
        why = "; ".join(filter(None, [_curve(one), one.get("why", "")]))
        rows.append(_row(one["column"], label, depth, one["unit"], why))
    return rows + [_row(one, "kept aside") for one in mapping.get("aside", ())]


def _curve(one: Mapping[str, Any]) -> str:
    """Say a calibration in words."""
    if one["unit"] != RAW:
        return ""
    curve = one["calibration"]
    if isinstance(curve, dict):
        return f"a curve for each of the sites {', '.join(curve)}, in {gives(one)}"
    terms = " + ".join(f"{c:g} x^{n}" if n else f"{c:g}" for n, c in enumerate(curve))
    return f"{gives(one)} = {terms}"


def is_hint(mapping: Mapping[str, Any]) -> bool:
    """Tell whether a mapping only decides parts of the guess."""
    return "columns" not in mapping and bool(mapping) and {*mapping} <= HINTS


def _row(
    column: str, quantity: str, depth: str = "", unit: str = "", why: str = ""
) -> dict[str, str]:
    return {"column": column, "quantity": quantity, "depth": depth, "unit": unit, "why": why}


def load_mapping(path: Path) -> dict[str, Any]:
    """Read a mapping from a JSON file.

    Raises
    ------
    InputRefused
        When the file is not JSON, or a part of the mapping is missing or unknown.
    """
    try:
        mapping = json.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as error:
        found = f"the mapping cannot be read ({error.strerror or error})."
        raise InputRefused(str(path), found, "Check the path given with --mapping.") from error
    except ValueError as error:
        found = f"this is not a mapping in JSON ({error})."
        raise InputRefused(
            path.name, found, "Start from the one that the program shows."
        ) from error
    return checked(mapping, path.name)


def checked(mapping: object, name: str) -> dict[str, Any]:
    """Refuse a mapping with its first problem; give it back when there is none."""
    if not isinstance(mapping, dict):
        found = "the mapping is not an object with time, site and columns."
        raise InputRefused(name, found, "Start from the one that the program shows.")
    look_for = _hint_problems if is_hint(mapping) else _problems
    for where, found, remedy in look_for(mapping):
        place = f"{name}, {where}"
        raise InputRefused(place, found, remedy)
    return mapping


def _hint_problems(mapping: dict[str, Any]) -> Iterator[tuple[str, str, str]]:
    for key in ("time", "site", "calibration"):
        if not isinstance(mapping.get(key, {}), dict):
            yield f"{key!r}", "it is not an object.", f'Write "{key}": {{...}}.'
            return
    yield from _clock_problems(mapping.get("time", {}))
    yield from _missing_problems(mapping)
    for name, curve in mapping.get("calibration", {}).items():
        if not is_curve(curve):
            yield f"column {name!r}", "its calibration is no curve.", CURVE


def _clock_problems(time: dict[str, Any]) -> Iterator[tuple[str, str, str]]:
    if not is_clock(time.get("clock", "local")):
        found = f"there is no clock {time['clock']!r}."
        yield "'time'", found, 'Use "local", "standard", or an offset such as "-06:00".'
    if not isinstance(time.get("format", ""), str):
        yield "'time'", "its format is not text.", 'Write it like "%d/%m/%Y %H:%M".'


def _missing_problems(mapping: dict[str, Any]) -> Iterator[tuple[str, str, str]]:
    if not isinstance(mapping.get("missing", []), list):
        yield "'missing'", "it is not a list.", 'Write "missing": [-9999, "ERR"].'


def _problems(mapping: dict[str, Any]) -> Iterator[tuple[str, str, str]]:
    for key in ("time", "site"):
        rule = mapping.get(key)
        if not isinstance(rule, dict) or not (
            named(rule)
            or (key == "site" and ("value" in rule or rule.get("from") == "file name"))
        ):
            yield (
                f"{key!r}",
                "it does not say which column.",
                f'Write "{key}": {{"column": NAME}}.',
            )
            return
    yield from _clock_problems(mapping["time"])
    yield from _missing_problems(mapping)
    columns = mapping.get("columns")
    if not isinstance(columns, list) or not columns:
        yield "'columns'", "it lists no column.", "Name at least one column."
        return
    taken: set[tuple[object, object]] = set()
    for place, one in enumerate(columns, start=1):
        if not isinstance(one, dict) or not isinstance(one.get("column"), str):
            yield f"column {place}", "it has no name.", 'Write "column": NAME.'
            return
        yield from _column_problems(one)
        key = (one.get("quantity"), one.get("depth_cm"))
        if key in taken:
            found = "its quantity and depth are given twice."
            yield f"column {one['column']!r}", found, "Leave one of the two aside."
        taken.add(key)


def _column_problems(one: dict[str, Any]) -> Iterator[tuple[str, str, str]]:
    where = f"column {one['column']!r}"
    kind = KINDS.get(one.get("quantity", ""))
    if kind is None:
        found = f"there is no quantity {one.get('quantity')!r}."
        yield where, found, f"Use one of: {', '.join(KINDS)}."
        return
    if one.get("unit") not in kind.units:
        found = f"{one.get('unit')!r} is no unit of {kind.label}."
        yield where, found, f"Use one of: {', '.join(kind.units)}."
    if one.get("unit") == RAW and not is_curve(one.get("calibration")):
        yield where, "raw counts need a calibration.", CURVE
    if one.get("unit") == RAW and one.get("gives", gives(one)) not in kind.units:
        found = f"its calibration cannot give {one['gives']!r}."
        yield where, found, f"Use one of: {', '.join(kind.units)}."
    depth = one.get("depth_cm")
    if one["quantity"] in SOIL and not _is_depth(depth):
        yield where, f"depth_cm is {depth!r}.", "Give the sensor's depth in cm, such as 30."


def _is_depth(depth: Any) -> bool:
    number = isinstance(depth, int | float) and not isinstance(depth, bool)
    return number and 0 <= depth <= DEEPEST_CM
