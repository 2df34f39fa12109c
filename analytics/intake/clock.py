"""Which column is the time of a logger's file, in which form, by which clock."""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from analytics.errors import InputRefused
from analytics.intake.forms import UTC_NAME, clock_in, is_time, mostly, time_form
from analytics.intake.header import BRACKETS, DATE_PARTS, TIME_NAMES
from analytics.intake.sheet import BLANKS
from analytics.intake.whose import named

CLOCK_ONLY = r"\d{1,2}:\d{2}(:\d{2})?(\s?[AaPp][Mm])?"
REMEDY = "Give a mapping with it (--mapping FILE)."
Rows = Sequence[Sequence[str | None]]


def time_rule(
    columns: Sequence[str], sample: Rows, file_name: str, hint: Mapping[str, Any]
) -> tuple[dict[str, Any], list[str]]:
    """Find a mapping's ``time`` rule.

    Parameters
    ----------
    columns : sequence of str
        The header.
    sample : rows of text
    file_name : str
    hint : mapping
        What a person has decided of it: ``column`` or ``columns``, ``format``, ``clock``.

    Returns
    -------
    rule : dict
    notes : list of str

    Raises
    ------
    InputRefused
        When no column is the time, its form is not known, or day and month cannot be told.
    """
    rule = {key: hint[key] for key in ("column", "columns", "join") if key in hint}
    rule = rule or _columns(columns, sample, file_name)
    whose = named(rule)
    clock = hint.get("clock") or next(filter(None, map(clock_in, whose)), None)
    notes = []
    if "format" in hint:
        rule = {**rule, "format": hint["format"]}
    elif "format" not in rule:
        form, notes = _form(rule, columns, sample, file_name)
        rule = {**rule, **form}
    if clock and clock != hint.get("clock"):
        notes = [*notes, f"Times are read as UTC{clock}, because the column's name says so."]
    return rule | ({"clock": clock} if clock else {}), notes


def _form(
    rule: dict[str, Any], columns: Sequence[str], sample: Rows, file_name: str
) -> tuple[dict[str, Any], list[str]]:
    cells = _cells(rule, columns, sample)
    where = f"{file_name}, column {' + '.join(named(rule))!r}"
    form = time_form(cells, where)
    if form is None:
        found = f"the times are in no form that is known here ({cells[0]!r})."
        remedy = (
            'Say it in strptime\'s letters: a mapping with {"time": {"format": "%Y.%m.%d"}}'
        )
        raise InputRefused(where, found, f"{remedy} (--mapping FILE).")
    told = {} if form.text is None else {"format": form.text}
    return told, [form.note] if form.note else []


def _columns(columns: Sequence[str], sample: Rows, file_name: str) -> dict[str, Any]:
    bare = {_bare(name): name for name in columns if name}
    if all(one in bare for one in DATE_PARTS):
        parts = [bare[one] for one in DATE_PARTS]
        return {"columns": parts, "join": "-", "format": "%Y-%m-%d"}
    if {"date", "time"} <= {*bare}:
        clock = _cells({"column": bare["time"]}, columns, sample)
        if mostly(CLOCK_ONLY, clock):
            return {"columns": [bare["date"], bare["time"]], "join": " "}
    hits = [bare[one] for one in TIME_NAMES if one in bare]
    hits = hits or [n for n in columns if n and is_time(_cells({"column": n}, columns, sample))]
    if not hits:
        said = ", ".join(filter(None, columns))
        found = f"no column is the time of the readings ({said})."
        raise InputRefused(file_name, found, REMEDY)
    return {"column": hits[0]}


def _bare(name: str) -> str:
    """Take away what a name says of units or clock."""
    plain = UTC_NAME.sub(" ", BRACKETS.sub(" ", name.lower()))
    return re.sub(r"\s+", " ", plain).strip(" ,:;_-")


def _cells(rule: Mapping[str, Any], columns: Sequence[str], sample: Rows) -> list[str]:
    """Give the sample's time cells that are not blank, joined as the rule says."""
    whose = named(rule)
    if any(one not in columns for one in whose):
        return []
    places = [columns.index(one) for one in whose]
    rows = ([(row[place] or "").strip() for place in places] for row in sample)
    join = str(rule.get("join", " "))
    return [join.join(row) for row in rows if all(one not in BLANKS for one in row)]
