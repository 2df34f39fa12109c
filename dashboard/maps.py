"""The map: fields by class of fill, on a plain ground, with nothing fetched from outside.

The base map is built once; what changes (classes, selection) comes as feature groups, so that
zoom and place stay. A click is read as a place (latitude, longitude): find the field by its
boundary with ``field_at``. That is exact for circles and polygons alike.
"""

import html
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import folium
import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from branca.element import MacroElement
from folium.template import Template
from shapely import Point, box
from shapely.affinity import scale as stretch
from shapely.geometry.base import BaseGeometry

from analytics.units import KM_PER_MILE, System
from dashboard.charts.palette import Palette, class_colour, letter, text_on
from dashboard.charts.svg import FONT, element, hatch, rect

Bounds = tuple[float, float, float, float]  # west, south, east, north, degrees

M_PER_DEGREE = 111_320.0  # along a meridian, mean; drawing only, nothing is measured with it
_ROUND = 0.98  # circularity above which a pivot is drawn as a circle
_MILE_M = KM_PER_MILE * 1000
_DRAWN_PX = 620.0  # width at which the map is first seen, to judge what fits into a field
_LETTER_PX, _DOT_PX = 28.0, 14.0
_LETTER_WIDE_PX, _LINE_PX = 6.6, 14.0  # of a name, at 12 px
_STRONG = ("depleted", "low")


# --- base -----------------------------------------------------------------------------------


class _Scale(MacroElement):
    """Leaflet's scale bar, in the reader's units only."""

    _template = Template("""
        {% macro script(this, kwargs) %}
            L.control.scale({metric: {{ this.metric }}, imperial: {{ this.imperial }},
                             maxWidth: 120}).addTo({{ this._parent.get_name() }});
        {% endmacro %}
    """)

    def __init__(self, system: System) -> None:
        super().__init__()
        self._name = "scale"
        self.metric = str(system == "mm").lower()
        self.imperial = str(system == "in").lower()


def base_map(
    bounds: Bounds,
    landmarks: gpd.GeoDataFrame,
    palette: Palette,
    leaflet_js: str,
    leaflet_css: str,
    *,
    system: System = "in",
) -> folium.Map:
    """Build the plain ground: mile grid, roads, canals, scale bar.

    Parameters
    ----------
    bounds : (west, south, east, north)
        Degrees; what to show at first.
    landmarks : GeoDataFrame
        Columns kind (road, canal, edge), name, geometry; WGS 84; may be empty.
    palette : Palette
        Colours.
    leaflet_js, leaflet_css : str
        Addresses of Leaflet's own files on this machine; nothing else is asked for.
    system : {"in", "mm"}
        Units of the scale bar.

    Returns
    -------
    folium.Map
        Without tiles.
    """
    west, south, east, north = bounds
    ground = folium.Map(
        location=((south + north) / 2, (west + east) / 2), tiles=None, zoom_start=12,
        attributionControl=False, zoomSnap=0.25, zoomDelta=0.5,
    )  # fmt: skip
    # On the instance, not the class: other maps keep theirs.
    ground.default_js = [("leaflet", leaflet_js)]
    ground.default_css = [("leaflet_css", leaflet_css)]
    ground.fit_bounds([[south, west], [north, east]], padding=(12, 12))
    root: Any = ground.get_root()
    root.header.add_child(folium.Element(_style(palette)), name="overwinter-style")
    root.html.add_child(folium.Element(_patterns(palette)), name="overwinter-patterns")
    _grid(bounds, palette).add_to(ground)
    _landmarks(landmarks, palette).add_to(ground)
    _Scale(system).add_to(ground)
    return ground


def _style(palette: Palette) -> str:
    return f"""<style>
body .leaflet-container {{ background: {palette.panel}; font-family: {FONT}; }}
body .leaflet-container, body .leaflet-tooltip {{ color: {palette.ink}; font-size: 14px; }}
body .leaflet-tooltip {{ background: {palette.ground}; border: 1px solid {palette.edge};
  border-radius: 4px; box-shadow: none; }}
body .leaflet-tooltip::before {{ display: none; }}
body .leaflet-bar, body .leaflet-bar a {{ background: {palette.ground}; color: {palette.ink};
  border-color: {palette.edge}; box-shadow: none; border-radius: 4px; }}
body .leaflet-control-scale-line {{ background: transparent; color: {palette.ink};
  border-color: {palette.ink}; text-shadow: none; }}
body .ow-number, body .ow-name, body .ow-mark {{ pointer-events: none; white-space: nowrap;
  text-align: center; }}
body .ow-number div, body .ow-name div, body .ow-mark div {{ position: absolute;
  transform: translate(-50%, -50%); }}
body .ow-name div {{ transform: translate(-50%, 0); font-size: 12px; font-weight: 600;
  line-height: 14px; text-shadow: 0 0 3px {palette.panel}, 0 0 3px {palette.panel}; }}
</style>"""


