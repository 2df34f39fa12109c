"""Everything the store knows of one site, gathered for its assessment."""

from datetime import date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import duckdb
import numpy as np
import pandas as pd
from pyproj import Geod

from analytics.errors import NotKnown
from analytics.model import Layer, Placement, Record, Season, SiteInputs
from analytics.store import connection, readings, statements

_ELLIPSOID = Geod(ellps="WGS84")


def site_inputs(store: Path, site: str, as_of: date) -> SiteInputs:
    """Gather what an assessment of one site needs.

    Readings, water and weather end with the local day ``as_of``; seasons are whole, since a
    planned planting counts. Weather is that of the station nearest on the ellipsoid.

    Parameters
    ----------
    store : Path
        The store's folder.
    site : str
        The probe's id.
    as_of : date
        The last day that is known.

    Returns
    -------
    SiteInputs
        Placements numbered from 1 in order of installation.

    Raises
    ------
    NotKnown
        When the store has no such site.
    """
    return site_told(store, readings.read(store, site), as_of)


def site_told(store: Path, record: Record, as_of: date) -> SiteInputs:
    """Gather what is known of a site whose record is in hand, or is not needed.

    Raises
    ------
    NotKnown
        When the store has no such site.
    """
    site = record.site
    with connection.reading(store) as db:
        placements = _placements(db, site)
        last = placements[-1]
        soils = statements.execute(db, "field_soil", field=last.field)
        return SiteInputs(
            record=until(record, as_of, last.timezone),
            field=last.field,
            soil=str(soils[0][0]) if soils and soils[0][0] else None,
            placements=placements,
            layers=_layers(db, site),
            seasons=_seasons(db, last.field),
            water=statements.rows(db, "field_water", field=last.field, until=as_of),
            weather=_weather(db, last, as_of),
            set_limits=statements.rows(db, "site_set_limits", site=site),
            as_of=as_of,
            flag_edits=statements.rows(db, "site_flag_edits", site=site),
        )


def until(record: Record, as_of: date, timezone: str) -> Record:
    """Cut a record at the end of a local day."""
    midnight = datetime.combine(as_of + timedelta(days=1), time.min, ZoneInfo(timezone))
    end = np.datetime64(int(midnight.timestamp()), "s")
    rows = int(np.searchsorted(record.times, end))
    return Record(
        site=record.site,
        times=record.times[:rows],
        depths_cm=record.depths_cm,
        theta=record.theta[:rows],
        temp_c=record.temp_c[:rows],
    )


def _placements(db: duckdb.DuckDBPyConnection, site: str) -> tuple[Placement, ...]:
    rows = _records(statements.rows(db, "site_placements", site=site))
    if not rows:
        message = f"There is no site {site!r} in the store. Import the sites table first."
        raise NotKnown(message)
    return tuple(Placement(number=n, **row) for n, row in enumerate(rows, start=1))


def _layers(db: duckdb.DuckDBPyConnection, site: str) -> tuple[Layer, ...]:
    """Give the layers described beforehand; a missing bound is left to the midpoints (NaN)."""
    rows = _records(statements.rows(db, "site_layers", site=site))
    for row in rows:
        for bound in ("top_cm", "bottom_cm"):
            row[bound] = np.nan if row[bound] is None else row[bound]
    return tuple(Layer(**row) for row in rows)


def _seasons(db: duckdb.DuckDBPyConnection, field: str) -> tuple[Season, ...]:
    rows = _records(statements.rows(db, "field_seasons", field=field))
    return tuple(Season(**row) for row in rows)


def _weather(db: duckdb.DuckDBPyConnection, place: Placement, as_of: date) -> pd.DataFrame:
    stations = statements.rows(db, "station_places")
    station = nearest(stations, place.latitude, place.longitude)
    return statements.rows(db, "station_weather", station=station, until=as_of)


def nearest(stations: pd.DataFrame, latitude: float, longitude: float) -> str | None:
    """Find the station nearest to a place on the ellipsoid; None where there is none."""
    if stations.empty:
        return None
    count = len(stations)
    *_, metres = _ELLIPSOID.inv(
        np.full(count, longitude),
        np.full(count, latitude),
        stations["longitude"].to_numpy(),
        stations["latitude"].to_numpy(),
    )
    return str(stations["station"].iloc[int(np.argmin(metres))])


def _records(frame: pd.DataFrame) -> list[dict]:
    """Turn rows into plain values: dates for days, None for what is missing."""
    return [
        {str(name): _plain(value) for name, value in row.items()}
        for row in frame.to_dict("records")
    ]


def _plain(value: object) -> object:
    if pd.isna(value):  # type: ignore[arg-type]
        return None
    return value.date() if isinstance(value, pd.Timestamp) else value
