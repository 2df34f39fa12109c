"""One year of one site's readings as a Parquet file.

Columns: ``time`` (UTC) and, per sensor, ``vwc_<depth>`` (m3/m3 x 10 000) and
``temp_<depth>`` (degrees C x 100), null where missing. A column is int16 as long as its
values allow, else int32, else float64 (still scaled): an impossible value must survive, so
that it can be flagged. Integers are delta-packed, all is compressed with zstd.
"""

import io
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from analytics.errors import StoreError
from analytics.model import Bools, Floats, Record, Times
from analytics.store.manifest import replace

THETA_SCALE = 1e4
TEMP_SCALE = 1e2
_ZSTD_LEVEL = -3  # what is delta-packed has little left to win: 2 % more room, half the time
_INTEGERS = (np.int16, np.int32)
_KINDS = ("vwc", "temp")
AGAIN = "Delete the file and import that year's logger files again."
_LOOK = "Check the disk and its permissions, then repeat."


class Unreadable(StoreError):
    """A part that cannot be read; ``args`` are its path, why, and what to do."""

    def __str__(self) -> str:
        """Put them in a sentence."""
        path, reason, remedy = self.args
        return f"{path}: these readings cannot be read ({reason}). {remedy}"


def depth_name(depth_cm: float) -> str:
    """Write a depth as it stands in a column's name."""
    return f"{depth_cm:.10g}"


def rounded(record: Record) -> Record:
    """Round a record to what a part can hold, so that like is compared with like."""
    return Record(
        site=record.site,
        times=record.times.astype("datetime64[us]"),
        depths_cm=np.array([float(depth_name(one)) for one in record.depths_cm], float),
        theta=_held(record.theta, THETA_SCALE),
        temp_c=_held(record.temp_c, TEMP_SCALE),
    )


def write(path: Path, record: Record) -> None:
    """Write one part; readers see the old one or the whole new one.

    The caller settles the folder when it has written all its parts.
    """
    columns: dict[str, pa.Array] = {"time": pa.array(record.times, pa.timestamp("us", "UTC"))}
    theta, temp_c = _packed(record.theta, THETA_SCALE), _packed(record.temp_c, TEMP_SCALE)
    for depth, vwc, temp in zip(record.depths_cm, theta, temp_c, strict=True):
        columns[f"vwc_{depth_name(depth)}"] = vwc
        if temp.null_count < len(temp):
            columns[f"temp_{depth_name(depth)}"] = temp
    table = pa.table(columns)
    packed = {
        one.name: "DELTA_BINARY_PACKED" for one in table.schema if one.type != pa.float64()
    }
    out = io.BytesIO()
    pq.write_table(
        table, out, compression="zstd", compression_level=_ZSTD_LEVEL,
        use_dictionary=False, column_encoding=packed,
        write_statistics=["time"],  # pyright: ignore[reportArgumentType] - a list is documented
    )  # fmt: skip
    replace(path, out.getvalue(), settled=False)


def read(path: Path, site: str, since: date | None = None) -> Record:
    """Read one part, or what of it comes from a day (UTC) on.

    Raises
    ------
    Unreadable
        Where a footer alone is read, too.
    """
    with _said(path):
        with pq.ParquetFile(path) as part:
            table = part.read()
        stamps = table.column("time").cast(pa.timestamp("us"))
        depths_cm = _depths(table.column_names)
    times: Times = stamps.to_numpy().astype("datetime64[us]")
    if since is not None:
        start = int(np.searchsorted(times, np.datetime64(since, "us")))
        times, table = times[start:], table.slice(start)
    return Record(
        site=site,
        times=times,
        depths_cm=np.array(depths_cm, float),
        theta=_block(table, "vwc", depths_cm, THETA_SCALE),
        temp_c=_block(table, "temp", depths_cm, TEMP_SCALE),
    )


def last(path: Path) -> pd.Timestamp:
    """Give the newest instant of a part, out of its footer."""
    with _said(path), pq.ParquetFile(path) as part:
        told = part.metadata.row_group(part.metadata.num_row_groups - 1)
    return pd.Timestamp(told.column(0).statistics.max)


def first(path: Path) -> pd.Timestamp:
    """Give the oldest instant of a part, out of its footer."""
    with _said(path), pq.ParquetFile(path) as part:
        return pd.Timestamp(part.metadata.row_group(0).column(0).statistics.min)


def depths(path: Path) -> list[float]:
    """Give the depths in cm of a part's sensors, ascending, out of its footer."""
    with _said(path):
        return _depths(pq.read_schema(path).names)


def _depths(names: list[str]) -> list[float]:
    return sorted({_depth(name) for name in names if name != "time"})


def _depth(name: str) -> float:
    kind, _, depth_cm = name.partition("_")
    if kind not in _KINDS:
        message = f"column {name!r} is no sensor's"
        raise ValueError(message)
    return float(depth_cm)


@contextmanager
def _said(path: Path) -> Iterator[None]:
    """Say in a sentence why a part cannot be read.

    What the system keeps back, by an error with a number, is not damaged: it is not to be
    deleted.
    """
    try:
        yield
    except (pa.ArrowException, OSError, ValueError, KeyError) as why:
        kept_back = isinstance(why, OSError) and why.errno is not None
        reason = " ".join(str(why).split())[:120]
        raise Unreadable(path, reason, _LOOK if kept_back else AGAIN) from why


def _held(values: Floats, scale: float) -> Floats:
    scaled = values * scale
    whole = np.rint(scaled)
    limit = np.iinfo(np.int32).max
    return np.where(np.abs(whole) <= limit, whole / scale, values)


def _packed(values: Floats, scale: float) -> list[pa.Array]:
    """Scale each sensor's values, and pack them in the narrowest kind that holds them."""
    scaled = np.ascontiguousarray(values.T) * scale
    missing = np.isnan(scaled)
    scaled[missing] = 0.0
    largest = np.abs(scaled).max(axis=1, initial=0.0)
    return [_column(*one) for one in zip(scaled, missing, largest.tolist(), strict=True)]


def _column(scaled: Floats, missing: Bools, largest: float) -> pa.Array:
    mask = missing if missing.any() else None
    for kind in _INTEGERS:
        if largest <= np.iinfo(kind).max:
            return pa.array(np.rint(scaled).astype(kind), mask=mask)
    return pa.array(scaled, mask=mask)


def _block(table: pa.Table, kind: str, depths_cm: list[float], scale: float) -> Floats:
    block = np.full((table.num_rows, len(depths_cm)), np.nan)
    told = dict(zip(table.column_names, table.columns, strict=True))
    for j, depth in enumerate(depths_cm):
        column = told.get(f"{kind}_{depth_name(depth)}")
        if column is not None:
            block[:, j] = column.to_numpy()
    block /= scale
    return block
