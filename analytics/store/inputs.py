"""Everything the store knows of one site, gathered for its assessment."""

from datetime import date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import duckdb
import numpy as np
import pandas as pd
from pyproj import Geod

from analytics.errors import NotKnown
from analytics.model import Layer, Placement, Record, Season, SiteInputs, rows_of
from analytics.store import connection, readings, statements
from analytics.store.frames import parted

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
    with connection.reading(store) as db:
        return Gathering(db, [record.site], as_of).of(record)


class Gathering:
    """What is known of several sites beside their readings, read in one unit of work."""

    def __init__(self, db: duckdb.DuckDBPyConnection, sites: list[str], as_of: date) -> None:
        self._as_of = as_of
        self._placements = _told(
            statements.rows(db, "site_placements", sites=sites, until=as_of), "site"
        )
        self._layers = _told(statements.rows(db, "site_layers", sites=sites), "site")
        fields = sorted({str(rows[-1]["field"]) for rows in self._placements.values()})
        self._seasons = _told(statements.rows(db, "field_seasons", fields=fields), "field")
        self._of = {
            name: parted(statements.rows(db, name, sites=sites), "site")
            for name in ("site_set_limits", "site_flag_edits")
        }
        self._of["field_water"] = parted(
            statements.rows(db, "field_water", fields=fields, until=as_of), "field"
        )
        grounds = statements.execute(db, "field_ground", fields=fields)
        self._soil = {str(field): str(soil) for field, soil, _ in grounds if soil}
        self._root_limit_cm = {
            str(field): float(str(limit)) for field, _, limit in grounds if limit is not None
        }
        stations = statements.rows(db, "station_places")
        self._near = {
            site: nearest(stations, rows[-1]["latitude"], rows[-1]["longitude"])
            for site, rows in self._placements.items()
        }
        self._weather = {
            station: statements.rows(db, "station_weather", station=station, until=as_of)
            for station in set(self._near.values())
        }

    def of(self, record: Record) -> SiteInputs:
        """Give one site's inputs, its record being in hand.

        Raises
        ------
        NotKnown
            When the store has no such site.
        """
        site, as_of = record.site, self._as_of
        if site not in self._placements:
            message = f"There is no site {site!r} in the store. Import the sites table first."
            raise NotKnown(message)
        rows = self._placements[site]
        placements = tuple(Placement(number=n, **row) for n, row in enumerate(rows, start=1))
        last = placements[-1]
        return SiteInputs(
            record=until(record, as_of, last.timezone),
            field=last.field,
            soil=self._soil.get(last.field),
            placements=placements,
            layers=tuple(_layer(row) for row in self._layers.get(site, ())),
            seasons=tuple(Season(**row) for row in self._seasons.get(last.field, ())),
            water=self._rows("field_water", last.field)[["date", "kind", "mm"]],
            weather=self._weather[self._near[site]],
            set_limits=self._rows("site_set_limits", site),
            as_of=as_of,
            flag_edits=self._rows("site_flag_edits", site).drop(columns="site"),
            root_limit_cm=self._root_limit_cm.get(last.field),
        )

    def _rows(self, name: str, key: str) -> pd.DataFrame:
        """Give the rows of one site or field; those of an empty key type an empty frame."""
        return self._of[name].get(key, self._of[name][""]).reset_index(drop=True)


def until(record: Record, as_of: date, timezone: str) -> Record:
    """Cut a record at the end of a local day."""
    midnight = datetime.combine(as_of + timedelta(days=1), time.min, ZoneInfo(timezone))
    end = np.datetime64(int(midnight.timestamp()), "s")
    return rows_of(record, slice(0, int(np.searchsorted(record.times, end))))


def _layer(row: dict) -> Layer:
    """Give a layer described beforehand; a missing bound is left to the midpoints (NaN)."""
    bounds = {
        name: np.nan if row[name] is None else row[name] for name in ("top_cm", "bottom_cm")
    }
    return Layer(**{**row, **bounds})


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


def _told(frame: pd.DataFrame, by: str) -> dict[str, list[dict]]:
    """Part rows by a column's words, as plain values: dates for days, None for missing."""
    names, columns = [str(name) for name in frame], [_plain(frame[name]) for name in frame]
    told: dict[str, list[dict]] = {}
    for row in zip(*columns, strict=True):
        one = dict(zip(names, row, strict=True))
        told.setdefault(str(one[by]), []).append(one)
    return told


def _plain(values: pd.Series) -> list:
    if values.dtype.kind == "M":
        return [None if pd.isna(one) else one.date() for one in values]
    known = values.notna().to_numpy()
    whole = values.tolist()
    if known.all():
        return whole
    return [one if there else None for one, there in zip(whole, known, strict=True)]
