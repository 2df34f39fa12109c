"""Wide logger files, read with a mapping: one row a time, one column a sensor."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd
import pyarrow as pa
from numpy.typing import NDArray

from analytics.errors import InputRefused
from analytics.intake import cells
from analytics.intake import sheet as sheets
from analytics.intake.calibration import inside
from analytics.intake.known import Known
from analytics.intake.look import Seen
from analytics.intake.quantities import KINDS, SOIL
from analytics.intake.records import Gathered, from_wide, together
from analytics.intake.sheet import Sheet
from analytics.intake.sift import KEY_JOIN, Check, sift
from analytics.intake.stamps import read_stamps
from analytics.intake.taken import Taken, groups, instants, refuse_if_blank, refuse_if_nothing
from analytics.intake.weather import by_day, plausible
from analytics.intake.whose import codes, joined, named
from analytics.intake.zones import LOCAL
from analytics.model import GAUGE, Bools, Floats, Times, no_gauge

Columns = dict[str, Floats]


def read_logger(seen: Seen, known: Known, mapping: Mapping[str, Any]) -> Taken:
    """Read a wide file; rows that cannot be taken are put aside with a reason.

    Raises
    ------
    InputRefused
        When a column of the mapping is missing, or not one row can be taken.
    """
    keys = (*named(mapping["time"]), *named(mapping["site"]))
    values = [one["column"] for one in mapping["columns"]]
    _require(seen, (*keys, *values))
    types = dict.fromkeys(keys, pa.string()) | dict.fromkeys(values, pa.float64())
    strict = sheets.fast(seen, types)
    taken = None if strict is None else _take(strict, known, mapping)
    if taken is None:
        taken = _take(sheets.whole(seen, tuple(types)), known, mapping)
    if taken is None:
        raise AssertionError  # a sheet with exact lines is always taken
    return taken


def _require(seen: Seen, columns: tuple[str, ...]) -> None:
    lacking = [one for one in columns if one not in seen.columns]
    if lacking:
        where = f"{seen.name}, column {lacking[0]!r}"
        found = f"the mapping needs it, but the header says {', '.join(seen.columns)}."
        raise InputRefused(where, found, "Give the mapping that belongs to this file.")


def _take(sheet: Sheet, known: Known, mapping: Mapping[str, Any]) -> Taken | None:
    """Take a sheet; None where a row must be named but the sheet does not know its line."""
    sites = list(known.sites)
    code = codes(sheet, mapping["site"], sites)
    stamps = read_stamps(joined(sheet.table, mapping["time"]), mapping["time"].get("format"))
    column = KEY_JOIN.join(named(mapping["time"]))
    clock = mapping["time"].get("clock", LOCAL)
    when = instants(stamps, code, list(known.sites.values()), code, column, clock=clock)
    values, checks = _values(sheet, mapping, code, sites)
    unknown = Check(
        bad=code < 0,
        column=KEY_JOIN.join(named(mapping["site"])),
        reason="there is no such site",
    )
    good, rejects = sift(sheet, [unknown, *when.checks, *checks])
    if not sheet.exact and not good.all():
        return None
    refuse_if_nothing(sheet, int(good.sum()), rejects)
    parts = groups(np.where(good, code, -1))
    soil = any(one["quantity"] in SOIL for one in mapping["columns"])
    named_by_file = mapping["site"].get("from") == "file name"
    whose = [f"Taken to be from the site {sites[one]}." for one in parts if named_by_file]
    made = [
        _record(sites[one], when.utc[rows], rows, values, mapping)
        for one, rows in (parts if soil else {}).items()
    ]
    records = tuple(one.record for one in made)
    weather, gauge, doubts = _weather(known, when.utc, parts, values, mapping)
    refuse_if_blank(sheet.name, records, weather=weather is not None)
    return Taken(
        records=records, weather=weather, rejects=rejects, notes=(*whose, *when.notes, *doubts),
        rows_in=len(code) + len(sheet.ragged), gauge=gauge, **together(made),
    )  # fmt: skip


def _values(
    sheet: Sheet, mapping: Mapping[str, Any], code: NDArray[np.int64], sites: list[str]
) -> tuple[Columns, list[Check]]:
    """Give each mapped column in the unit inside, with a check of those that are no numbers."""
    missing = [float(one) for one in mapping.get("missing", ()) if _is_number(one)]
    values: Columns = {}
    checks = []
    for one in mapping["columns"]:
        name = one["column"]
        read, bad = cells.numbers(sheet.table.column(name), missing)
        values[name] = inside(one, read, code, sites)
        bad = bad & ~_is_word_for_missing(sheet, name, bad, mapping)
        checks.append(Check(bad=bad, column=name, reason="not a finite number"))
    return values, checks


def _is_number(one: object) -> bool:
    try:
        float(str(one))
    except ValueError:
        return False
    return True


def _is_word_for_missing(
    sheet: Sheet, name: str, bad: Bools, mapping: Mapping[str, Any]
) -> Bools:
    words = [str(one) for one in mapping.get("missing", ()) if not _is_number(one)]
    if not words or not bad.any():
        return np.zeros(len(bad), dtype=bool)
    said = pd.Series(cells.texts(sheet.table.column(name)).to_pylist(), dtype="str")
    return said.isin(words).to_numpy()


def _record(
    site: str,
    times: Times,
    rows: NDArray[np.intp],
    values: Columns,
    mapping: Mapping[str, Any],
) -> Gathered:
    every = len(times) == len(next(iter(values.values())))
    kept = slice(None) if every else rows
    soil = {
        quantity: {
            float(one["depth_cm"]): values[one["column"]][kept]
            for one in mapping["columns"]
            if one["quantity"] == quantity
        }
        for quantity in SOIL
    }
    return from_wide(site, times, soil["vwc"], soil["soil_temp"])


def _weather(
    known: Known,
    utc: Times,
    parts: dict[int, NDArray[np.intp]],
    values: Columns,
    mapping: Mapping[str, Any],
) -> tuple[pd.DataFrame | None, pd.DataFrame, list[str]]:
    """Give the weather rows of every site, its readings, and notes on values left out."""
    columns = [one for one in mapping["columns"] if one["quantity"] not in SOIL]
    sound = {
        one["quantity"]: plausible(one["quantity"], values[one["column"]]) for one in columns
    }
    sites = list(known.sites.items())
    days = [
        by_day(*sites[site], utc[rows], {name: kept[rows] for name, (kept, _) in sound.items()})
        for site, rows in (parts if columns else {}).items()
    ]
    frame = pd.concat(days, ignore_index=True) if days else pd.DataFrame()
    read = [
        _gauge(
            sites[site][0], utc[rows], {name: kept[rows] for name, (kept, _) in sound.items()}
        )
        for site, rows in (parts if columns else {}).items()
    ]
    notes = [
        f"{KINDS[name].label}: values out of range and left out: {count}."
        for name, (_, count) in sound.items()
        if count
    ]
    gauge = pd.concat(read, ignore_index=True) if read else no_gauge()
    return (None if frame.empty else frame), gauge, notes


def _gauge(station: str, utc: Times, quantities: dict[str, Floats]) -> pd.DataFrame:
    """Lay a station's readings out one under another; of an instant given twice the last."""
    wide = pd.DataFrame({"time": pd.Series(utc).dt.tz_localize("UTC"), **quantities})
    wide = wide.drop_duplicates("time", keep="last")
    long = wide.melt(id_vars="time", var_name="quantity").dropna(subset="value")
    return long.assign(station=station)[list(GAUGE)]