def _patterns(palette: Palette) -> str:
    over = element(
        "pattern",
        rect(0, 0, 2, 6, fill=palette.ground),
        id="ow-silent",
        width=6,
        height=6,
        patternUnits="userSpaceOnUse",
        patternTransform="rotate(45)",
    )
    defs = element("defs", hatch(palette, "ow-hatch") + over)
    return element(
        "svg", defs, width=0, height=0, style="position:absolute", aria_hidden="true"
    )


def _grid(bounds: Bounds, palette: Palette) -> folium.FeatureGroup:
    """Draw the lines of the mile grid through the south-west corner of the fields."""
    west, south, east, north = bounds
    step_lat = _MILE_M / M_PER_DEGREE
    step_lon = step_lat / math.cos(math.radians((south + north) / 2))
    reach = 3  # miles beyond the fields, so that the grid fills a wide window
    rows = range(-reach, math.ceil((north - south) / step_lat) + reach + 1)
    columns = range(-3 * reach, math.ceil((east - west) / step_lon) + 3 * reach + 1)
    lats = [south + i * step_lat for i in rows]
    lons = [west + i * step_lon for i in columns]
    lines = [[(lat, lons[0]), (lat, lons[-1])] for lat in lats]
    lines += [[(lats[0], lon), (lats[-1], lon)] for lon in lons]
    group = folium.FeatureGroup(name="mile grid", control=False)
    folium.PolyLine(lines, color=palette.line, weight=1, opacity=1, interactive=False).add_to(
        group
    )
    return group


_STROKES: dict[str, dict[str, Any]] = {
    "road": {"weight": 1.4, "dash_array": "6 3"},
    "canal": {"weight": 3},
    "edge": {"weight": 1.4},
}


def _landmarks(landmarks: gpd.GeoDataFrame, palette: Palette) -> folium.FeatureGroup:
    group = folium.FeatureGroup(name="landmarks", control=False)
    for row in landmarks.to_dict("records"):
        shape = row["geometry"]
        stroke = _STROKES.get(str(row.get("kind")), _STROKES["edge"])
        for path in _paths(shape):
            folium.PolyLine(path, color=palette.edge, opacity=1, interactive=False,
                            **stroke).add_to(group)  # fmt: skip
        name = row.get("name")
        if isinstance(name, str) and name:
            _name(_label_place(shape), name, palette.muted, drop_px=4, weight=400).add_to(group)
    return group


def _label_place(shape: BaseGeometry) -> tuple[float, float]:
    """Find the place for a name near the end of a line (in it, for an area)."""
    if shape.geom_type == "LineString":
        at = shape.interpolate(0.97, normalized=True)
    else:
        at = shape.representative_point()
    return at.y, at.x


def _paths(shape: BaseGeometry) -> list[list[tuple[float, float]]]:
    """Split a shape into runs of (latitude, longitude), a polygon into its rings."""
    if shape.is_empty:
        return []
    parts = getattr(shape, "geoms", None)
    if parts is not None:
        return [path for part in parts for path in _paths(part)]
    if shape.geom_type == "Polygon":
        rings: Any = (shape.exterior, *shape.interiors)  # type: ignore[attr-defined]
        return [[(y, x) for x, y, *_ in ring.coords] for ring in rings]
    return [[(xy[1], xy[0]) for xy in shape.coords]]


# --- fields ---------------------------------------------------------------------------------


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


def field_features(
    fields: gpd.GeoDataFrame,
    shown: pd.DataFrame,
    palette: Palette,
    selected: str | None = None,
    names: Iterable[str] = (),
) -> folium.FeatureGroup:
    """Draw every field by its class, with the number inside it.

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
    folium.FeatureGroup
    """
    group = folium.FeatureGroup(name="fields", control=False)
    drawn = _drawn(fields, shown)
    for one in drawn.values():
        _outline(one, palette).add_to(group)
        for extra in _overlays(one, palette):
            extra.add_to(group)
        number = _number(one, palette)
        if number is not None:
            number.add_to(group)
    for place, words in _placed_names(drawn, selected, names):
        _name(place, words, palette.ink, drop_px=2).add_to(group)
    return group


def _drawn(fields: gpd.GeoDataFrame, shown: pd.DataFrame) -> dict[str, _Field]:
    told = {str(row["field"]): row for row in shown.to_dict("records")}
    there = [one for one in fields.geometry if one is not None and not one.is_empty]
    pixels_per_m = _pixels_per_metre(there)
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
        silent=_true(told.get("silent")), pixels=_across_m(shape) * pixels_per_m,
        tooltip=tooltip if isinstance(tooltip, str) else f"{name}: not known",
    )  # fmt: skip


