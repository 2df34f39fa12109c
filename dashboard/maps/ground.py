"""The plain ground under the fields; Leaflet's own files are all that it asks for."""

import math
from typing import Any
from urllib.parse import urlsplit

import folium
import geopandas as gpd
from branca.element import MacroElement
from folium.map import CustomPane
from folium.template import Template
from shapely import box
from shapely.geometry.base import BaseGeometry

from analytics.units import KM_PER_MILE, System
from dashboard.charts.palette import Palette
from dashboard.charts.svg import FONT, element, hatch, rect
from dashboard.maps.labels import name_label
from dashboard.maps.shapes import M_PER_DEGREE, Bounds, paths

_MILE_M = KM_PER_MILE * 1000
_LINES = 48
_INERT = "ow-line"  # folium passes no "interactive" on
_NARROW_PX = 480  # on a telephone names would lie over each other
_STEPS = (1.0, 6.0, 36.0, 216.0, 1296.0)  # miles between lines
_UNDER, _UNDER_Z = "under", 390  # names of roads and canals lie under the fields (400)


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


class _Fit(MacroElement):
    """Show all fields, and anew at another size of the window until somebody moves the map."""

    _template = Template("""
        {% macro script(this, kwargs) %}
            (function (map, bounds) {
                var fitting = false, ours = true;
                function fit() {
                    fitting = true;
                    map.fitBounds(bounds, {padding: [12, 12], animate: false});
                    fitting = false;
                }
                map.on("dragstart zoomstart", function () { ours = ours && fitting; });
                map.on("resize", function () { if (ours) { fit(); } });
                fit();
            })({{ this._parent.get_name() }}, {{ this.bounds }});
        {% endmacro %}
    """)

    def __init__(self, bounds: Bounds) -> None:
        super().__init__()
        self._name = "fit"
        west, south, east, north = bounds
        self.bounds = [[south, west], [north, east]]


def base_map(
    bounds: Bounds,
    landmarks: gpd.GeoDataFrame,
    palette: Palette,
    leaflet_js: str,
    leaflet_css: str,
    *,
    system: System = "in",
    tiles: str | None = None,
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
    tiles : str, optional
        Address template of a tile server that the user named; without it no tiles.

    Returns
    -------
    folium.Map
    """
    west, south, east, north = bounds
    ground = folium.Map(
        location=((south + north) / 2, (west + east) / 2), tiles=None, zoom_start=12,
        attributionControl=tiles is not None, zoomSnap=0.25, zoomDelta=0.5,
    )  # fmt: skip
    # On the instance, not the class: other maps keep theirs.
    ground.default_js = [("leaflet", leaflet_js)]
    ground.default_css = [("leaflet_css", leaflet_css)]
    _Fit(bounds).add_to(ground)
    root: Any = ground.get_root()
    root.header.add_child(folium.Element(_style(palette)), name="overwinter-style")
    root.html.add_child(folium.Element(_patterns(palette)), name="overwinter-patterns")
    if tiles is not None:  # the tile server's own terms name whom to credit
        folium.TileLayer(tiles=tiles, attr=urlsplit(tiles).hostname or tiles).add_to(ground)
    CustomPane(_UNDER, z_index=_UNDER_Z, pointer_events=False).add_to(ground)
    _grid(bounds, palette).add_to(ground)
    _landmarks(landmarks, bounds, palette).add_to(ground)
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
body path.{_INERT} {{ pointer-events: none !important; }}
body .ow-number, body .ow-name, body .ow-mark {{ pointer-events: none; white-space: nowrap;
  text-align: center; }}
body .ow-number div, body .ow-name div, body .ow-mark div {{ position: absolute;
  transform: translate(-50%, -50%); }}
body .ow-name div {{ transform: translate(-50%, 0); font-size: 12px; font-weight: 600;
  line-height: 14px; text-shadow: 0 0 3px {palette.panel}, 0 0 3px {palette.panel}; }}
@media (max-width: {_NARROW_PX}px) {{
  body .ow-name {{ display: none; }}
  body .ow-number div {{ font-size: 10px !important; }}
}}
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
    """Draw the lines of the mile grid through the south-west corner of the fields.

    Of a wide district only those of townships, six miles apart, or of six of these.
    """
    west, south, east, north = bounds
    across = max(north - south, east - west) * M_PER_DEGREE / _MILE_M
    step_lat = next(one for one in _STEPS if across <= _LINES * one) * _MILE_M / M_PER_DEGREE
    step_lon = step_lat / math.cos(math.radians((south + north) / 2))
    reach = 3  # steps beyond the fields, so that the grid fills a wide window
    rows = range(-reach, math.ceil((north - south) / step_lat) + reach + 1)
    columns = range(-3 * reach, math.ceil((east - west) / step_lon) + 3 * reach + 1)
    lats = [south + i * step_lat for i in rows]
    lons = [west + i * step_lon for i in columns]
    lines = [[(lat, lons[0]), (lat, lons[-1])] for lat in lats]
    lines += [[(lats[0], lon), (lats[-1], lon)] for lon in lons]
    group = folium.FeatureGroup(name="mile grid", control=False)
    folium.PolyLine(lines, color=palette.line, weight=1, opacity=1, className=_INERT).add_to(
        group
    )
    return group


_STROKES: dict[str, dict[str, Any]] = {
    "road": {"weight": 1.4, "dash_array": "6 3"},
    "canal": {"weight": 3},
    "edge": {"weight": 1.4},
}


def _landmarks(
    landmarks: gpd.GeoDataFrame, bounds: Bounds, palette: Palette
) -> folium.FeatureGroup:
    group = folium.FeatureGroup(name="landmarks", control=False)
    for row in landmarks.to_dict("records"):
        shape = row["geometry"]
        stroke = _STROKES.get(str(row.get("kind")), _STROKES["edge"])
        for path in paths(shape):
            folium.PolyLine(path, color=palette.edge, opacity=1, className=_INERT,
                            **stroke).add_to(group)  # fmt: skip
        name = row.get("name")
        place = _label_place(shape.intersection(box(*bounds)))
        if isinstance(name, str) and name and place is not None:
            name_label(place, name, palette.muted, drop_px=4, weight=400, pane=_UNDER).add_to(
                group
            )
    return group


def _label_place(shape: BaseGeometry) -> tuple[float, float] | None:
    """Find the place for a name near the end of a line (in it, for an area), if any."""
    if shape.is_empty:
        return None
    if shape.geom_type == "LineString":
        at = shape.interpolate(0.93, normalized=True)
    else:
        at = shape.representative_point()
    return at.y, at.x
