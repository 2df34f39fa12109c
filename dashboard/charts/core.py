"""The core: the strip itself, and the one of a field's page with its figures beside it."""

import numpy as np

from analytics.units import WATER, System, convert
from dashboard.charts.core_strip import (
    CoreLayer,
    Frame,
    core_label,
    core_layers,
    core_svg,
    data_uri,
    patterns,
    strip,
)  # fmt: skip
from dashboard.charts.palette import Palette
from dashboard.charts.svg import FONT, element, svg, write
from dashboard.words import SPLIT_CM, depth_text, layer_label, short_words, zone_label

__all__ = ["CoreLayer", "core_figure", "core_label", "core_layers", "core_svg", "data_uri"]

_CORE_X, _CORE_Y, _CORE_W = 52.0, 40.0, 80.0
_LABEL_X, _HELD_X, _BRACKET_X = 198.0, 246.0, 306.0
_FIGURE_W = 424.0
_ROW_PX = 14.0


def core_figure(
    layers: tuple[CoreLayer, ...],
    system: System,
    palette: Palette,
    *,
    upper_mm: float | None,
    deep_mm: float | None,
    label: str,
    foot: str = "right edge: full",
    height: float = 240.0,
    split_cm: float = SPLIT_CM,
    root_limit_cm: float | None = None,
) -> str:
    """Draw a core with its depths, the water of each layer and the zones' shortages.

    Parameters
    ----------
    layers : tuple of CoreLayer
        From the surface down.
    system : {"in", "mm"}
        Units of the figures.
    palette : Palette
        Colours.
    upper_mm, deep_mm : float or None
        Shortage of each zone, mm.
    label : str
        What a screen reader says.
    foot : str
        What tick and edge mean, below the strip.
    height : float
        Of the strip, px.
    split_cm : float
        Depth that parts the zones, cm.
    root_limit_cm : float, optional
        Depth of a layer that roots cannot pass, cm: the zones end there.
    """
    depth = max((one.bottom_cm for one in layers), default=split_cm)
    frame = Frame(x=_CORE_X, y=_CORE_Y, width=_CORE_W, height=height, depth_cm=depth,
                   palette=palette)  # fmt: skip
    unit = WATER.shown(system).unit
    depth_unit = "in" if system == "in" else "cm"
    heads = write(_LABEL_X, 28, f"depth, {depth_unit}", fill=palette.muted, anchor="end")
    heads += write(_HELD_X, 28, f"held, {unit}", fill=palette.muted, anchor="middle")
    body = strip(layers, x=frame.x, y=frame.y, width=frame.width, height=height,
                 palette=palette, split_cm=split_cm)  # fmt: skip
    parts = [heads, body, _axis(frame, split_cm, system), _rows(layers, frame, system),
             _brackets(frame, split_cm, (upper_mm, deep_mm), system, root_limit_cm),
             _pan(frame, split_cm, root_limit_cm),
             write(_CORE_X, _CORE_Y + height + 20, foot, fill=palette.muted)]  # fmt: skip
    size = (_FIGURE_W, _CORE_Y + height + 30)
    return svg("".join(parts), size=size, label=label, defs=patterns(palette), font=FONT)


def _axis(frame: Frame, split_cm: float, system: System) -> str:
    depths = [0.0, frame.depth_cm]
    if split_cm < frame.depth_cm:
        depths.insert(1, split_cm)
    return "".join(
        write(frame.x - 10, frame.at(one) + 4, depth_text(one, system),
              fill=frame.palette.muted, anchor="end")
        for one in depths
    )  # fmt: skip


def _spread(centres: list[float], least: float, low: float, high: float) -> list[float]:
    """Move labels apart so that none stands closer than ``least`` to the next."""
    placed: list[float] = []
    for centre in centres:
        placed.append(max(centre, placed[-1] + least) if placed else max(centre, low))
    over = placed[-1] - high if placed else 0.0
    if over > 0:
        placed[-1] -= over
        for i in range(len(placed) - 2, -1, -1):
            placed[i] = min(placed[i], placed[i + 1] - least)
    return placed


def _rows(layers: tuple[CoreLayer, ...], frame: Frame, system: System) -> str:
    centres = [(frame.at(one.top_cm) + frame.at(one.bottom_cm)) / 2 for one in layers]
    placed = _spread(centres, _ROW_PX, frame.y + 4, frame.y + frame.height - 4)
    return "".join(
        _row(layer, at + 4, frame.palette, system)
        for layer, at in zip(layers, placed, strict=True)
    )


def _row(layer: CoreLayer, y: float, palette: Palette, system: System) -> str:
    depth = write(_LABEL_X, y, layer_label(layer.top_cm, layer.bottom_cm, system),
                  fill=palette.muted, anchor="end")  # fmt: skip
    if not layer.known:
        return depth + write(_HELD_X, y, "not known", fill=palette.muted, anchor="middle")
    digits = WATER.shown(system).digits
    holds, room = (
        f"{round(convert(one, WATER, system), digits) + 0.0:.{digits}f}".replace("-", "−")
        for one in (layer.holds_mm, layer.room_mm)
    )
    return (
        depth
        + write(_HELD_X - 6, y, holds, fill=palette.ink, anchor="end", weight=700)
        + write(_HELD_X, y, f"of {room}", fill=palette.muted)
    )


def _brackets(
    frame: Frame, split_cm: float, shorts: tuple[float | None, float | None], system: System,
    root_limit_cm: float | None,
) -> str:  # fmt: skip
    upper, deep = (zone_label(zone, system, split_cm) for zone in ("upper", "deep"))
    floor = min(frame.depth_cm, root_limit_cm or np.inf)
    edge = min(split_cm, floor)
    drawn = _bracket(frame, (0.0, edge), shorts[0], system, upper)
    if edge >= floor:
        return drawn
    return drawn + _bracket(frame, (edge, floor), shorts[1], system, deep)


def _pan(frame: Frame, split_cm: float, root_limit_cm: float | None) -> str:
    """Mark the depth at which roots stop, where the probe goes deeper."""
    if root_limit_cm is None or root_limit_cm >= frame.depth_cm:
        return ""
    at, palette = frame.at(root_limit_cm), frame.palette
    last = split_cm if split_cm < root_limit_cm else 0.0  # where the lowest bracket begins
    below = (frame.at(last) + at) / 2 + 32  # under the name of the bracket
    line = element("path", d=f"M{frame.x - 6:g} {at:.1f}H{frame.x + frame.width + 6:g}",
                   fill="none", stroke=palette.ink, stroke_width=1.8,
                   stroke_dasharray="6 3")  # fmt: skip
    return line + write(_BRACKET_X + 9, max(at + 5, below), "roots stop", fill=palette.muted)


def _bracket(
    frame: Frame, span: tuple[float, float], short_mm: float | None, system: System, name: str
) -> str:
    palette, deep = frame.palette, span[0] > 0
    top, bottom = frame.at(span[0]) + 3, frame.at(span[1]) - 3
    middle, x = (top + bottom) / 2, _BRACKET_X
    path = element("path", d=f"M{x - 5:g} {top:.1f}H{x:g}V{bottom:.1f}H{x - 5:g}",
                   fill="none", stroke=palette.edge, stroke_width=1.4)  # fmt: skip
    figure = write(x + 9, middle, short_words(short_mm, system), fill=palette.ink,
                   weight=700 if deep else 400, size=16 if deep else 13)  # fmt: skip
    return path + figure + write(x + 9, middle + 17, name, fill=palette.muted)