def _true(value: object) -> bool:
    return value is not None and not pd.isna(value) and bool(value)  # type: ignore[arg-type]


def _metres(shape: BaseGeometry) -> tuple[float, float]:
    west, south, east, north = shape.bounds
    shrink = math.cos(math.radians((south + north) / 2))
    return (east - west) * M_PER_DEGREE * shrink, (north - south) * M_PER_DEGREE


def _across_m(shape: BaseGeometry) -> float:
    """Give the diameter of the circle of the same area, m: what room a number has."""
    shrink = math.cos(math.radians(shape.centroid.y))
    return 2 * math.sqrt(shape.area * shrink / math.pi) * M_PER_DEGREE


def _pixels_per_metre(shapes: Sequence[BaseGeometry]) -> float:
    """Judge the scale of the first view from the extent of what is drawn."""
    if not shapes:
        return 1.0
    width, height = _metres(box(*bounds_of(shapes)))
    return _DRAWN_PX / max(width, height, 1.0)


def circle_of(shape: BaseGeometry) -> tuple[float, float, float] | None:
    """Read a full pivot as a circle.

    Parameters
    ----------
    shape : geometry
        WGS 84.

    Returns
    -------
    (latitude, longitude, radius in m) or None
        None where the shape is not round: circularity 4 pi A / P2 (isoperimetric quotient)
        at or below 0.98.
    """
    if shape.geom_type != "Polygon" or shape.interiors:  # type: ignore[attr-defined]
        return None
    shrink = math.cos(math.radians(shape.centroid.y))
    local = stretch(shape, xfact=shrink, yfact=1.0, origin=shape.centroid)
    if local.length == 0 or 4 * math.pi * local.area / local.length**2 <= _ROUND:
        return None
    centre = shape.centroid
    return centre.y, centre.x, math.sqrt(local.area / math.pi) * M_PER_DEGREE


def _draw(shape: BaseGeometry, tooltip: str | None = None, **style: Any) -> MacroElement:
    """Draw a shape as a circle where it is one, else as polygons."""
    hint = folium.Tooltip(tooltip) if tooltip else None
    circle = circle_of(shape)
    if circle is not None:
        return folium.Circle(circle[:2], radius=circle[2], tooltip=hint, **style)
    return folium.Polygon(_paths(shape), tooltip=hint, **style)


def _outline(one: _Field, palette: Palette) -> MacroElement:
    fill = class_colour(palette, one.code) if one.known and one.code else "url(#ow-hatch)"
    return _draw(one.shape, tooltip=script_safe(one.tooltip), color=palette.edge, weight=1,
                 opacity=1, fill=True, fill_color=fill, fill_opacity=1)  # fmt: skip


def _overlays(one: _Field, palette: Palette) -> list[MacroElement]:
    marks: list[MacroElement] = []
    if one.silent and one.known:
        half = one.shape.intersection(_lower_half(one.shape))
        marks.append(_draw(half, stroke=False, fill=True, fill_color="url(#ow-silent)",
                           fill_opacity=0.6, interactive=False))  # fmt: skip
    if one.held:
        marks.append(
            _draw(
                one.shape,
                color=palette.ink,
                weight=4,
                opacity=1,
                fill=False,
                dash_array="0.1 7",
                line_cap="round",
                interactive=False,
            )
        )
    return marks


def _lower_half(shape: BaseGeometry) -> BaseGeometry:
    west, south, east, north = shape.bounds
    return box(west, south, east, (south + north) / 2)


def _number(one: _Field, palette: Palette) -> folium.Marker | None:
    if not one.known or one.code is None:
        return _mark(one, "?", palette.ink, 14, 700)
    strong = one.code in _STRONG
    colour = text_on(palette, one.code)
    if one.pixels < _DOT_PX:
        return _mark(one, "•", colour, 12, 700) if strong else None
    words = one.value_text if one.pixels >= _LETTER_PX else letter(one.code)
    return _mark(one, words, colour, 16 if strong else 14, 700 if strong else 400)


def _mark(one: _Field, words: str, colour: str, size: int, weight: int) -> folium.Marker:
    centre = one.shape.centroid if circle_of(one.shape) else one.shape.representative_point()
    style = f"color:{colour};font-size:{size}px;font-weight:{weight};"
    return _written((centre.y, centre.x), words, style, "ow-number")


def _name(
    place: tuple[float, float], words: str, colour: str, *, drop_px: int, weight: int = 600
) -> folium.Marker:
    style = f"color:{colour};margin-top:{drop_px}px;font-weight:{weight};"
    return _written(place, words, style, "ow-name")


