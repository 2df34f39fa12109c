"""What every site of a store has in common, read once for all as long as nothing is written."""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path

import pandas as pd

from analytics.model import Placement
from analytics.settings import Settings
from analytics.store import coefficients, connection, sight, statements
from analytics.store.advice import field_areas, sources_told, station_weather
from analytics.store.inputs import nearest
from analytics.store.paths import database
from analytics.water.growth import Versions
from analytics.water.queue import Source


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shared:
    """Stations, coefficients, and which source feeds which field."""

    stations: pd.DataFrame
    crops: Versions
    source_of: dict[str, str]
    sources: tuple[Source, ...]


def shared(store: Path, as_of: date, settings: Settings) -> Shared:
    """Read what all sites share.

    A source is shared: what it can give one field hangs on all it feeds, whoever looks.
    """
    return _kept(store, as_of, settings, database(store).stat().st_mtime_ns)


def weather_of(
    store: Path, place: Placement, as_of: date, settings: Settings
) -> pd.DataFrame | None:
    """Give the days of the station nearest to a place; None where there is none."""
    written = database(store).stat().st_mtime_ns
    known = _kept(store, as_of, settings, written)
    station = nearest(known.stations, place.latitude, place.longitude)
    return None if station is None else _kept_days(store, station, as_of, settings, written)


@lru_cache(maxsize=4)
def _kept(store: Path, as_of: date, settings: Settings, written: int) -> Shared:
    del written  # part of the key only
    with sight.unbound(), connection.reading(store) as db:
        fields = field_areas(db)
        named = fields[fields["source"].notna()]
        return Shared(
            stations=statements.rows(db, "advice_stations"), crops=coefficients.versions(db),
            source_of=dict(zip(named["field"], named["source"], strict=True)),
            sources=sources_told(db, fields, as_of, settings),
        )  # fmt: skip


@lru_cache(maxsize=4)
def _kept_days(
    store: Path, station: str, until: date, settings: Settings, written: int
) -> pd.DataFrame | None:
    known = _kept(store, until, settings, written)
    with connection.reading(store) as db:
        return station_weather(db, known.stations, station, until, settings)
