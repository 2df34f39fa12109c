"""What people told that cannot be so, or that nothing can be reckoned from."""

from collections.abc import Iterator
from datetime import date
from math import cos, radians
from pathlib import Path
from typing import cast
from zoneinfo import available_timezones

import duckdb
import numpy as np
import shapely

from analytics.intake.depths import SAME_CM
from analytics.store import coefficients, readings, statements
from analytics.store.findings import Finding
from analytics.store.parts import Unreadable

NEAR_FIELD_KM = 1.0  # a probe beside a boundary drawn by hand is no mistake; ours
KM_PER_DEGREE = 111.2  # of a meridian; good to 1 %, which is enough here
MIRRORED = {"longitude": (1, -1), "latitude": (-1, 1), "latitude and longitude": (-1, -1)}


def unknown_crops(db: duckdb.DuckDBPyConnection) -> Iterator[Finding]:
    """Name the crops that no coefficients are known for, neither a person's nor FAO-56's."""
    for crop, where in coefficients.lacking(db).items():
        yield Finding(
            level="missing",
            what=f"Crop {crop!r} (fields: {len(where)}, the first {where[0]}) has no "
            "coefficients: its seasons cannot be reckoned.",
            remedy="Set its coefficients on the page Season; or, if it has a commoner name, "
            "write that in the seasons table.",
        )


def misplaced(db: duckdb.DuckDBPyConnection) -> Iterator[Finding]:
    """Name the sites that lie well outside the boundary of their field."""
    for site, field, latitude, longitude, shape in statements.execute(db, "check_places"):
        boundary = shapely.from_wkb(cast("bytes", shape))
        place = cast("float", latitude), cast("float", longitude)
        if _outside_km(boundary, *place) > NEAR_FIELD_KM:
            yield Finding(
                level="suspect",
                what=f"Site {site} lies more than {NEAR_FIELD_KM:g} km outside field {field}: "
                f"{_why(boundary, *place)}.",
                remedy="Correct the sites table, or the field's boundary.",
            )


def _outside_km(boundary: shapely.Geometry, latitude: float, longitude: float) -> float:
    """Give the distance to a boundary, on a plane that is true near the place."""
    scale = np.array([cos(radians(latitude)), 1.0]) * KM_PER_DEGREE
    flat = shapely.transform(boundary, lambda both: both * scale)
    return float(shapely.distance(flat, shapely.Point(np.array([longitude, latitude]) * scale)))


def _why(boundary: shapely.Geometry, latitude: float, longitude: float) -> str:
    for name, (south, west) in MIRRORED.items():
        if _outside_km(boundary, latitude * south, longitude * west) <= NEAR_FIELD_KM:
            return f"its {name} has the wrong sign"
    return "its latitude or longitude is wrong, perhaps in its sign"


def before_installed(store: Path, db: duckdb.DuckDBPyConnection) -> Iterator[Finding]:
    """Name the sites that read before their probe stood in any hole."""
    there = available_timezones()
    for site, installed_on, zone in statements.execute(db, "check_first_installed"):
        first_day = _first_day(store, str(site), str(zone) if zone in there else "UTC")
        if first_day is not None and first_day < cast("date", installed_on):
            yield Finding(
                level="suspect",
                what=f"Site {site} has readings from {first_day} on, but its first probe was "
                f"installed on {installed_on}.",
                remedy="Correct installed_on in the sites table, or look for a wrong clock or "
                "readings of another site.",
            )


def _first_day(store: Path, site: str, zone: str) -> date | None:
    try:
        first = readings.oldest(store, site)
    except Unreadable:  # told of as damage
        return None
    return None if first is None else first.tz_convert(zone).to_pydatetime().date()


def twice_at_a_depth(store: Path) -> Iterator[Finding]:
    """Name the sites with two sensors where one can be: a depth that was written two ways."""
    for site in readings.sites(store):
        depths_cm = readings.depths(store, site)
        close = np.flatnonzero(np.diff(depths_cm) <= SAME_CM)
        if len(close):
            pairs = [f"{depths_cm[j]:.4g} and {depths_cm[j + 1]:.4g} cm" for j in close]
            yield Finding(
                level="suspect",
                what=f"Site {site} has sensors at {', '.join(pairs)}: likely one sensor whose "
                "depth was written in two ways, and each counts as a layer of its own.",
                remedy="Import the logger's whole record into a new store with one depth.",
            )


def never_read(store: Path, db: duckdb.DuckDBPyConnection) -> Iterator[Finding]:
    """Name the sensors of the layers table of which a probe that reads has no reading."""
    have = set(readings.sites(store))
    for site, told_cm in statements.execute(db, "check_layer_depths"):
        if site not in have or not len(read_cm := readings.depths(store, str(site))):
            continue
        silent = np.setdiff1d(np.asarray(told_cm, np.float64), read_cm)
        if len(silent):
            at = ", ".join(f"{one:g}" for one in silent)
            yield Finding(
                level="suspect",
                what=f"Site {site} has never read at {at} cm, where its layers table tells of "
                "a sensor: the water there is not counted.",
                remedy="Look whether the logger's files have that depth under another number, "
                "or the sensor was dead from the start.",
            )
