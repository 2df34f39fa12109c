"""The core: a vertical strip of the soil, layers to scale of depth, drawn as SVG.

White space in a layer is the shortage. The right edge is the full mark; the tick is what the
last crop left.
"""

import base64
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import pandas as pd

from analytics.units import System
from dashboard.charts.palette import CODES, Palette, class_colour
from dashboard.charts.svg import hatch, held_dots, line, rect, svg
from dashboard.words import SPLIT_CM, short_words, zone_label

MARGIN_X, MARGIN_Y = 6.0, 2.0
_SURE = ("learned", "set")
_SMALL_PX = 40.0
_NOTCH_PX = 5.0
_OVERRUN_PX = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CoreLayer:
    """One layer of a core.

    Attributes
    ----------
    top_cm, bottom_cm : float
        Its edges.
    fill : float
        Share of available water held; NaN where not known; above 1 where wetter than full.
    left_fill : float
        The same at the last harvest; NaN where not known.
    code : str or None
        Class of fill.
    known, held, unsure : bool
        Whether it is known at all, held under frost, and whether its full point is unsure.
    holds_mm, room_mm : float
        Available water held, and how much the layer can hold.
    """

    top_cm: float
    bottom_cm: float
    fill: float
    left_fill: float
    code: str | None
    known: bool
    held: bool
    unsure: bool
    holds_mm: float = math.nan
    room_mm: float = math.nan


_NAN = math.nan  # always the same one, so that like layers are equal and drawn once
_READ = ("site", "top_cm", "bottom_cm", "fill", "full_mm", "lower_mm", "water_mm", "left_mm",
         "class", "held", "basis")  # fmt: skip


def core_layers(rows: pd.DataFrame) -> tuple[CoreLayer, ...]:
    """Read a core out of readiness rows.

    Parameters
    ----------
    rows : DataFrame
        Rows of ``readiness`` of one site and date; only ``zone == "layer"`` is used.

    Returns
    -------
    tuple of CoreLayer
        From the surface down.
    """
    return tuple(_layer(one) for one in _ordered(rows))


def cores_of(rows: pd.DataFrame) -> dict[str, tuple[CoreLayer, ...]]:
    """Read the cores of many sites at once: a frame cut out for each takes ten times as long.

    Parameters
    ----------
    rows : DataFrame
        As ``core_layers`` takes them, of any number of sites.

    Returns
    -------
    dict of str to tuple of CoreLayer
        By site.
    """
    cores: dict[str, list[CoreLayer]] = {}
    for one in _ordered(rows):
        cores.setdefault(str(one["site"]), []).append(_layer(one))
    return {site: tuple(layers) for site, layers in cores.items()}


def _ordered(rows: pd.DataFrame) -> Iterator[dict[Any, Any]]:
    """Give what is read of each layer, from the surface down."""
    if "zone" in rows:
        rows = rows[rows["zone"] == "layer"]
    ordered = rows.sort_values("top_cm", kind="stable")
    columns = {name: ordered[name].tolist() for name in _READ if name in ordered}
    for values in zip(*columns.values(), strict=True):
        yield dict(zip(columns, values, strict=True))


def _layer(row: dict[Any, Any]) -> CoreLayer:
    full, water, left, lower = (
        _real(row.get(name)) for name in ("full_mm", "water_mm", "left_mm", "lower_mm")
    )
    room, holds = full - lower, water - lower
    code = row.get("class")
    fill = _real(row.get("fill"))
    known = code in CODES and fill == fill  # noqa: PLR0124 - NaN is not known
    return CoreLayer(
        top_cm=float(row["top_cm"]), bottom_cm=float(row["bottom_cm"]), fill=fill,
        left_fill=_real((left - lower) / room) if room > 0 else _NAN,
        code=code if known else None, known=known, held=_true(row.get("held")),
        unsure=not str(row.get("basis")).startswith(_SURE), holds_mm=_real(holds),
        room_mm=_real(room),
    )  # fmt: skip


def _real(value: object) -> float:
    return _NAN if value is None or pd.isna(value) else float(value)  # type: ignore[arg-type]


def _true(value: object) -> bool:
    return value is not None and not pd.isna(value) and bool(value)  # type: ignore[arg-type]


@lru_cache(maxsize=2048)  # a list of fields asks for the same ones at every click
def core_svg(
    layers: tuple[CoreLayer, ...],
    *,
    width: float,
    height: float,
    palette: Palette,
    split_cm: float = SPLIT_CM,
    label: str,
) -> str:
    """Draw a core without text.

    Parameters
    ----------
    layers : tuple of CoreLayer
        From the surface down; may be empty (nothing known: one hatched strip).
    width, height : float
        Of the strip, px; the picture is 12 px wider and 4 px higher.
    palette : Palette
        Colours.
    split_cm : float
        Depth of the notches, cm.
    label : str
        What a screen reader says.
    """
    inside = strip(layers, x=MARGIN_X, y=MARGIN_Y, width=width, height=height,
                   palette=palette, split_cm=split_cm)  # fmt: skip
    size = (width + 2 * MARGIN_X, height + 2 * MARGIN_Y)
    return svg(inside, size=size, label=label, defs=patterns(palette))


