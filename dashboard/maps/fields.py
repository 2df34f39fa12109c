"""Fields by class of fill, with the number inside, and the ring round the selected one."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import folium
import geopandas as gpd
import pandas as pd
from shapely import box
from shapely.geometry.base import BaseGeometry

from dashboard.charts.palette import Palette, class_colour, letter, text_on
from dashboard.maps.labels import name_style, placed_names
from dashboard.maps.shapes import across_m, circle_of, pixels_per_metre
from dashboard.maps.sketch import Drawn, Sketch

_LETTER_PX, _DOT_PX = 28.0, 14.0
_STRONG = ("depleted", "low")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Field:
    """One field as drawn: where, how large on the first view, what it shows."""

    shape: BaseGeometry
    name: str
    value_text: str
    code: str | None
    known: bool
    held: bool
    silent: bool
    tooltip: str
    pixels: float


def field_sketch(
    fields: gpd.GeoDataFrame,
    shown: pd.DataFrame,
    palette: Palette,
    selected: str | None = None,
    names: Iterable[str] = (),
) -> str:
    """Sketch every field by its class, with the number inside it.

    Parameters
    ----------
    fields : GeoDataFrame
        Columns field, name (optional), geometry; WGS 84.
    shown : DataFrame
        Columns field, value_text, code, known, held, silent, tooltip. A field without a row is
        drawn as not known.
    palette : Palette
        Colours.
    selected : str, optional
        Its name is written too (the ring is a group of its own, ``selection_ring``).
    names : iterable of str
        Field ids whose names are written.

    Returns
    -------
    str
        Text to keep, drawn by ``field_group``; empty where no field is drawn.
    """
    drawn = _drawn(fields, shown)
    sketch = Sketch()
    for one in drawn.values():
        _outline(sketch, one, palette)
        _overlays(sketch, one, palette)
        _number(sketch, one, palette)
    for place, words in placed_names(drawn, selected, names):
        sketch.write(place, words, name_style(palette.ink, drop_px=2), "ow-name")
    return sketch.told() if drawn else ""


def field_group(told: str) -> folium.FeatureGroup:
    """Draw what ``field_sketch`` told."""
    group = folium.FeatureGroup(name="fields", control=False)
    if told:
        Drawn(told).add_to(group)
    return group


def _drawn(fields: gpd.GeoDataFrame, shown: pd.DataFrame) -> dict[str, _Field]:
    told = {str(row["field"]): row for row in shown.to_dict("records")}
    there = [one for one in fields.geometry if one is not None and not one.is_empty]
    pixels_per_m = pixels_per_metre(there)
    drawn = {}
    for row in fields.to_dict("records"):
        field, shape = str(row["field"]), row["geometry"]
        if shape is None or shape.is_empty:
            continue
        name = row.get("name")
        name = name if isinstance(name, str) and name else field
        drawn[field] = _one(shape, name, told.get(field, {}), pixels_per_m)
    return drawn


def _one(shape: BaseGeometry, name: str, told: dict[Any, Any], pixels_per_m: float) -> _Field:
    code = told.get("code")
    known = isinstance(code, str) and _true(told.get("known", True))
    tooltip, value = told.get("tooltip"), told.get("value_text")
    return _Field(
        shape=shape, name=name, known=known, code=code if isinstance(code, str) else None,
        value_text=value if isinstance(value, str) else "", held=_true(told.get("held")),
        silent=_true(told.get("silent")), pixels=across_m(shape) * pixels_per_m,
        tooltip=tooltip if isinstance(tooltip, str) else f"{name}: not known",
    )  # fmt: skip


def _true(value: object) -> bool:
    return value is not None and not pd.isna(value) and bool(value)  # type: ignore[arg-type]


def _outline(sketch: Sketch, one: _Field, palette: Palette) -> None:
    fill = class_colour(palette, one.code) if one.known and one.code else "url(#ow-hatch)"
    sketch.draw(one.shape, one.tooltip, color=palette.edge, weight=1, opacity=1,
                fill=True, fillColor=fill, fillOpacity=1)  # fmt: skip


def _overlays(sketch: Sketch, one: _Field, palette: Palette) -> None:
    if one.silent and one.known:
        half = one.shape.intersection(_lower_half(one.shape))
        sketch.draw(half, stroke=False, fill=True, fillColor="url(#ow-silent)",
                    fillOpacity=0.6, interactive=False)  # fmt: skip
    if one.held:
        sketch.draw(one.shape, color=palette.ink, weight=4, opacity=1, fill=False,
                    dashArray="0.1 7", lineCap="round", interactive=False)  # fmt: skip


def _lower_half(shape: BaseGeometry) -> BaseGeometry:
    west, south, east, north = shape.bounds
    return box(west, south, east, (south + north) / 2)


def _number(sketch: Sketch, one: _Field, palette: Palette) -> None:
    if not one.known or one.code is None:
        halo = f"{palette.ink};text-shadow:{_halo(palette)}"
        _mark(sketch, one, "?", halo, 16, 700)
        return
    strong = one.code in _STRONG
    colour = text_on(palette, one.code)
    if one.pixels < _DOT_PX:
        if strong:
            _mark(sketch, one, "•", colour, 12, 700)
        return
    words = one.value_text if one.pixels >= _LETTER_PX else letter(one.code)
    _mark(sketch, one, words, colour, 16 if strong else 14, 700 if strong else 400)


def _halo(palette: Palette) -> str:
    """Set a sign off from the hatch beneath it."""
    return ",".join([f"0 0 3px {palette.ground}"] * 4)


def _mark(  # noqa: PLR0917 - where, what and three of its looks
    sketch: Sketch, one: _Field, words: str, colour: str, size: int, weight: int
) -> None:
    centre = one.shape.centroid if circle_of(one.shape) else one.shape.representative_point()
    css = f"color:{colour};font-size:{size}px;font-weight:{weight};"
    sketch.write((centre.y, centre.x), words, css, "ow-number")


def selection_ring(geometry: BaseGeometry, palette: Palette) -> folium.FeatureGroup:
    """Draw the ring round the selected field: a gap of ground, then the highlight.

    Parameters
    ----------
    geometry : geometry
        The field's boundary, WGS 84.
    palette : Palette
        Colours.
    """
    group = folium.FeatureGroup(name="selected", control=False)
    sketch = Sketch()
    # Strokes are centred on the boundary: 14 px leave 4 px of highlight outside 3 px of gap.
    # Given to the map before the fields, the field itself covers their inner half.
    for colour, weight in ((palette.highlight, 14), (palette.ground, 6)):
        sketch.draw(geometry, color=colour, weight=weight, opacity=1, fill=False,
                    interactive=False)  # fmt: skip
    Drawn(sketch.told()).add_to(group)
    return group
