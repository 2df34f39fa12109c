"""One layer's record with the value drained to after each wetting, and its histogram beside it.

Record, histogram and the names of the candidates stand in one view on one scale of water
content, since only a single view can fill its container: the time axis runs on past the record,
and what is beside it is laid out in shares of the record's own span.
"""

from dataclasses import dataclass
from typing import Any

import altair as alt
import pandas as pd

from analytics.units import THETA, System
from dashboard.charts.palette import Palette
from dashboard.charts.strip import Span, strip_layers
from dashboard.charts.theme import LEAST_PX, alt_time, layered, plot_px, wall_times
from dashboard.words import EIGHT_IN_TEN

HEIGHT = 380
_STEP = 0.05  # m3/m3, of the axis
_STRIP_SHARE = 0.075  # of the plot's height
_HISTOGRAM = (1.015, 1.15)  # shares of the record's span
_NAMES_AT, _END = 1.165, 1.38
_LABEL_SHARE = 0.048  # least distance of two names, of the scale
_BREAK_DAYS = 3
_TICKS = 6
DRAGGED = "dragged"
"""Name of the band that is dragged over the chart; its field is ``value``, m3/m3."""
_DRAGGED_OVER = "record"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plot:
    """The view: its span with the strip above it, where the record ends, its axis of time."""

    span: Span
    record_end: pd.Timestamp
    time: dict[str, Any]
    palette: Palette

    def beside(self, share: float) -> pd.Timestamp:
        """Give the place of a share of the record's span, as a time."""
        return self.span.start + (self.record_end - self.span.start) * share


def points_record(  # noqa: PLR0917 - frames and choices, each of its own kind
    days: pd.DataFrame,
    histogram: pd.DataFrame,
    marks: pd.DataFrame,
    strip: pd.DataFrame,
    point: dict[str, Any],
    palette: Palette,
    system: System,
    *,
    step: float,
    width: int | str = "container",
    height: int = HEIGHT,
) -> alt.LayerChart:
    """Draw one layer's record, its histogram and the candidates for a point.

    Parameters
    ----------
    days : DataFrame
        time, value, low, high (m3/m3): the daily values of one placement. Not empty.
    histogram : DataFrame
        low (m3/m3, lower edge of a step) and days.
    marks : DataFrame
        kind, name, value (m3/m3), on (date or missing). ``drained`` and ``season`` stand at
        their dates; every other is named beside the histogram.
    strip : DataFrame
        from, to, label, kind ("crop" or "offseason").
    point : dict
        The version in force: name, value, sd (m3/m3), sure (bool); ``proposed``, m3/m3, where
        one is asked about.
    palette : Palette
        Colours.
    system : {"in", "mm"}
        Water content is m3/m3 in both.
    step : float
        Width of a step of the histogram, m3/m3.
    width : int or "container"
        Px.
    height : int
        Px.
    """
    plot = _plot(days, marks, point, palette, width)
    layers: list[Any] = [
        *_band(plot, point),
        *_line(days, plot),
        *_bars(histogram, plot, step),
        *_carried(plot, point),
        *_drained(marks[marks["kind"] == "drained"], plot),
        *_seasons(marks[marks["kind"] == "season"], plot),
        *_proposed(plot, point),
        *_names(marks, plot, point),
        *strip_layers(strip, plot.span, palette),
    ]
    title = f"{THETA.label}, {THETA.shown(system).unit}; beside it, days at each water content"
    return layered(layers, palette, width=width, height=height, title=title,
                   params=[_drag(palette)])  # fmt: skip


def _plot(
    days: pd.DataFrame, marks: pd.DataFrame, point: dict[str, Any], palette: Palette,
    width: int | str,
) -> _Plot:  # fmt: skip
    seen = pd.concat([days["low"], days["high"], days["value"], marks["value"]]).dropna()
    known = [float(seen.min()), float(seen.max()), float(point["value"])]
    low, high = min(known) // _STEP * _STEP, -(-max(known) // _STEP) * _STEP
    high = max(high, low + _STEP)
    start, end = wall_times([days["time"].min(), days["time"].max()])
    end = max(end, start + pd.Timedelta(days=1))
    ticks = [round(low + i * _STEP, 2) for i in range(round((high - low) / _STEP) + 1)]
    axis = alt.Axis(
        title=None, values=ticks, format=".2f", grid=True, domain=False, ticks=False
    )
    span = Span(
        start=start, end=start + (end - start) * _END, width_px=plot_px(width),
        strip_top=high + (high - low) * _STRIP_SHARE, plot_top=high, plot_bottom=low, axis=axis,
    )  # fmt: skip
    time = _time(start, end, span.end)
    return _Plot(span=span, record_end=end, time=time, palette=palette)


