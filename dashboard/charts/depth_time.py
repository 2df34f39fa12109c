"""Each layer, week by week, to scale: class of fill over depth and time."""

from typing import Any

import altair as alt
import pandas as pd

from analytics.units import System
from dashboard.charts.key import key_layers
from dashboard.charts.notes import note_layers
from dashboard.charts.palette import CODES, Palette, class_colour
from dashboard.charts.strip import Span, strip_layers
from dashboard.charts.texture import Box, dotting, hatching
from dashboard.charts.theme import choice, layered, plot_px, wall_times
from dashboard.words import (
    SPLIT_CM,
    class_name,
    day_text,
    depth_text,
    layer_label,
)

WEEK = pd.Timedelta(days=7)
_STRIP_PX = 24.0
_MID_DEPTH_CM, _APART_CM = 150.0, 40.0  # one more label where there is room


def depth_by_time(
    layers_weekly: pd.DataFrame,
    strip: pd.DataFrame,
    notes: pd.DataFrame,
    palette: Palette,
    system: System,
    *,
    width: int | str = "container",
    height: int = 340,
    split_cm: float = SPLIT_CM,
    root_limit_cm: float | None = None,
) -> alt.LayerChart:
    """Draw the depth-by-time picture.

    Parameters
    ----------
    layers_weekly : DataFrame
        Columns date (first day of the week), depth_cm, top_cm, bottom_cm, fill, class, held.
        A week without a class is drawn as not known. Must not be empty.
    strip : DataFrame
        Columns from, to, label, kind ("crop" or "offseason").
    notes : DataFrame
        Columns date, depth_cm, text; at most four are drawn.
    palette : Palette
        Colours.
    system : {"in", "mm"}
        Units of the depth axis.
    width : int or "container"
        Px.
    height : int
        Px, with the strip above; the time axis and the key come below it.
    split_cm : float
        Depth of the dashed line, cm.
    root_limit_cm : float, optional
        Depth of a layer that roots cannot pass, cm: a line of longer dashes.

    Returns
    -------
    LayerChart
        Weeks alike are joined, so that it carries runs, not weeks.
    """
    spells = runs(layers_weekly)
    bottom = float(spells["bottom_cm"].max())
    px_per_cm = (height - _STRIP_PX) / bottom
    span = Span(
        start=spells["from"].min(), end=spells["to"].max(), width_px=plot_px(width),
        strip_top=-_STRIP_PX / px_per_cm, plot_top=0.0, plot_bottom=bottom,
        axis=_depth_axis(bottom, system, split_cm),
    )  # fmt: skip
    layers: list[Any] = [
        *_rects(spells, span, palette, system),
        _hatch(spells, span, palette, px_per_cm),
        _dots(spells, span, palette, px_per_cm),
        *_across(span, palette, split_cm, [4, 3]),
        *_across(span, palette, root_limit_cm or bottom, [12, 4]),
        *strip_layers(strip, span, palette),
        *note_layers(notes, span, palette, px_per_cm=px_per_cm),
        *key_layers(palette),
    ]
    return layered(layers, palette, width=width, height=height)


def runs(weekly: pd.DataFrame) -> pd.DataFrame:
    """Join weeks of one layer that are alike and follow one another.

    Parameters
    ----------
    weekly : DataFrame
        As ``depth_by_time`` takes it.

    Returns
    -------
    DataFrame
        Columns top_cm, bottom_cm, code (None where not known), held, from, to.
    """
    frame = pd.DataFrame({
        "from": wall_times(weekly["date"]), "top_cm": weekly["top_cm"].to_numpy(float),
        "bottom_cm": weekly["bottom_cm"].to_numpy(float),
        "code": [one if one in CODES else "" for one in weekly["class"]],
        "held": weekly["held"].fillna(value=False).to_numpy(bool),
    }).sort_values(["top_cm", "from"], ignore_index=True)  # fmt: skip
    frame["to"] = frame["from"] + WEEK
    before = frame.shift(1)
    same = frame[["top_cm", "code", "held"]].eq(before[["top_cm", "code", "held"]]).all(axis=1)
    number = (~(same & (frame["from"] == before["to"]))).cumsum()
    joined = frame.groupby(number).agg(
        {"top_cm": "first", "bottom_cm": "first", "code": "first", "held": "first",
         "from": "min", "to": "max"}
    )  # fmt: skip
    return joined.reset_index(drop=True)


