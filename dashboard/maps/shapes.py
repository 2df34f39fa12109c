"""Shapes as they are drawn: circles, runs of places, sizes; and which field holds a place."""

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import geopandas as gpd
import numpy as np
import shapely
from shapely import Point, box
from shapely.affinity import scale as stretch
from shapely.geometry.base import BaseGeometry

Bounds = tuple[float, float, float, float]  # west, south, east, north, degrees

M_PER_DEGREE = 111_320.0  # along a meridian, mean; drawing only, nothing is measured with it
_ROUND = 0.98  # circularity above which a pivot is drawn as a circle
_DRAWN_PX = 620.0  # width at which the map is first seen, to judge what fits into a field


def metres(shape: BaseGeometry) -> tuple[float, float]:
    """Give the width and height of a shape's box, m."""
    west, south, east, north = shape.bounds
    shrink = math.cos(math.radians((south + north) / 2))
    return (east - west) * M_PER_DEGREE * shrink, (north - south) * M_PER_DEGREE


def across_m(shape: BaseGeometry) -> float:
    """Give the diameter of the circle of the same area, m: what room a number has."""
    shrink = math.cos(math.radians(shape.centroid.y))
    return 2 * math.sqrt(shape.area * shrink / math.pi) * M_PER_DEGREE


def pixels_per_metre(shapes: Sequence[BaseGeometry]) -> float:
    """Judge the scale of the first view from the extent of what is drawn."""
    if not shapes:
        return 1.0
    width, height = metres(box(*bounds_of(shapes)))
    return _DRAWN_PX / max(width, height, 1.0)


@lru_cache(maxsize=8192)  # asked of every field at every drawing of the map
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


def paths(shape: BaseGeometry) -> list[list[tuple[float, float]]]:
    """Split a shape into runs of (latitude, longitude), a polygon into its rings."""
    if shape.is_empty:
        return []
    parts = getattr(shape, "geoms", None)
    if parts is not None:
        return [path for part in parts for path in paths(part)]
    if shape.geom_type == "Polygon":
        rings: Any = (shape.exterior, *shape.interiors)  # type: ignore[attr-defined]
        return [[(y, x) for x, y, *_ in ring.coords] for ring in rings]
    return [[(xy[1], xy[0]) for xy in shape.coords]]


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
    if not inside.empty:
        return inside
    return fields[shapely.dwithin(fields.geometry.to_numpy(), place, rim)]


def bounds_of(shapes: Sequence[BaseGeometry]) -> Bounds:
    """Give the box round some shapes, degrees (west, south, east, north).

    Raises
    ------
    ValueError
        When there is no shape.
    """
    if all(shape.is_empty for shape in shapes):
        where = "there is no shape to show"
        raise ValueError(where)
    west, south, east, north = shapely.total_bounds(shapes)
    return float(west), float(south), float(east), float(north)
