"""A chart as a plain specification, with its rows in it, to keep, to show and to print."""

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
    frames: dict[str, pd.DataFrame] = {}
    written = _by_name(chart, frames).to_dict(validate=False)
    return written, frames


def _arrow(frame: pd.DataFrame) -> bytes:
    times = {str(name): _told(frame[name]) for name in frame.select_dtypes("datetime")}
    table = pa.Table.from_pandas(frame.assign(**times), preserve_index=False)
    sink = pa.BufferOutputStream()
    with pa.ipc.new_stream(sink, table.schema) as out:
        out.write_table(table)
    return sink.getvalue().to_pybytes()


def _told(column: pd.Series) -> pd.Series:
    """Write wall times as words: an instant would be drawn in the browser's own zone."""
    times = column.to_numpy("datetime64[us]")
    whole = np.isnat(times) | (times.astype("datetime64[s]") == times)
    words = np.datetime_as_string(times, unit="s" if whole.all() else "ms")
    return pd.Series(words, index=column.index).where(column.notna().to_numpy(), None)


def _by_name(chart: Any, frames: dict[str, pd.DataFrame]) -> Any:
    """Copy a chart with its frames replaced by names; marks that share a frame share one."""
    own = chart.copy(deep=False)
    if isinstance(own, alt.LayerChart):
        own.layer = [_by_name(one, frames) for one in _filled(own.layer)]
    if isinstance(own.data, pd.DataFrame):
        known = (name for name, frame in frames.items() if frame is own.data)
        name = next(known, f"rows-{len(frames)}")
        frames[name] = own.data
        own.data = alt.NamedData(name=name)
    return own


def _filled(layers: list[Any]) -> list[Any]:
    """Leave out layers without a row: they draw nothing, and a screen reader finds a symbol."""
    kept = [
        one for one in layers if not (isinstance(one.data, pd.DataFrame) and one.data.empty)
    ]
    return kept or layers