def _time(start: pd.Timestamp, record_end: pd.Timestamp, end: pd.Timestamp) -> dict[str, Any]:
    """Give scale and axis of time; ticks only where there is a record."""
    days = (record_end - start).days
    months = next(one for one in (1, 2, 3, 6, 12, 24, 60) if days / 30.4 / one <= _TICKS + 2)
    every = pd.date_range(start, record_end, freq=f"{months}MS")
    if months >= 12:  # noqa: PLR2004 - months of a year
        every = every[every.month == every[0].month] if len(every) else every
    room = record_end - (record_end - start) * 0.04
    ticks = [alt_time(one) for one in every if one <= room]
    domain = [alt_time(start), alt_time(end)]
    return {
        "scale": alt.Scale(domain=domain, nice=False),
        "axis": alt.Axis(title=None, format="%b %Y", values=ticks, labelOverlap=True),
    }


def _x(plot: _Plot, field: str = "from") -> alt.X:
    """Encode a time of the record."""
    return alt.X(f"{field}:T", **plot.time)


def _band(plot: _Plot, point: dict[str, Any]) -> list[alt.Chart]:
    """Lay the 8-in-10 interval of the point in force under everything."""
    half = EIGHT_IN_TEN * float(point["sd"])
    frame = pd.DataFrame({
        "from": [plot.span.start], "to": [plot.beside(_HISTOGRAM[1])],
        "most": [min(point["value"] + half, plot.span.plot_top)],
        "least": [max(point["value"] - half, plot.span.plot_bottom)],
    })  # fmt: skip
    band = alt.Chart(frame).mark_rect(color=plot.palette.tint, stroke=None)
    return [band.encode(x=_x(plot), x2=alt.X2("to"), y=plot.span.y("most"), y2=alt.Y2("least"))]


def _line(days: pd.DataFrame, plot: _Plot) -> list[alt.Chart]:
    frame = pd.DataFrame({"from": wall_times(days["time"]),
                          "value": days["value"].to_numpy(float)})  # fmt: skip
    after = frame["from"].diff() > pd.Timedelta(days=_BREAK_DAYS)
    holes = frame[after].assign(value=float("nan"))
    holes["from"] -= pd.Timedelta(hours=1)
    whole = pd.concat([frame, holes]) if len(holes) else frame
    tips = [alt.Tooltip("from:T", title="Day", format="%d %b %Y"),
            alt.Tooltip("value:Q", title="m³/m³", format=".3f")]  # fmt: skip
    base = alt.Chart(whole.sort_values("from", ignore_index=True)).encode(x=_x(plot))
    line = base.mark_line(color=plot.palette.muted, strokeWidth=1)
    return [line.encode(y=plot.span.y("value"), tooltip=tips).properties(name=_DRAGGED_OVER)]


def _drag(palette: Palette) -> alt.TopLevelSelectionParameter:
    """Let a band of water contents be dragged over the line."""
    brush = alt.BrushConfig(fill=palette.ink, fillOpacity=0.12, stroke=palette.ink)
    select = alt.IntervalSelectionConfig(type="interval", encodings=["y"], mark=brush)
    return alt.TopLevelSelectionParameter(name=DRAGGED, select=select, views=[_DRAGGED_OVER])


def _bars(histogram: pd.DataFrame, plot: _Plot, step: float) -> list[alt.Chart]:
    if histogram.empty:
        return []
    left, right = (plot.beside(one) for one in _HISTOGRAM)
    share = histogram["days"] / histogram["days"].max()
    frame = pd.DataFrame({
        "from": left, "to": [left + (right - left) * float(one) for one in share],
        "least": histogram["low"], "most": histogram["low"] + 0.9 * step,
        "days": histogram["days"],
    })  # fmt: skip
    inside = (frame["least"] >= plot.span.plot_bottom) & (frame["most"] <= plot.span.plot_top)
    bars = alt.Chart(frame[inside]).mark_rect(color=plot.palette.edge, stroke=None, opacity=0.7)
    tips = [alt.Tooltip("days:Q", title="Days"),
            alt.Tooltip("least:Q", title="m³/m³ from", format=".3f")]  # fmt: skip
    return [
        bars.encode(
            x=_x(plot), x2=alt.X2("to"), y=plot.span.y("least"), y2=alt.Y2("most"), tooltip=tips
        )
    ]


def _level(plot: _Plot, value: float) -> pd.DataFrame:
    return pd.DataFrame({"from": [plot.span.start], "to": [plot.beside(_HISTOGRAM[1])],
                         "at": [value]})  # fmt: skip


def _carried(plot: _Plot, point: dict[str, Any]) -> list[alt.Chart]:
    dash: dict[str, Any] = {} if point["sure"] else {"strokeDash": [6, 4]}
    rule = alt.Chart(_level(plot, point["value"])).mark_rule(
        color=plot.palette.ink, strokeWidth=2, **dash
    )
    return [rule.encode(x=_x(plot), x2=alt.X2("to"), y=plot.span.y("at"))]


