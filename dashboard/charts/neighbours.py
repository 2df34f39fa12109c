"""Fields side by side: each layer's water on one scale, and how a district is spread."""

from dataclasses import dataclass

import altair as alt
import pandas as pd

from analytics.units import CM_PER_FOOT, WATER, System, convert
from dashboard.charts.core_strip import CoreLayer, patterns
from dashboard.charts.palette import Palette, class_colour
from dashboard.charts.svg import FONT, line, rect, svg, write
from dashboard.charts.theme import layered
from dashboard.words import SPLIT_CM, depth_text

_LEFT, _TOP, _COLUMN, _GAP, _HEIGHT = 46.0, 46.0, 128.0, 26.0, 300.0
_NAME_LETTERS = 18
_PER_CM = {"in": CM_PER_FOOT, "mm": 10.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One field of the small multiples: its name, a line under it, its layers."""

    name: str
    under: str
    layers: tuple[CoreLayer, ...]


def side_by_side(
    columns: list[Column],
    system: System,
    palette: Palette,
    *,
    label: str,
    split_cm: float = SPLIT_CM,
) -> str:
    """Draw each field's layers as bars of available water, all on one scale and depth.

    Parameters
    ----------
    columns : list of Column
        The field chosen first.
    system : {"in", "mm"}
        Inches a foot of soil, or mm in 10 cm.
    palette : Palette
        Colours.
    label : str
        What a screen reader says.
    split_cm : float
        Depth that parts the zones, cm.
    """
    deepest = max((x.bottom_cm for one in columns for x in one.layers), default=split_cm)
    most = max((_rich(x, x.room_mm) for one in columns for x in one.layers if x.known),
               default=1.0)  # fmt: skip
    parts = [_depths(deepest, split_cm, len(columns), system, palette)]
    for i, one in enumerate(columns):
        x = _LEFT + i * (_COLUMN + _GAP)
        parts.append(_column(one, x, deepest, most, palette, chosen=i == 0))
        parts.append(_scale(x, most, system, palette))
    size = (_LEFT + len(columns) * (_COLUMN + _GAP), _TOP + _HEIGHT + 40)
    return svg("".join(parts), size=size, label=label, defs=patterns(palette), font=FONT)


def _rich(layer: CoreLayer, water_mm: float) -> float:
    """Give water for each cm of soil, mm."""
    return water_mm / (layer.bottom_cm - layer.top_cm)


def _depths(deepest: float, split: float, count: int, system: System, palette: Palette) -> str:
    drawn = ""
    for depth in (0.0, split, deepest) if split < deepest else (0.0, deepest):
        y = _TOP + _HEIGHT * depth / deepest
        drawn += write(_LEFT - 8, y + 4, depth_text(depth, system), fill=palette.muted,
                       anchor="end")  # fmt: skip
    if split < deepest:
        y = _TOP + _HEIGHT * split / deepest
        drawn += line(_LEFT - 4, y, _LEFT + count * (_COLUMN + _GAP) - _GAP, y,
                      stroke=palette.ink, width=1.0, dash="4 3")  # fmt: skip
    return drawn


def _column(
    one: Column, x: float, deepest: float, most: float, palette: Palette, *, chosen: bool
) -> str:
    short = one.name if len(one.name) <= _NAME_LETTERS else f"{one.name[: _NAME_LETTERS - 1]}…"
    colour = palette.highlight if chosen else palette.ink
    drawn = write(x, 16, short, fill=colour, weight=700, size=15)
    drawn += write(x, 34, one.under, fill=palette.muted)
    for layer in one.layers:
        top = _TOP + _HEIGHT * layer.top_cm / deepest
        tall = _HEIGHT * (layer.bottom_cm - layer.top_cm) / deepest
        drawn += _bar(layer, (x, top, tall), _COLUMN / most, palette)
    return drawn


def _bar(layer: CoreLayer, box: tuple[float, float, float], px: float, palette: Palette) -> str:
    x, top, tall = box
    if not layer.known or layer.code is None:
        return rect(x, top, _COLUMN, tall, fill="url(#hatch)", stroke=palette.edge,
                    stroke_width=0.8)  # fmt: skip
    room = px * _rich(layer, layer.room_mm)
    held = min(px * _rich(layer, max(layer.holds_mm, 0.0)), _COLUMN)
    drawn = rect(x, top, held, tall, fill=class_colour(palette, layer.code),
                 fill_opacity=0.5 if layer.held else 1)  # fmt: skip
    drawn += rect(x, top, held, tall, fill="url(#held)") if layer.held else ""
    drawn += rect(x, top, room, tall, fill="none", stroke=palette.edge, stroke_width=0.8)
    drawn += line(x + room, top, x + room, top + tall, stroke=palette.ink, width=1.8,
                  dash="3 2" if layer.unsure else None)  # fmt: skip
    if layer.left_fill != layer.left_fill:
        return drawn
    at = x + room * min(max(layer.left_fill, 0.0), 1.0)
    halo = line(at, top, at, top + tall, stroke=palette.ground, width=4.0)
    return drawn + halo + line(at, top, at, top + tall, stroke=palette.ink, width=1.8)


def _scale(x: float, most: float, system: System, palette: Palette) -> str:
    unit = "in/ft" if system == "in" else "mm/10 cm"
    top = convert(most * _PER_CM[system], WATER, system)
    y = _TOP + _HEIGHT + 18
    return (
        write(x, y, "0", fill=palette.muted)
        + write(x + _COLUMN, y, f"{top:.1f} {unit}", fill=palette.muted, anchor="end")
    )  # fmt: skip


def spread(
    rows: pd.DataFrame, system: System, palette: Palette, *, chosen: str, title: str,
    width: int | str = "container",
) -> alt.LayerChart:  # fmt: skip
    """Draw how short the fields of each group are: a circle a field, the middle one a line.

    Parameters
    ----------
    rows : DataFrame
        Columns field, name, group (text), short_mm; none empty.
    system : {"in", "mm"}
        Units of the axis.
    palette : Palette
        Colours.
    chosen : str
        Field that is filled.
    title : str
        Of the axis, with its unit.
    width : int or str
        Px, or "container".
    """
    factor = WATER.shown(system).factor
    shown = rows.assign(short=rows["short_mm"] * factor, mine=rows["field"] == chosen)
    counts = shown.groupby("group")["short"].agg(["median", "size"])
    order = list(counts.sort_values("median", ascending=False).index)
    named = {one: f"{one} ({counts.loc[one, 'size']})" for one in order}
    shown = shown.assign(group=shown["group"].map(named))
    middle = counts.reset_index().assign(group=lambda d: d["group"].map(named))
    y = alt.Y("group:N", sort=[named[one] for one in order],
              axis=alt.Axis(title=None, labelLimit=180))  # fmt: skip
    x = alt.X("short:Q", axis=alt.Axis(title=title, tickCount=5),
              scale=alt.Scale(zero=True))  # fmt: skip
    fill = alt.condition("datum.mine", alt.value(palette.highlight), alt.value(palette.ground))
    dots = alt.Chart(shown).mark_point(size=90, filled=True, strokeWidth=1.6, opacity=1).encode(
        x=x, y=y, fill=fill, stroke=alt.value(palette.ink),
        tooltip=[alt.Tooltip("name:N", title="Field"),
                 alt.Tooltip("short:Q", title=title, format=".1f")],
    )  # fmt: skip
    lines = (
        alt.Chart(middle)
        .mark_tick(thickness=3, size=26, color=palette.ink)
        .encode(x=alt.X("median:Q", title=title), y=y)
    )
    height = 44 * max(len(order), 1)
    return layered([dots, lines], palette, width=width, height=height)