def patterns(palette: Palette) -> str:
    """Define what ``strip`` fills layers with."""
    return hatch(palette, "hatch") + held_dots(palette, "held")


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Where a strip stands in its picture, px, and how deep it reaches."""

    x: float
    y: float
    width: float
    height: float
    depth_cm: float
    palette: Palette

    def at(self, depth_cm: float) -> float:
        """Give the height of a depth, px down."""
        return self.y + self.height * depth_cm / self.depth_cm

    @property
    def right(self) -> float:
        """Right edge: the full mark, px."""
        return self.x + self.width

    @property
    def small(self) -> bool:
        """Whether it stands in a list."""
        return self.width < _SMALL_PX

    @property
    def mark_px(self) -> float:
        """Width of the full mark."""
        return 1.8 if self.small else 2.4


def strip(
    layers: tuple[CoreLayer, ...],
    *,
    x: float,
    y: float,
    width: float,
    height: float,
    palette: Palette,
    split_cm: float = SPLIT_CM,
) -> str:
    """Draw the strip itself as SVG elements, for a picture that is made of several parts.

    The patterns ``hatch`` and ``held`` must be defined in the picture.
    """
    depth = max((one.bottom_cm for one in layers), default=1.0)
    frame = Frame(x=x, y=y, width=width, height=height, depth_cm=depth, palette=palette)
    if not layers:
        return rect(x, y, width, height, fill="url(#hatch)", stroke=palette.edge)
    tracks = "".join(_track(one, frame) for one in layers)
    marks = "".join(_full_mark(one, frame) for one in layers)
    return tracks + marks + _notches(frame, split_cm)


def _track(layer: CoreLayer, frame: Frame) -> str:
    palette = frame.palette
    top, bottom = frame.at(layer.top_cm), frame.at(layer.bottom_cm)
    box = (frame.x, top, frame.width, bottom - top)
    if not layer.known or layer.code is None:
        return rect(*box, fill="url(#hatch)", stroke=palette.edge, stroke_width=0.8)
    track = rect(*box, fill=palette.ground, stroke=palette.line, stroke_width=0.8)
    outline = rect(*box, fill="none", stroke=palette.edge, stroke_width=0.6)
    return track + _bar(layer, frame, top, bottom) + outline + _tick(layer, frame, top, bottom)


def _bar(layer: CoreLayer, frame: Frame, top: float, bottom: float) -> str:
    palette, code = frame.palette, layer.code or ""
    width = frame.width * min(max(layer.fill, 0.0), 1.0)
    box = (frame.x, top, width, bottom - top)
    end = frame.x + width
    fill = rect(*box, fill=class_colour(palette, code), fill_opacity=0.5 if layer.held else 1)
    dots = rect(*box, fill="url(#held)") if layer.held else ""
    dash = "3 2" if layer.held else None
    return fill + dots + line(end, top, end, bottom, stroke=palette.edge, width=1.0, dash=dash)


def _tick(layer: CoreLayer, frame: Frame, top: float, bottom: float) -> str:
    if layer.left_fill != layer.left_fill:
        return ""
    at = frame.x + frame.width * min(max(layer.left_fill, 0.0), 1.0)
    ink = 1.0 if frame.small else 1.8
    halo = line(at, top, at, bottom, stroke=frame.palette.ground, width=ink + 2.4)
    return halo + line(at, top, at, bottom, stroke=frame.palette.ink, width=ink)


def _full_mark(layer: CoreLayer, frame: Frame) -> str:
    top, bottom, right = frame.at(layer.top_cm), frame.at(layer.bottom_cm), frame.right
    dash = "3 2" if layer.unsure or not layer.known else None
    mark = line(
        right, top, right, bottom, stroke=frame.palette.ink, width=frame.mark_px, dash=dash
    )
    if not layer.known or layer.fill <= 1.0:
        return mark
    inset = min(1.0, (bottom - top) / 4)
    return mark + rect(right + frame.mark_px / 2, top + inset, _OVERRUN_PX,
                       bottom - top - 2 * inset, fill=frame.palette.ink)  # fmt: skip


def _notches(frame: Frame, split_cm: float) -> str:
    if not 0 < split_cm < frame.depth_cm:
        return ""
    at, ink = frame.at(split_cm), frame.palette.ink
    left = line(frame.x - _NOTCH_PX, at, frame.x, at, stroke=ink, width=1.2)
    return left + line(frame.right, at, frame.right + _NOTCH_PX + 1, at, stroke=ink, width=1.2)


def core_label(
    name: str,
    upper_mm: float | None,
    deep_mm: float | None,
    system: System,
    split_cm: float = SPLIT_CM,
) -> str:
    """Say a core in words: "1.1 in short in the upper 3 ft, nothing short below 3 ft"."""
    upper, deep = (zone_label(zone, system, split_cm) for zone in ("upper", "deep"))
    return (
        f"{name}: {short_words(upper_mm, system)} in the {upper}, "
        f"{short_words(deep_mm, system)} {deep}"
    )


def data_uri(picture: str) -> str:
    """Wrap an SVG as a ``data:`` address, for a table's image column."""
    packed = base64.b64encode(picture.encode()).decode("ascii")
    return f"data:image/svg+xml;base64,{packed}"