def _proposed(plot: _Plot, point: dict[str, Any]) -> list[alt.Chart]:
    value = point.get("proposed")
    if value is None or not plot.span.plot_bottom <= value <= plot.span.plot_top:
        return []
    rule = alt.Chart(_level(plot, value)).mark_rule(color=plot.palette.highlight, strokeWidth=2)
    return [rule.encode(x=_x(plot), x2=alt.X2("to"), y=plot.span.y("at"))]


def _drained(marks: pd.DataFrame, plot: _Plot) -> list[alt.Chart]:
    """Mark what the layer drained to after each wetting."""
    some = marks[marks["on"].notna()]
    if some.empty:
        return []
    frame = pd.DataFrame({"from": wall_times(some["on"]), "value": some["value"].to_numpy()})
    look: dict[str, Any] = {
        "fill": plot.palette.ground,
        "stroke": plot.palette.ink,
        "strokeWidth": 1.6,
    }
    dots = alt.Chart(frame).mark_point(size=42, filled=True, opacity=1, **look)
    tips = [alt.Tooltip("from:T", title="Drained by", format="%d %b %Y"),
            alt.Tooltip("value:Q", title="m³/m³", format=".3f")]  # fmt: skip
    return [dots.encode(x=_x(plot), y=plot.span.y("value"), tooltip=tips)]


def _seasons(marks: pd.DataFrame, plot: _Plot) -> list[alt.Chart]:
    """Set each season's own estimate beside the one carried, as a short bar at its date."""
    some = marks[marks["on"].notna()]
    if some.empty:
        return []
    frame = pd.DataFrame({"from": wall_times(some["on"]), "value": some["value"].to_numpy(),
                          "name": list(some["name"])})  # fmt: skip
    tips = [alt.Tooltip("name:N", title="Estimate of"),
            alt.Tooltip("value:Q", title="m³/m³", format=".3f")]  # fmt: skip
    bars = alt.Chart(frame).encode(x=_x(plot), y=plot.span.y("value"), tooltip=tips)
    return [
        bars.mark_tick(orient="horizontal", size=26, thickness=6, color=plot.palette.ground),
        bars.mark_tick(orient="horizontal", size=24, thickness=3, color=plot.palette.depleted),
    ]


def _names(marks: pd.DataFrame, plot: _Plot, point: dict[str, Any]) -> list[alt.Chart]:
    """Name the candidates beside the histogram, apart from one another, each with its value."""
    told = marks[~marks["kind"].isin(["drained", "season"]) & marks["value"].notna()]
    rows = [(point["name"], float(point["value"]), "ink")]
    rows += [
        (str(n), float(v), "muted") for n, v in zip(told["name"], told["value"], strict=True)
    ]
    if point.get("proposed") is not None:
        rows.append(("yours", float(point["proposed"]), "highlight"))
    span = plot.span
    inside = [row for row in rows if span.plot_bottom <= row[1] <= span.plot_top]
    inside.sort(key=lambda row: -row[1])
    least = _LABEL_SHARE * (span.plot_top - span.plot_bottom)
    places = _spread([row[1] for row in inside], least, span)
    frame = pd.DataFrame({
        "from": plot.beside(_HISTOGRAM[1]), "to": plot.beside(_NAMES_AT),
        "value": [row[1] for row in inside], "at": places, "tone": [row[2] for row in inside],
        "words": [f"{row[1]:.3f} {row[0]}" for row in inside],
    })  # fmt: skip
    return [layer for tone, some in frame.groupby("tone")
            for layer in _named(some, plot, getattr(plot.palette, str(tone)))]  # fmt: skip


def _named(frame: pd.DataFrame, plot: _Plot, colour: str) -> list[alt.Chart]:
    frame = frame.drop(columns="tone")
    leads = alt.Chart(frame).mark_rule(color=colour, strokeWidth=1)
    words = alt.Chart(frame).mark_text(
        align="left", baseline="middle", dx=4, color=colour, fontSize=LEAST_PX
    )
    return [
        leads.encode(x=_x(plot), x2=alt.X2("to"), y=plot.span.y("value"), y2=alt.Y2("at")),
        words.encode(x=_x(plot, "to"), y=plot.span.y("at"), text=alt.Text("words:N")),
    ]


def _spread(values: list[float], least: float, span: Span) -> list[float]:
    """Move names, highest first, apart so that none is nearer than ``least`` to the next."""
    placed: list[float] = []
    for value in values:
        placed.append(min(value, placed[-1] - least) if placed else value)
    below = span.plot_bottom - placed[-1] if placed else 0.0
    if below > 0:
        placed[-1] += below
        for i in range(len(placed) - 2, -1, -1):
            placed[i] = max(placed[i], placed[i + 1] + least)
    return placed
