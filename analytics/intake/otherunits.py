"""Columns of a people's table that are ours by name, but not by unit: refused, never lost.

A column that is only kept aside takes what it says with it: a source whose capacity came in
gallons would pump nothing.
"""

import re
from collections.abc import Sequence

from analytics.contract import Column, Table
from analytics.errors import InputRefused
from analytics.units import QUANTITIES

SHARE = "1"  # the unit of a share, which nobody writes
UNIT_WORDS = frozenset({
    "cfs", "ft3_s", "l_h", "l_min", "lpm", "lps", "l_sec", "m3_d", "m3_h", "m3_hr", "m3_s",
    "gph", "gpd", "mgd", "gal_min", "acre", "acres", "acre_ft", "acre_feet", "acre_in", "ac_in",
    "hectare", "hectares", "m2", "inch", "inches", "feet", "foot", "yd", "m", "mm_d", "in_d",
    "pct", "percent", "frac", "fraction", "share", "vol", "v_v", "m3_m3", "in_ft",
    "degc", "degf", "deg_c", "deg_f", "celsius", "fahrenheit", "mph", "kph", "km_h", "kmh",
    "kn", "knots", "m_s", "mj_m2", "w_m2", "kwh_m2", "usgpm",
})  # fmt: skip
"""Units that people write behind a name; none of them is the end of a word of ours."""


def in_unit(column: Column) -> str:
    """Give a column's unit behind a figure; empty where there is none to write."""
    return f" {column.unit}" if column.unit not in ("", SHARE) else ""


def refuse_other_units(name: str, table: Table, columns: Sequence[str]) -> None:
    """Refuse a table that gives a number of ours under another unit's name.

    Parameters
    ----------
    name : str
        The file.
    table : Table
    columns : sequence of str
        Its header. A column that is there under our own name too may stand beside it.

    Raises
    ------
    InputRefused
        Naming every such column, and what to write instead.
    """
    lacking = [one for one in table.columns if one.unit and one.name not in columns]
    pairs = [
        (said, ours)
        for said in columns
        if said not in table.names
        for ours in lacking
        if _is_other(said, ours, alone=table.name != "fields")
    ]
    if not pairs:
        return
    said, ours = pairs[0]
    others = ", ".join(repr(one) for one, _ in pairs[1:])
    also = f" (likewise {others})" if others else ""
    found = f"it seems to be {ours.name} in another unit or spelling{also}, and would be lost."
    where = f"{name}, column {said!r}"
    wanted = ", ".join(dict.fromkeys(_wanted(one) for _, one in pairs))
    raise InputRefused(where, found, f"Write {wanted}.")


def _is_other(said: str, ours: Column, *, alone: bool) -> bool:
    """Tell whether a name is ours up to the unit, which is another, or ``alone`` without any.

    A field's ``irrigated`` may say yes or no.
    """
    plain, stem = _plain(said), _stem(ours)
    if plain == ours.name or (alone and plain == stem):
        return True
    return plain.startswith(f"{stem}_") and plain.removeprefix(f"{stem}_") in _UNITS


def _stem(column: Column) -> str:
    return column.name.removesuffix(f"_{_plain(column.unit)}")


def _plain(said: str) -> str:
    """Write a name or a unit as our columns are written."""
    low = said.lower().replace("³", "3").replace("²", "2").replace("%", " pct ")
    return "_".join(re.findall(r"[a-z\d]+", low))


def _wanted(column: Column) -> str:
    if column.unit == SHARE:
        return f"{column.name} as a share of 1"
    return f"{column.name} in {column.unit}"


_UNITS = UNIT_WORDS | {
    _plain(unit) for one in QUANTITIES for unit in (one.in_.unit, one.mm.unit, one.inside)
}
