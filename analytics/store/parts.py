"""One year of one site's readings as a Parquet file.

Columns: ``time`` (UTC) and, per sensor, ``vwc_<depth>`` (m3/m3 x 10 000) and
``temp_<depth>`` (degrees C x 100), null where missing. A column is int16 as long as its
values allow, else int32, else float64 (still scaled): an impossible value must survive, so
that it can be flagged. Integers are delta-packed, all is compressed with zstd.
"""

import io
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from analytics.model import Floats, Record, Times
from analytics.store.manifest import replace

THETA_SCALE = 1e4
TEMP_SCALE = 1e2
_ZSTD_LEVEL = -3  # what is delta-packed has little left to win: 2 % more room, half the time
_INTEGERS = (np.int16, np.int32)


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
    for j, depth in enumerate(record.depths_cm):
        for kind, values, scale in (
            ("vwc", record.theta, THETA_SCALE),
            ("temp", record.temp_c, TEMP_SCALE),
        ):
            if kind == "temp" and np.isnan(values[:, j]).all():
                continue
            columns[f"{kind}_{depth_name(depth)}"] = _packed(values[:, j] * scale)
    table = pa.table(columns)
    packed = {
        one.name: "DELTA_BINARY_PACKED" for one in table.schema if one.type != pa.float64()
    }
    out = io.BytesIO()
    pq.write_table(
        table, out, compression="zstd", compression_level=_ZSTD_LEVEL,
        use_dictionary=False, column_encoding=packed,
    )  # fmt: skip
    replace(path, out.getvalue(), settled=False)


def read(path: Path, site: str, since: date | None = None) -> Record:
    """Read one part, or what of it comes from a day (UTC) on."""
    with pq.ParquetFile(path) as part:
        table = part.read()
    stamps = table.column("time").cast(pa.timestamp("us"))
    times: Times = stamps.to_numpy().astype("datetime64[us]")
    if since is not None:
        start = int(np.searchsorted(times, np.datetime64(since, "us")))
        times, table = times[start:], table.slice(start)
    depths_cm = _depths(table.column_names)
    return Record(
        site=site,
        times=times,
        depths_cm=np.array(depths_cm, float),
        theta=_block(table, "vwc", depths_cm, THETA_SCALE),
        temp_c=_block(table, "temp", depths_cm, TEMP_SCALE),
    )


def last(path: Path) -> pd.Timestamp:
    """Give the newest instant of a part, out of its footer."""
    with pq.ParquetFile(path) as part:
        told = part.metadata.row_group(part.metadata.num_row_groups - 1)
    return pd.Timestamp(told.column(0).statistics.max)


def first(path: Path) -> pd.Timestamp:
    """Give the oldest instant of a part, out of its footer."""
    with pq.ParquetFile(path) as part:
        return pd.Timestamp(part.metadata.row_group(0).column(0).statistics.min)


def depths(path: Path) -> list[float]:
    """Give the depths in cm of a part's sensors, ascending, out of its footer."""
    return _depths(pq.read_schema(path).names)


def _depths(names: list[str]) -> list[float]:
    return sorted({float(name.split("_", 1)[1]) for name in names if name != "time"})


def _held(values: Floats, scale: float) -> Floats:
    scaled = values * scale
    whole = np.rint(scaled)
    limit = np.iinfo(np.int32).max
    return np.where(np.abs(whole) <= limit, whole / scale, values)


def _packed(scaled: Floats) -> pa.Array:
    missing = np.isnan(scaled)
    largest = np.max(np.abs(scaled), where=~missing, initial=0.0)
    for kind in _INTEGERS:
        if largest <= np.iinfo(kind).max:
            whole = np.where(missing, 0.0, np.rint(scaled)).astype(kind)
            return pa.array(whole, mask=missing)
    return pa.array(scaled, mask=missing)


def _block(table: pa.Table, kind: str, depths_cm: list[float], scale: float) -> Floats:
    block = np.full((table.num_rows, len(depths_cm)), np.nan)
    for j, depth in enumerate(depths_cm):
        name = f"{kind}_{depth_name(depth)}"
        if name in table.column_names:
            values = pc.cast(table.column(name), pa.float64())
            block[:, j] = values.to_numpy() / scale
    return block
