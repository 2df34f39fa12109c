"""Frames to Arrow and back, with the types that the contract promises."""

from collections.abc import Sequence
from itertools import pairwise
from typing import cast

import geopandas as gpd
import numpy as np
import pandas as pd
import pyarrow as pa
import shapely
from numpy.typing import NDArray

from analytics.contract import Column, Kind, Table

_TYPES: dict[Kind, pa.DataType] = {
    "text": pa.string(),
    "number": pa.float64(),
    "integer": pa.int64(),
    "date": pa.date32(),
    "time": pa.timestamp("us", tz="UTC"),
    "flag": pa.bool_(),
    "shape": pa.binary(),
}


def schema(table: Table) -> pa.Schema:
    """Give a table's Arrow schema: the contract's columns in its order."""
    return pa.schema([(one.name, _TYPES[one.kind]) for one in table.columns])


def to_arrow(frame: pd.DataFrame, table: Table) -> pa.Table:
    """Take a frame into the contract's columns and types; absent columns become null."""
    arrays = [_array(frame, column) for column in table.columns]
    return pa.Table.from_arrays(arrays, schema=schema(table))


def from_arrow(table: pa.Table) -> pd.DataFrame:
    """Turn an Arrow table into a frame.

    Dates become ``datetime64[us]``, whole numbers and flags keep their missing values in
    pandas' nullable types where there are any.
    """
    frame = table.to_pandas(date_as_object=False)
    for name, kind in zip(table.schema.names, table.schema.types, strict=True):
        values = table.column(name)
        if pa.types.is_date(kind):
            frame[name] = frame[name].astype("datetime64[us]")
        elif pa.types.is_integer(kind) and values.null_count:
            frame[name] = values.to_pandas(types_mapper={pa.int64(): pd.Int64Dtype()}.get)
        elif pa.types.is_boolean(kind) and values.null_count:
            frame[name] = values.to_pandas(types_mapper={pa.bool_(): pd.BooleanDtype()}.get)
    return frame


def cut_by(codes: NDArray[np.integer], count: int) -> tuple[NDArray[np.intp], list[slice]]:
    """Find an order of rows that lays those of one code together, and where to cut it.

    Parameters
    ----------
    codes : (n,) int
        From 0; rows of a negative one lie in no cut.
    count : int
        How many codes there are.

    Returns
    -------
    order : (n,) int
        Rows of one code keep their order.
    cuts : list of slice, length count
    """
    order = np.argsort(codes, kind="stable")
    edges = np.searchsorted(codes[order], np.arange(count + 1)).tolist()
    return order, [slice(*pair) for pair in pairwise(edges)]


def parted(frame: pd.DataFrame, by: str) -> dict[str, pd.DataFrame]:
    """Part a frame's rows by a column's words, with none of them under an empty one.

    Rows of one word keep their order, and are not copied apart.
    """
    codes, words = pd.factorize(frame[by])
    order, cuts = cut_by(codes, len(words))
    ordered = frame.iloc[order]
    parts = {str(word): ordered.iloc[cut] for word, cut in zip(words, cuts, strict=True)}
    return {"": frame.iloc[:0], **parts}


def columns_by(
    frame: pd.DataFrame, by: str, names: Sequence[str]
) -> dict[str, dict[str, NDArray]]:
    """Part some columns by another's words: arrays, where a frame of few rows would cost more.

    Rows of one word keep their order.
    """
    codes, words = pd.factorize(frame[by])
    order, cuts = cut_by(codes, len(words))
    columns = {name: frame[name].to_numpy()[order] for name in names}
    return {
        str(word): {name: column[cut] for name, column in columns.items()}
        for word, cut in zip(words, cuts, strict=True)
    }


def placed(frame: pd.DataFrame) -> gpd.GeoDataFrame:
    """Read a ``geometry`` column of well-known binary as shapes in WGS 84."""
    shapes = gpd.GeoSeries.from_wkb(frame["geometry"], index=frame.index, crs="EPSG:4326")
    return gpd.GeoDataFrame(frame.drop(columns="geometry"), geometry=shapes)


def _array(frame: pd.DataFrame, column: Column) -> pa.Array:
    kind = _TYPES[column.kind]
    if column.name not in frame.columns:
        return pa.nulls(len(frame), kind)
    values = cast("pd.Series", frame[column.name])
    return _MAKERS[column.kind](values)


def _text(values: pd.Series) -> pa.Array:
    if isinstance(values.dtype, pd.StringDtype):
        return pa.array(values, pa.string(), from_pandas=True)
    known = values.notna()
    words = [str(one) if there else None for one, there in zip(values, known, strict=True)]
    return pa.array(words, pa.string())


def _number(values: pd.Series) -> pa.Array:
    known = values if values.dtype == np.float64 else pd.to_numeric(values).astype("float64")
    return pa.array(known, pa.float64(), from_pandas=True)


def _integer(values: pd.Series) -> pa.Array:
    return pa.array(pd.to_numeric(values).astype("Int64"), pa.int64(), from_pandas=True)


def _date(values: pd.Series) -> pa.Array:
    days = pd.to_datetime(values).astype("datetime64[us]")
    return pa.array(days, pa.timestamp("us"), from_pandas=True).cast(pa.date32(), safe=False)


def _time(values: pd.Series) -> pa.Array:
    instants = pd.to_datetime(values, utc=True).astype("datetime64[us, UTC]")
    return pa.array(instants, _TYPES["time"], from_pandas=True)


def _flag(values: pd.Series) -> pa.Array:
    return pa.array(values.astype("boolean"), pa.bool_(), from_pandas=True)


def _shape(values: pd.Series) -> pa.Array:
    return pa.array(list(shapely.to_wkb(values.to_numpy())), pa.binary())


_MAKERS = {
    "text": _text,
    "number": _number,
    "integer": _integer,
    "date": _date,
    "time": _time,
    "flag": _flag,
    "shape": _shape,
}