def _written(place: tuple[float, float], words: str, style: str, kind: str) -> folium.Marker:
    """Put words on the map that no click ever hits."""
    icon = folium.DivIcon(html=f'<div style="{style}">{html.escape(words)}</div>',
                          icon_size=(0, 0), icon_anchor=(0, 0), class_name=kind)  # fmt: skip
    return folium.Marker(place, icon=icon, interactive=False, keyboard=False)


def _placed_names(
    drawn: dict[str, _Field], selected: str | None, names: Iterable[str]
) -> list[tuple[tuple[float, float], str]]:
    """Choose where names stand: below the field, else above it; none where both are taken.

    The selection comes first. Room is judged on the first view.
    """
    wanted = [one for one in (selected, *names) if one in drawn]
    per_m = _pixels_per_metre([one.shape for one in drawn.values()])
    taken: list[BaseGeometry] = [_plate(_centre(one.shape), 4, per_m) for one in drawn.values()]
    placed = []
    for field in dict.fromkeys(wanted):
        one = drawn[str(field)]
        for place in _beside(one.shape, per_m):
            plate = _plate(place, len(one.name), per_m, hangs=True)
            if not any(plate.intersects(other) for other in taken):
                taken.append(plate)
                placed.append((place, one.name))
                break
    return placed


def _plate(
    place: tuple[float, float], letters: int, per_m: float, *, hangs: bool = False
) -> BaseGeometry:
    """Give the box that a word takes up, in degrees."""
    lat, lon = place
    tall = _LINE_PX / per_m / M_PER_DEGREE
    wide = letters * _LETTER_WIDE_PX / per_m / M_PER_DEGREE / math.cos(math.radians(lat))
    top = lat if hangs else lat + tall / 2
    return box(lon - wide / 2, top - tall, lon + wide / 2, top)


def _beside(shape: BaseGeometry, per_m: float) -> tuple[tuple[float, float], ...]:
    west, south, east, north = shape.bounds
    middle, line = (west + east) / 2, (_LINE_PX + 6) / per_m / M_PER_DEGREE
    return (south, middle), (north + line, middle)


def _centre(shape: BaseGeometry) -> tuple[float, float]:
    centre = shape.representative_point()
    return centre.y, centre.x


def script_safe(words: str) -> str:
    """Escape text for HTML that folium writes into a script's template literal.

    Besides the five of HTML, the three signs that such a literal obeys are written as entities.
    """
    escaped = html.escape(words)
    for sign in "`$\\":
        escaped = escaped.replace(sign, f"&#{ord(sign)};")
    return escaped


# --- selection ------------------------------------------------------------------------------


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
    # Strokes are centred on the boundary: 14 px leave 4 px of highlight outside 3 px of gap.
    # Given to the map before the fields, the field itself covers their inner half.
    for colour, weight in ((palette.highlight, 14), (palette.ground, 6)):
        _draw(geometry, color=colour, weight=weight, opacity=1, fill=False,
              interactive=False).add_to(group)  # fmt: skip
    return group


def field_at(fields: gpd.GeoDataFrame, clicked: object) -> str | None:
    """Find which field was clicked.

    Parameters
    ----------
    fields : GeoDataFrame
        Columns field, geometry; WGS 84.
    clicked : mapping or None
        ``last_object_clicked`` of the map: ``lat`` and ``lng``, degrees.

    Returns
    -------
    str or None
        The smallest field that holds the place; else the nearest within its drawn rim.
    """
    if not isinstance(clicked, dict) or clicked.get("lat") is None or fields.empty:
        return None
    place = Point(float(clicked["lng"]), float(clicked["lat"]))
    rim = 20 / M_PER_DEGREE  # a circle drawn for a many-sided boundary reaches a little beyond
    hits = _near(fields, place, rim)
    if hits.empty:
        return None
    smallest = int(np.argmin(shapely.area(hits.geometry.to_numpy())))
    return str(hits["field"].iloc[smallest])


def _near(fields: gpd.GeoDataFrame, place: Point, rim: float) -> gpd.GeoDataFrame:
    inside = fields[fields.geometry.contains(place)]
    return inside if not inside.empty else fields[fields.geometry.dwithin(place, rim)]


def bounds_of(shapes: Sequence[BaseGeometry]) -> Bounds:
    """Give the box round some shapes, degrees (west, south, east, north).

    Raises
    ------
    ValueError
        When there is no shape.
    """
    boxes = [shape.bounds for shape in shapes if not shape.is_empty]
    if not boxes:
        where = "there is no shape to show"
        raise ValueError(where)
    west, south, east, north = zip(*boxes, strict=True)
    return min(west), min(south), max(east), max(north)