def _rects(
    spells: pd.DataFrame, span: Span, palette: Palette, system: System
) -> list[alt.Chart]:
    told = spells.assign(
        state=[f"{class_name(code)}{', held' if held else ''}"
               for code, held in zip(spells["code"], spells["held"], strict=True)],
        layer=[f"{layer_label(a, b, system)} {'in' if system == 'in' else 'cm'}"
               for a, b in zip(spells["top_cm"], spells["bottom_cm"], strict=True)],
        first=[day_text(one) for one in spells["from"]],
        until=[day_text(one) for one in spells["to"]],
    )  # fmt: skip
    unknown, held = told["code"] == "", told["held"]
    return [
        _rect(told[~unknown & ~held], span, palette).mark_rect(strokeWidth=0.7),
        _rect(told[~unknown & held], span, palette).mark_rect(opacity=0.5, strokeWidth=0),
        _rect(told[unknown], span, palette).mark_rect(opacity=0.01),  # for its tooltip only
    ]


def _rect(told: pd.DataFrame, span: Span, palette: Palette) -> alt.Chart:
    colours = alt.Scale(domain=[*CODES], range=[class_colour(palette, one) for one in CODES])
    return alt.Chart(told).encode(
        x=span.x(), x2=alt.X2("to"),
        y=span.y("top_cm"), y2=alt.Y2("bottom_cm"),
        color=alt.Color("code:N", scale=colours, legend=None),
        stroke=alt.Stroke("code:N", scale=colours, legend=None),
        tooltip=[alt.Tooltip("layer:N", title="Layer"), alt.Tooltip("state:N", title="Water"),
                 alt.Tooltip("first:N", title="From"), alt.Tooltip("until:N", title="To")],
    )  # fmt: skip


def _depth_axis(bottom: float, system: System, split_cm: float) -> alt.Axis:
    depths = [0.0, bottom]
    if split_cm < bottom:
        depths.insert(1, split_cm)
    if depths[-2] + _APART_CM < _MID_DEPTH_CM < bottom - _APART_CM:
        depths.insert(-1, _MID_DEPTH_CM)
    labels = {one: depth_text(one, system) for one in depths}
    return alt.Axis(
        values=depths,
        labelExpr=choice("datum.value", labels),
        title=None,
        grid=False,
        domain=False,
    )


def _boxes(spells: pd.DataFrame, span: Span, px_per_cm: float) -> list[Box]:
    return [
        Box(left=span.px(a), right=span.px(b), top=top * px_per_cm, bottom=bottom * px_per_cm)
        for a, b, top, bottom in zip(spells["from"], spells["to"], spells["top_cm"],
                                     spells["bottom_cm"], strict=True)
    ]  # fmt: skip


def _hatch(spells: pd.DataFrame, span: Span, palette: Palette, px_per_cm: float) -> alt.Chart:
    lines = hatching(_boxes(spells[spells["code"] == ""], span, px_per_cm))
    frame = pd.DataFrame({
        "from": wall_times([span.when(one[0]) for one in lines]),
        "to": wall_times([span.when(one[2]) for one in lines]),
        "top": [one[1] / px_per_cm for one in lines],
        "bottom": [one[3] / px_per_cm for one in lines],
    })  # fmt: skip
    return alt.Chart(frame).mark_rule(color=palette.edge, strokeWidth=2).encode(
        x=span.x(), x2=alt.X2("to"),
        y=span.y("top"), y2=alt.Y2("bottom"))  # fmt: skip


def _dots(spells: pd.DataFrame, span: Span, palette: Palette, px_per_cm: float) -> alt.Chart:
    points = dotting(_boxes(spells[spells["held"] & (spells["code"] != "")], span, px_per_cm))
    frame = pd.DataFrame({"from": wall_times([span.when(x) for x, _ in points]),
                          "depth": [y / px_per_cm for _, y in points]})  # fmt: skip
    return alt.Chart(frame).mark_circle(color=palette.ink, size=5.7, opacity=1).encode(
        x=span.x(), y=span.y("depth"))  # fmt: skip


def _across(span: Span, palette: Palette, depth_cm: float, dash: list[int]) -> list[alt.Chart]:
    """Draw a dashed line through the soil at a depth above the probe's foot."""
    if depth_cm >= span.plot_bottom:
        return []
    base = alt.Chart(pd.DataFrame({"depth": [depth_cm]})).encode(
        y=span.y("depth"))  # fmt: skip
    return [base.mark_rule(color=palette.ground, strokeWidth=3),
            base.mark_rule(color=palette.ink, strokeWidth=1.4, strokeDash=dash)]  # fmt: skip
