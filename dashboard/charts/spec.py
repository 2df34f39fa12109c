"""A chart as a plain specification, with its rows in it, to keep, to show and to print."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import altair as alt
import numpy as np
import pandas as pd
import pyarrow as pa


def spec(chart: Any) -> dict[str, Any]:
    """Write a finished chart as a Vega-Lite specification.

    Rows are laid in here, not by Altair's own transformer: that is one switch for the whole
    program, which another reader's page may hold at the moment, and it refuses long records.
    Nothing is checked against the schema; the tests do that for every chart.

    Parameters
    ----------
    chart : Chart or LayerChart
        Not changed.
    """
    written, frames = _parted(chart)
    rows = {name: [*alt.to_values(frame)["values"]] for name, frame in frames.items()}
    return {**written, "datasets": rows}


def sent(chart: Any) -> dict[str, Any]:
    """Write a finished chart as it is sent to a browser: its rows as Arrow bytes.

    Rows as they stand in :func:`spec` would be turned into these at every run of a page.
    """
    written, frames = _parted(chart)
    return {**written, "datasets": {name: _arrow(frame) for name, frame in frames.items()}}


def _parted(chart: Any) -> tuple[dict[str, Any], dict[str, pd.DataFrame]]:
    """Write a chart without its rows, mark by mark.

    Altair writes a copy of a chart, and to copy layers it copies every mark in them some
    times over: a tenth of what a page takes.
    """
    frames: dict[str, pd.DataFrame] = {}
    if not isinstance(chart, alt.LayerChart):
        return _by_name(chart, frames), frames
    with _without(chart, "layer", []) as marks:
        written = chart.to_dict(validate=False)
    layer = [_by_name(one, frames, top_level=False) for one in _filled(marks)]
    return {**written, "layer": layer}, frames


@contextmanager
def _without(chart: Any, part: str, instead: Any) -> Iterator[Any]:
    """Take a part out of a chart for a while."""
    held, chart[part] = chart[part], instead
    try:
        yield held
    finally:
        chart[part] = held


def _arrow(frame: pd.DataFrame) -> bytes:
    # Column by column: what pandas needs to make a frame of it again is told to nobody here.
    table = pa.table({str(name): _sent(column) for name, column in frame.items()})
    sink = pa.BufferOutputStream()
    with pa.ipc.new_stream(sink, table.schema) as out:
        out.write_table(table)
    return sink.getvalue().to_pybytes()


def _sent(column: pd.Series) -> pa.Array:
    """Give a column as it is sent, wall times as words.

    A browser would draw an instant in its own zone.
    """
    if not (isinstance(column.dtype, np.dtype) and column.dtype.kind == "M"):
        return pa.array(column, from_pandas=True)
    times = column.to_numpy("datetime64[us]")
    unknown = np.isnat(times)
    whole = unknown | (times.astype("datetime64[s]") == times)
    words = np.datetime_as_string(times, unit="s" if whole.all() else "ms")
    return pa.array(words, mask=unknown)


def _by_name(
    mark: Any, frames: dict[str, pd.DataFrame], *, top_level: bool = True
) -> dict[str, Any]:
    """Write a mark with its frame replaced by a name; marks that share a frame share one."""
    with _without(mark, "data", alt.Undefined) as frame:
        written = mark.to_dict(validate=False, context={"top_level": top_level})
    if not isinstance(frame, pd.DataFrame):
        return written
    known = (name for name, one in frames.items() if one is frame)
    name = next(known, f"rows-{len(frames)}")
    frames[name] = frame
    return {**written, "data": {"name": name}}


def _filled(layers: list[Any]) -> list[Any]:
    """Leave out layers without a row: they draw nothing, and a screen reader finds a symbol."""
    kept = [
        one for one in layers if not (isinstance(one.data, pd.DataFrame) and one.data.empty)
    ]
    return kept or layers
