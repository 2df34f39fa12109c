"""Fields and landmarks from GeoJSON, GeoPackage or a zipped shapefile, in WGS 84."""

import warnings
from collections.abc import Iterable
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyarrow as pa
import shapely

from analytics.contract import Table
from analytics.errors import InputRefused
from analytics.intake.known import Known
from analytics.intake.look import Seen
from analytics.intake.mending import mended, overlaps
from analytics.intake.people import Problem, refuse_all, require, typed
from analytics.intake.sheet import Sheet

WGS84 = "EPSG:4326"
CUT = 10  # letters of a name that a shapefile keeps (dBASE)


def open_shapes(seen: Seen) -> gpd.GeoDataFrame:
    """Read the features as they stand.

    Raises
    ------
    InputRefused
        When the file holds no features or is no such file.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what the driver mutters is checked below
            frame = gpd.read_file(_address(seen))
    except Exception as error:
        found = "this cannot be read as GeoJSON, GeoPackage or a zipped shapefile (damaged?)."
        raise InputRefused(seen.name, found, "Export the boundaries again.") from error
    if frame.empty:
        raise InputRefused(seen.name, "the file holds no features.", "Export it again.")
    if not isinstance(frame, gpd.GeoDataFrame):
        found = "the features have no geometry."
        raise InputRefused(seen.name, found, "Export it with its shapes.")
    return frame


def _address(seen: Seen) -> Path | str:
    return f"zip://{seen.path.absolute()}!{seen.member}" if seen.member else seen.path


def read_shapes(
    seen: Seen, frame: gpd.GeoDataFrame, table: Table, known: Known
) -> tuple[gpd.GeoDataFrame, list[str]]:
    """Check and re-project features.

    Parameters
    ----------
    seen : Seen
    frame : GeoDataFrame
        From ``open_shapes``.
    table : Table
        ``fields`` or ``landmarks``.
    known : Known

    Returns
    -------
    shapes : GeoDataFrame
        Columns of the contract, geometry in WGS 84, two-dimensional.
    notes : list of str

    Raises
    ------
    InputRefused
        On a missing or repeated id, a missing, unplaceable or badly crossing shape, or a
        field that is drawn twice.
    """
    frame, notes = mended(seen.name, _renamed(frame, table), table)
    bare = frame.drop(columns=frame.geometry.name)
    require(seen.name, table, (*map(str, bare.columns), "geometry"))
    if frame.crs is None:
        found = "the file does not say its coordinate reference system."
        raise InputRefused(seen.name, found, "Export it with one, best WGS 84 (EPSG:4326).")
    sheet = Sheet(
        name=seen.name,
        table=pa.Table.from_pandas(bare, preserve_index=False),
        lines=np.arange(1, len(frame) + 1, dtype=np.int64),
    )
    checked = typed(sheet, table, known)
    flat = gpd.GeoSeries(shapely.force_2d(frame.geometry.to_numpy()), crs=frame.crs)
    world = flat.to_crs(WGS84)
    _check_place(seen.name, world)
    if table.name == "fields":
        ids = checked["field"].tolist()
        others = {one: shape for one, shape in known.shapes.items() if one not in set(ids)}
        notes += overlaps(seen.name, ids, world, others)
    if not frame.crs.equals(WGS84, ignore_axis_order=True):
        notes.append(f"Re-projected from {frame.crs.name} to WGS 84.")
    return gpd.GeoDataFrame(checked, geometry=world, crs=WGS84), notes


def uncut(columns: Iterable[str], table: Table) -> dict[str, str]:
    """Give the names that a shapefile cut to ten letters, with those that they were."""
    cut = {name[:CUT]: name for name in table.names if len(name) > CUT}
    there = set(columns)
    return {k: v for k, v in cut.items() if k in there and v not in there}


def _renamed(frame: gpd.GeoDataFrame, table: Table) -> gpd.GeoDataFrame:
    return frame.rename(columns=uncut(map(str, frame.columns), table))


def _check_place(name: str, world: gpd.GeoSeries) -> None:
    bounds = world.bounds.to_numpy()
    limit = np.array([180.0, 90.0, 180.0, 90.0])
    outside = ~(np.isfinite(bounds) & (np.abs(bounds) <= limit)).all(axis=1)
    found = "the coordinates lie outside the globe, so they are not in the system that is said."
    remedy = "Export it again with the right coordinate reference system."
    refuse_all(
        name,
        [
            Problem(line=int(row) + 1, column="geometry", found=found, remedy=remedy)
            for row in np.flatnonzero(outside)
        ],
    )
