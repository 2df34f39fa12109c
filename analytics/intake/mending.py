"""Boundaries that cross themselves or one another: mended and told, or refused."""

from collections.abc import Mapping

import geopandas as gpd
import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from analytics.contract import Table
from analytics.errors import InputRefused
from analytics.intake.people import Problem, refuse_all
from analytics.settings import Settings

POLYGONS = ("Polygon", "MultiPolygon")


def mended(
    name: str, frame: gpd.GeoDataFrame, table: Table
) -> tuple[gpd.GeoDataFrame, list[str]]:
    """Mend boundaries that cross themselves.

    Of what a repair gives only polygons are kept. A repair that changes the area by more than
    the setting ``repair_most`` is a guess at what was meant, and is refused.

    Parameters
    ----------
    name : str
        The file's name.
    frame : GeoDataFrame
        Shapes in the file's own system.
    table : Table
        ``fields`` or ``landmarks``.

    Returns
    -------
    frame : GeoDataFrame
    notes : list of str

    Raises
    ------
    InputRefused
        Also for a feature without a shape, or a field that is no polygon.
    """
    problems: list[Problem] = []
    notes: list[str] = []
    shapes: list[BaseGeometry] = []
    for row, shape in enumerate(frame.geometry, start=1):
        whole, found, remedy, note = _mend(table, shape)
        shapes.append(whole)
        if found:
            problems.append(Problem(line=row, column="geometry", found=found, remedy=remedy))
        notes += [f"Row {row}: {note}"] if note else []
    refuse_all(name, problems)
    return frame.set_geometry(gpd.GeoSeries(shapes, index=frame.index, crs=frame.crs)), notes


def _mend(table: Table, shape: BaseGeometry | None) -> tuple[BaseGeometry, str, str, str]:
    """Give the shape, what is wrong with it, the remedy, and what was mended."""
    nothing = shapely.GeometryCollection()
    if shape is None or shape.is_empty:
        return (
            nothing,
            "the feature has no shape.",
            "Draw its boundary or drop the feature.",
            "",
        )
    if table.name == "fields" and shape.geom_type not in POLYGONS:
        found = f"a field cannot be a {shape.geom_type}."
        return shape, found, "Draw its boundary as a polygon.", ""
    if shape.is_valid:
        return shape, "", "", ""
    why = shapely.is_valid_reason(shape)
    whole = _polygons(shapely.make_valid(shape))
    change = abs(whole.area - shape.area) / whole.area if whole.area else np.inf
    if change > Settings().repair_most:
        found = f"the boundary crosses itself or is broken ({why})."
        share = f"{change:.1%}" if np.isfinite(change) else "all"
        remedy = f"Redraw it there: mending it would change {share} of its area."
        return shape, found, remedy, ""
    return whole, "", "", f"the boundary crossed itself ({why}); mended, area {change:+.2%}."


def _polygons(shape: BaseGeometry) -> BaseGeometry:
    parts = [one for one in shapely.get_parts(shape) if one.geom_type in POLYGONS]
    return shapely.union_all(parts)


def overlaps(
    name: str, fields: list[str], shapes: gpd.GeoSeries, known: Mapping[str, bytes]
) -> list[str]:
    """Tell which fields overlap; refuse a field that is drawn twice.

    Parameters
    ----------
    name : str
        The file's name.
    fields : list of str
        Ids, in the order of ``shapes``.
    shapes : GeoSeries
        In WGS 84.
    known : mapping of id to well-known binary
        Fields that the store holds already, and the file does not draw anew; WGS 84.

    Returns
    -------
    list of str
        A sentence for each pair that shares more than ``overlap_noted`` of the smaller.

    Raises
    ------
    InputRefused
        When two share more than ``overlap_most``.
    """
    at = Settings()
    arrived = len(fields)
    whole = [*shapes, *shapely.from_wkb(list(known.values()))]
    named = [*fields, *(f"{one} (in the store already)" for one in known)]
    first, second = shapely.STRtree(whole).query(whole, predicate="intersects")
    notes = []
    for one, other in sorted(zip(first.tolist(), second.tolist(), strict=True)):
        if one >= other or one >= arrived:
            continue
        smaller = min(whole[one].area, whole[other].area)
        share = shapely.intersection(whole[one], whole[other]).area / smaller
        said = f"fields {named[one]} and {named[other]} overlap by {share:.0%} of the smaller"
        if share > at.overlap_most:
            rows = f"rows {one + 1} and {other + 1}" if other < arrived else f"row {one + 1}"
            where = f"{name}, {rows}"
            raise InputRefused(where, f"{said}.", "Keep one of the two, or redraw their edge.")
        if share > at.overlap_noted:
            notes.append(f"{said[0].upper() + said[1:]}; check the edge between them.")
    return notes
