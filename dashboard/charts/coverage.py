"""Which sensor read on which day: one row a sensor, deep ones below, told by pattern."""

import altair as alt
import pandas as pd

from analytics.units import System
from dashboard.charts.key import DOTS, HATCH, KEY_PX, SQUARE, marks_key
from dashboard.charts.palette import Palette
from dashboard.charts.strip import Span
from dashboard.charts.texture import Box, dotting, hatching
from dashboard.charts.theme import (
    AXIS_PX,
    PADDING_PX,
    Chart,
    choice,
    layered,
    plot_px,
    wall_times,
)
from dashboard.words import day_text
from dashboard.words.record import STATES, sensor_text

ROW_PX = 20.0
_GAP = 0.12  # of a row, left free above and below


def coverage_calendar(
    runs: pd.DataFrame, palette: Palette, system: System, *, width: int | str = "container"
) -> Chart:
    """Draw the calendar of one probe's sensors.

    Parameters
    ----------
    runs : DataFrame
        Columns depth_cm, state (good, held, flagged, missing), from, to. Must not be empty.
    palette : Palette
        Colours: what is in order is pale, what is not stands out.
    system : {"in", "mm"}
        Units of the depths.
    width : int or "container"
        Px.

    Returns
    -------
    LayerChart
    """
    told, depths = _told(runs, system)
    height = len(depths) * ROW_PX + AXIS_PX + KEY_PX + 2 * PADDING_PX
    span = Span(
        start=told["from"].min(), end=told["to"].max(), width_px=plot_px(width),
        strip_top=0.0, plot_top=0.0, plot_bottom=float(len(depths)),
        axis=_axis(depths, system),
    )  # fmt: skip
    fills = {"good": palette.line, "held": palette.line, "flagged": palette.ink}
    layers = [
        *(_rects(told[told["state"] == state], span, fill) for state, fill in fills.items()),
        _rects(told[told["state"] == "missing"], span, palette.ground),
        _hatch(told, span, palette),
        _dots(told, span, palette),
        *marks_key(_marks(palette), palette),
    ]
    return layered(layers, palette, width=width, height=height)


def _marks(palette: Palette) -> list[tuple[str, str, str]]:
    looks = {
        "good": (SQUARE, palette.line), "held": (DOTS, palette.line),
        "flagged": (SQUARE, palette.ink), "missing": (HATCH, palette.ground),
    }  # fmt: skip
    return [(STATES[state], *look) for state, look in looks.items()]


def _told(runs: pd.DataFrame, system: System) -> tuple[pd.DataFrame, list[float]]:
    depths = sorted(runs["depth_cm"].unique())
    row = runs["depth_cm"].map({one: at for at, one in enumerate(depths)}).to_numpy(float)
    frame = pd.DataFrame({
        "from": wall_times(runs["from"]), "to": wall_times(runs["to"]),
        "top": row + _GAP, "bottom": row + 1 - _GAP, "state": list(runs["state"]),
        "sensor": [sensor_text(one, system) for one in runs["depth_cm"]],
        "said": [STATES[one] for one in runs["state"]],
        "first": [day_text(one) for one in runs["from"]],
        "until": [day_text(one) for one in runs["to"]],
    })  # fmt: skip
    return frame, depths


def _axis(depths: list[float], system: System) -> alt.Axis:
    labels = {at + 0.5: sensor_text(one, system) for at, one in enumerate(depths)}
    return alt.Axis(
        values=list(labels),
        labelExpr=choice("datum.value", labels),
        title=None,
        grid=False,
        domain=False,
        ticks=False,
    )


def _rects(told: pd.DataFrame, span: Span, fill: str) -> alt.Chart:
    return alt.Chart(told).mark_rect(color=fill, opacity=1).encode(
        x=span.x(), x2=alt.X2("to"), y=span.y("top"), y2=alt.Y2("bottom"),
        tooltip=[alt.Tooltip("sensor:N", title="Sensor"), alt.Tooltip("said:N", title="Record"),
                 alt.Tooltip("first:N", title="From"), alt.Tooltip("until:N", title="Until")],
    )  # fmt: skip


def _boxes(told: pd.DataFrame, span: Span, state: str) -> list[Box]:
    rows = told[told["state"] == state]
    return [
        Box(left=span.px(a), right=span.px(b), top=top * ROW_PX, bottom=bottom * ROW_PX)
        for a, b, top, bottom in zip(rows["from"], rows["to"], rows["top"], rows["bottom"],
                                     strict=True)
    ]  # fmt: skip


def _hatch(told: pd.DataFrame, span: Span, palette: Palette) -> alt.Chart:
    lines = hatching(_boxes(told, span, "missing"))
    frame = pd.DataFrame({
        "from": wall_times([span.when(one[0]) for one in lines]),
        "to": wall_times([span.when(one[2]) for one in lines]),
        "top": [one[1] / ROW_PX for one in lines], "bottom": [one[3] / ROW_PX for one in lines],
    })  # fmt: skip
    return alt.Chart(frame).mark_rule(color=palette.edge, strokeWidth=2).encode(
        x=span.x(), x2=alt.X2("to"), y=span.y("top"), y2=alt.Y2("bottom"))  # fmt: skip


def _dots(told: pd.DataFrame, span: Span, palette: Palette) -> alt.Chart:
    points = dotting(_boxes(told, span, "held"))
    frame = pd.DataFrame({"from": wall_times([span.when(x) for x, _ in points]),
                          "depth": [y / ROW_PX for _, y in points]})  # fmt: skip
    return alt.Chart(frame).mark_circle(color=palette.ink, size=5.7, opacity=1).encode(
        x=span.x(), y=span.y("depth"))  # fmt: skip
