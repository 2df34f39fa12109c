"""Which site each row belongs to."""

import re
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray

from analytics.errors import InputRefused, LeftOpen
from analytics.intake.arrow import pc
from analytics.intake.cells import texts
from analytics.intake.sheet import Sheet


def named(rule: Mapping[str, Any]) -> tuple[str, ...]:
    """Columns that a ``time`` or ``site`` rule of a mapping reads."""
    return (
        tuple(rule["columns"])
        if "columns" in rule
        else tuple(filter(None, [rule.get("column")]))
    )


def joined(table: pa.Table, rule: Mapping[str, Any]) -> pa.ChunkedArray:
    """Give the rule's column, or its columns joined into one text."""
    columns = named(rule)
    if len(columns) == 1:
        return table.column(columns[0])
    parts = [texts(table.column(one)) for one in columns]
    whole = pc.binary_join_element_wise(*parts, str(rule.get("join", " ")))
    return pa.chunked_array([whole])


def matched(written: str, known: Sequence[str]) -> str | None:
    """Find a known site by its id; leading zeros that a spreadsheet ate are forgiven."""
    if written in known:
        return written
    if not written.isdigit():
        return None
    bare = written.lstrip("0")
    like = [one for one in known if one.isdigit() and one.lstrip("0") == bare]
    return like[0] if len(like) == 1 else None


def by_row(cells: pa.ChunkedArray, sites: Sequence[str]) -> NDArray[np.int64]:
    """Give each row's place in ``sites``; -1 where it is none of them."""
    encoded = pc.dictionary_encode(texts(cells))
    found = [matched(one, sites) for one in encoded.dictionary.to_pylist()]
    code = np.array([-1 if one is None else sites.index(one) for one in found] + [-1])
    return code[pc.fill_null(encoded.indices, -1).to_numpy(zero_copy_only=False)]


def by_file_name(name: str, sites: Sequence[str]) -> str:
    """Find the site that a file name speaks of, or the only one there is.

    Raises
    ------
    LeftOpen
        When there is none, or more than one could be meant.
    """
    stem = name.lower()
    bounded = r"(?<![a-z0-9]){}(?![a-z0-9])"
    hits = [one for one in sites if re.search(bounded.format(re.escape(one.lower())), stem)]
    # "p1-2" holds "p1": the longest id that fits is the one meant.
    hits = [one for one in hits if not any(one != other and one in other for other in hits)]
    if len(hits) == 1:
        return hits[0]
    if not hits and len(sites) == 1:
        return sites[0]
    found = "no column and no part of the file's name says which site it is from."
    if hits:
        found = f"its name fits more than one known site ({', '.join(hits)})."
    if not sites:
        found = "no site is known yet, so its readings belong nowhere."
    remedy = (
        "Import the sites first, and name the file after its site or give a mapping with it."
    )
    raise whose(name, found, remedy, hits or sites)


def whose(where: str, found: str, remedy: str, sites: Sequence[str]) -> InputRefused:
    """Refuse a file that may be any of these sites', so that a person may say which."""
    if not sites:
        return InputRefused(where, found, remedy)
    answers = {one: {"site": {"value": one}} for one in sorted(sites)}
    return LeftOpen(where, found, remedy, "Which probe is it from?", answers)


def codes(sheet: Sheet, rule: Mapping[str, Any], sites: Sequence[str]) -> NDArray[np.int64]:
    """Give each row's place in ``sites`` by a mapping's ``site`` rule.

    Raises
    ------
    InputRefused
        When not one row is of a known site.
    """
    if named(rule):
        cells = joined(sheet.table, rule)
        found = by_row(cells, sites)
        if len(found) and (found < 0).all():
            _refuse_all(sheet.name, " + ".join(named(rule)), texts(cells), sites)
        return found
    if rule.get("from") == "file name":
        site = by_file_name(sheet.name, sites)
    else:
        site = matched(str(rule["value"]), sites)
        if site is None:
            _refuse_all(sheet.name, "site", pa.array([str(rule["value"])]), sites)
    return np.full(sheet.table.num_rows, sites.index(str(site)), dtype=np.int64)


def _refuse_all(name: str, column: str, cells: pa.Array, sites: Sequence[str]) -> None:
    told = {one for one in cells.to_pylist() if one}
    seen = next((one for one in cells.to_pylist() if one), "blank")
    found = f"not one row is of a known site (the first says {seen!r})."
    some = ", ".join(sites[:5]) or "none yet"
    remedy = f"Import the site first, or correct its id. Known sites: {some}."
    where = f"{name}, column {column!r}"
    # Rows of more than one id are no single site's.
    raise whose(where, found, remedy, sites if len(told) == 1 else [])
