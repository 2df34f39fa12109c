"""Write a table out: as text to read, or as CSV, JSON, Parquet, GeoJSON or GeoPackage."""

import io
import json
import math
import tempfile
from collections.abc import Callable, Hashable, Iterator
from datetime import date, datetime
from pathlib import Path
from typing import IO, Literal, cast, get_args

import geopandas as gpd
import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import shapely

from analytics.errors import InputRefused

Format = Literal["text", "csv", "json", "parquet", "geojson", "gpkg"]
FORMATS: tuple[Format, ...] = get_args(Format)
PLACED: tuple[Format, ...] = ("geojson", "gpkg")
_BINARY = ("parquet", "gpkg")
_RISKY = ("=", "+", "-", "@", "\t", "\r")
_DIGITS = 4
_LAYER = "overwinter"
_JSON_END = b"\n]\n"
Parts = Callable[[], Iterator[pd.DataFrame]]


def write(frame: pd.DataFrame, form: Format, out: Path | IO[bytes]) -> None:
    """Write a table.

    Parameters
    ----------
    frame : DataFrame or GeoDataFrame
        Dates and times as pandas has them; GeoDataFrame in WGS 84.
    form : {"text", "csv", "json", "parquet", "geojson", "gpkg"}
        ``geojson`` and ``gpkg`` need a GeoDataFrame.
    out : Path or binary stream
        Where to.

    Raises
    ------
    InputRefused
        When a form that needs places is asked of a table without.
    """
    if form in PLACED and not isinstance(frame, gpd.GeoDataFrame):
        where = f"format {form}"
        remedy = "Choose text, csv, json or parquet."
        raise InputRefused(where, "this table has no place on the map.", remedy)
    content = _CONTENTS[form](frame)
    if isinstance(out, Path):
        out.write_bytes(content)
    else:
        out.write(content)


def write_parts(parts: Parts, form: Format, out: Path | IO[bytes]) -> int:
    """Write a table that is too long to hold, part after part.

    Parameters
    ----------
    parts : callable
        Gives the table's parts from the first on, at least one, all of the same columns. Text
        goes through them twice, since the widest word sets a column's width.
    form : {"text", "csv", "json", "parquet"}
    out : Path or binary stream

    Returns
    -------
    int
        Rows written: what ``write`` makes of them all at once, but for Parquet's row groups.
    """
    if isinstance(out, Path):
        with out.open("wb") as file:
            return write_parts(parts, form, file)
    if form == "parquet":
        return _parquet_parts(parts(), out)
    wide = _widest(parts()) if form == "text" else {}
    rows = 0
    for place, frame in enumerate(parts()):
        if form == "text":
            out.write(_lines(frame, wide, head=place == 0))
        elif form == "csv":
            content = _csv(frame)
            out.write(content if place == 0 else content[content.index(b"\n") + 1 :])
        elif len(frame):
            out.write((b"," if rows else b"[") + _json(frame)[1 : -len(_JSON_END)])
        rows += len(frame)
    if form == "json":
        out.write(_JSON_END if rows else b"[]\n")
    return rows


def _parquet_parts(parts: Iterator[pd.DataFrame], out: IO[bytes]) -> int:
    first = pa.Table.from_pandas(next(parts), preserve_index=False)
    rows = first.num_rows
    with pq.ParquetWriter(out, first.schema) as writer:
        writer.write_table(first)
        for frame in parts:
            writer.write_table(pa.Table.from_pandas(frame, first.schema, preserve_index=False))
            rows += len(frame)
    return rows


def binary(form: Format) -> bool:
    """Tell whether a form is unfit for a terminal."""
    return form in _BINARY


def place(frame: pd.DataFrame, fields: gpd.GeoDataFrame, sites: pd.DataFrame) -> pd.DataFrame:
    """Give each row its place: its field's polygon (also by its site), or its own point.

    Parameters
    ----------
    frame : DataFrame
        Any table of the contract.
    fields : GeoDataFrame
        The fields.
    sites : DataFrame
        The sites.

    Returns
    -------
    DataFrame
        A GeoDataFrame where the rows have a place; else ``frame`` as it came.
    """
    if isinstance(frame, gpd.GeoDataFrame):
        return frame
    if "field" in frame.columns:
        field = frame["field"]
    elif "site" in frame.columns:
        standing = sites.drop_duplicates("site", keep="last").set_index("site")["field"]
        field = frame["site"].map(standing)
    elif {"latitude", "longitude"} <= {*frame.columns}:
        points = gpd.points_from_xy(frame["longitude"], frame["latitude"], crs="EPSG:4326")
        return gpd.GeoDataFrame(frame, geometry=points)
    else:
        return frame
    shapes = fields.set_index("field").geometry
    geometry = gpd.GeoSeries(field.map(shapes).to_numpy(), index=frame.index, crs=fields.crs)
    return gpd.GeoDataFrame(frame, geometry=geometry)


def _text(frame: pd.DataFrame) -> bytes:
    """Align the columns: words to the left, numbers to the right, nothing for missing."""
    return _lines(frame, _widest(iter([frame])), head=True)


