"""Cells to numbers, texts and days, each with a mask of those that cannot be."""

from collections.abc import Collection

import numpy as np
import pyarrow as pa

from analytics.intake.arrow import pc
from analytics.intake.sheet import BLANKS
from analytics.model import Bools, Floats, Times

NUMBER = r"^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$"
DAY = r"^\d{4}-\d{2}-\d{2}$"


def texts(cells: pa.ChunkedArray) -> pa.Array:
    """Trim every cell's text; blanks and words for "nothing" become null."""
    flat = _flat(cells)
    if not pa.types.is_string(flat.type):
        flat = _as_text(flat)
    flat = pc.utf8_trim_whitespace(flat)
    return pc.if_else(pc.is_in(flat, pa.array(BLANKS)), pa.scalar(None, pa.string()), flat)


def _flat(cells: pa.ChunkedArray) -> pa.Array:
    flat = cells.combine_chunks()
    if isinstance(flat, pa.ChunkedArray):
        flat = pa.concat_arrays(flat.chunks) if flat.num_chunks else pa.array([], flat.type)
    return flat.dictionary_decode() if pa.types.is_dictionary(flat.type) else flat


def _as_text(flat: pa.Array) -> pa.Array:
    try:
        return flat.cast(pa.string())
    except (pa.ArrowInvalid, pa.ArrowNotImplementedError):
        return pa.array([None if one is None else str(one) for one in flat.to_pylist()])


def _is_number(kind: pa.DataType) -> bool:
    return pa.types.is_floating(kind) or pa.types.is_integer(kind) or pa.types.is_decimal(kind)


def numbers(cells: pa.ChunkedArray, missing: Collection[float] = ()) -> tuple[Floats, Bools]:
    """Read cells as finite numbers.

    Parameters
    ----------
    cells : (n,) array of any type
    missing : numbers that stand for "no value"

    Returns
    -------
    values : (n,) float
        NaN where there is no value or it is bad.
    bad : (n,) bool
        Neither blank nor a finite number.
    """
    flat = _flat(cells)
    bad = np.zeros(len(flat), dtype=bool)
    if not _is_number(flat.type):
        flat = texts(cells)
        fits = pc.fill_null(pc.match_substring_regex(flat, NUMBER), fill_value=True)
        bad = ~fits.to_numpy(zero_copy_only=False)
        flat = pc.if_else(fits, flat, pa.scalar(None, pa.string()))
    values = flat.cast(pa.float64(), safe=False).to_numpy(zero_copy_only=False).copy()
    endless = np.isinf(values)
    values[endless] = np.nan
    for code in missing:
        values[values == code] = np.nan
    return values, bad | endless


def days(cells: pa.ChunkedArray) -> tuple[Times, Bools]:
    """Read cells as days: ISO dates, or Parquet dates and midnights.

    Returns
    -------
    values : (n,) datetime64[D]
        NaT where there is none or it is bad.
    bad : (n,) bool
        Neither blank nor a day of the calendar.
    """
    flat = _flat(cells)
    if not pa.types.is_date(flat.type):
        return _days_of_text(texts(cells))
    values = flat.cast(pa.date32()).to_numpy(zero_copy_only=False).astype("datetime64[D]")
    return values, np.zeros(len(flat), dtype=bool)


def _days_of_text(flat: pa.Array) -> tuple[Times, Bools]:
    # A Parquet timestamp at midnight, or a date with a midnight behind it, is that day.
    flat = pc.replace_substring_regex(flat, r"[ T]00:00(:00(\.0+)?)?Z?$", "")
    given = pc.is_valid(flat).to_numpy(zero_copy_only=False)
    unique = pc.unique(flat).to_pylist()
    known = {one: _day(one) for one in unique if one is not None}
    values = np.array([known.get(one) for one in flat.to_pylist()], dtype="datetime64[D]")
    return values, given & np.isnat(values)


def _day(written: str) -> np.datetime64 | None:
    try:
        exact = len(written) == len("2024-11-05")
        return np.datetime64(written, "D") if exact else None
    except ValueError:
        return None
