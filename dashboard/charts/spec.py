"""A chart as a plain specification, with its rows in it, to keep, to show and to print."""

from typing import Any

import altair as alt
import pandas as pd


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
    frames: dict[str, pd.DataFrame] = {}
    written = _by_name(chart, frames).to_dict(validate=False)
    rows = {name: [*alt.to_values(frame)["values"]] for name, frame in frames.items()}
    return {**written, "datasets": rows}


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