def _lines(frame: pd.DataFrame, wide: dict[str, int], *, head: bool) -> bytes:
    cells = {str(name): [_word(one) for one in column] for name, column in _columns(frame)}
    right = {str(name) for name, column in _columns(frame) if _numeric(column)}
    lines = []
    for row in [*([list(cells)] if head else []), *zip(*cells.values(), strict=True)]:
        told = [
            one.rjust(wide[name]) if name in right else one.ljust(wide[name])
            for one, name in zip(row, cells, strict=True)
        ]
        lines.append("  ".join(told).rstrip() + "\n")
    return "".join(lines).encode()


def _widest(parts: Iterator[pd.DataFrame]) -> dict[str, int]:
    """Find the width of each column: that of its name or of its widest word."""
    wide: dict[str, int] = {}
    for frame in parts:
        for name, column in _columns(frame):
            words = (len(_word(one)) for one in column)
            wide[str(name)] = max(wide.get(str(name), len(str(name))), *words, 0)
    return wide


def _columns(frame: pd.DataFrame) -> list[tuple[Hashable, pd.Series]]:
    return list(_flat(frame).items())


def _numeric(column: pd.Series) -> bool:
    return pd.api.types.is_numeric_dtype(column) and not pd.api.types.is_bool_dtype(column)


def _word(value: object) -> str:
    """Write one value as people read it."""
    plain = _plain(value)
    if plain is None:
        return ""
    if isinstance(plain, bool):
        return "yes" if plain else "no"
    if isinstance(plain, float):
        return _number(plain)
    if isinstance(plain, list):
        return ", ".join(map(_word, plain))
    return " ".join(str(plain).split())


def _number(value: float) -> str:
    """Write a number with as many digits as a reader can use; the other forms have them all."""
    if abs(value) < 10**-_DIGITS:
        return "0"
    return f"{value:.{_DIGITS}g}" if abs(value) < 10**_DIGITS else f"{value:.0f}"


def _plain(value: object) -> object:
    """Give a value as JSON knows it: ISO dates, None for missing."""
    if value is None or value is pd.NaT or value is pd.NA:
        return None
    if isinstance(value, pd.Timestamp):
        return _stamp(value)
    if isinstance(value, date | datetime):
        return value.isoformat()
    if isinstance(value, np.ndarray):
        return [_plain(one) for one in value.tolist()]
    plain = value.item() if hasattr(value, "item") else value  # type: ignore[union-attr]
    return None if isinstance(plain, float) and not math.isfinite(plain) else plain


def _stamp(value: pd.Timestamp) -> str:
    if value.tzinfo is None:
        return value.date().isoformat() if value == value.normalize() else value.isoformat()
    return value.isoformat().replace("+00:00", "Z")


def _flat(frame: pd.DataFrame) -> pd.DataFrame:
    """Write shapes as well-known text, for forms that have no shapes."""
    if not isinstance(frame, gpd.GeoDataFrame):
        return frame
    words = shapely.to_wkt(frame.geometry.to_numpy(), rounding_precision=6)
    return pd.DataFrame(frame.drop(columns=frame.geometry.name)).assign(geometry=words)


def _csv(frame: pd.DataFrame) -> bytes:
    flat = _flat(frame)
    # As objects, lest whole numbers with a gap among them be written as 3.0.
    told = pd.DataFrame(
        {
            str(name): pd.Series(list(map(_cell, column)), dtype="object")
            for name, column in flat.items()
        }
    )
    return told.to_csv(index=False, lineterminator="\n").encode()


def _cell(value: object) -> object:
    """Keep a spreadsheet from taking a text for a formula."""
    plain = _word(value) if isinstance(value, np.ndarray) else _plain(value)
    if isinstance(plain, str) and plain.startswith(_RISKY):
        return "'" + plain
    return plain


def _json(frame: pd.DataFrame) -> bytes:
    rows = [
        {str(name): _plain(value) for name, value in row.items()}
        for row in _flat(frame).to_dict("records")
    ]
    return (json.dumps(rows, ensure_ascii=False, indent=1) + "\n").encode()


def _parquet(frame: pd.DataFrame) -> bytes:
    out = io.BytesIO()
    frame.to_parquet(out, index=False)
    return out.getvalue()


def _geojson(frame: pd.DataFrame) -> bytes:
    shapes = cast("gpd.GeoDataFrame", frame).geometry
    features = [
        {
            "type": "Feature",
            "properties": {str(name): _plain(value) for name, value in row.items()},
            "geometry": None if shape is None else shapely.geometry.mapping(shape),
        }
        for row, shape in zip(
            pd.DataFrame(frame.drop(columns=shapes.name)).to_dict("records"),
            shapes,
            strict=True,
        )
    ]
    whole = {"type": "FeatureCollection", "features": features}
    return (json.dumps(whole, ensure_ascii=False) + "\n").encode()


def _gpkg(frame: pd.DataFrame) -> bytes:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "table.gpkg"
        cast("gpd.GeoDataFrame", frame).to_file(path, layer=_LAYER, driver="GPKG")
        return path.read_bytes()


_CONTENTS = {
    "text": _text,
    "csv": _csv,
    "json": _json,
    "parquet": _parquet,
    "geojson": _geojson,
    "gpkg": _gpkg,
}
