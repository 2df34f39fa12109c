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
    rows: dict[str, list[dict[str, Any]]] = {}
    written = _by_name(chart, rows).to_dict(validate=False)
    return {**written, "datasets": rows}


def _by_name(chart: Any, rows: dict[str, list[dict[str, Any]]]) -> Any:
    """Copy a chart with its frames replaced by names, and keep their rows under these."""
    own = chart.copy(deep=False)
    if isinstance(own, alt.LayerChart):
        own.layer = [_by_name(one, rows) for one in _filled(own.layer)]
    if isinstance(own.data, pd.DataFrame):
        name = f"rows-{len(rows)}"
        rows[name] = [*alt.to_values(own.data)["values"]]
        own.data = alt.NamedData(name=name)
    return own


def _filled(layers: list[Any]) -> list[Any]:
    """Leave out layers without a row: they draw nothing, and a screen reader finds a symbol."""
    kept = [
        one for one in layers if not (isinstance(one.data, pd.DataFrame) and one.data.empty)
    ]
    return kept or layers
