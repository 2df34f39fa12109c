"""What the screens read: the only caching, and the only caller of the store.

Everything kept is bound to the store's generation, so that an import or a new assessment is
seen on the next run, and bounded in number, so that a long evening does not fill the memory.
"""

import json
import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

import geopandas as gpd
import pandas as pd
import pyarrow as pa
import streamlit as st

from analytics.contract import TABLES
from analytics.errors import StoreError, StoreMissing
from analytics.settings import Settings
from analytics.soil.frost import winters_frost as frost_by_winter
from analytics.store import layout, onesite, people, preferences
from analytics.store.assessment import Progress, assess
from analytics.store.frames import parted
from analytics.store.statements import query
from analytics.units import System
from analytics.water.classes import classify
from dashboard.data import session
from dashboard.data.session import STORE_VARIABLE

TILES_VARIABLE = "OVERWINTER_TILES"
"""Opt-in: address template of a tile server. Without it no request leaves the machine."""
WINDOW_DAYS = 14
"""Readiness older than this before the chosen date is not shown for it; ours."""
BUCKETS = 400
"""A record is reduced to about so many steps across: a pixel or two each."""
INSTANTS = ("from", "to", "made_at", "undone_at")
"""Columns of spans and edits that hold instants (UTC)."""
KEPT = 256
SITES_HELD = 8
"""Some 4 MB each; the answers are kept as well."""
OF_A_SITE = (
    "daily", "flags", "frost", "gaps", "limits", "readiness", "seasons", "set_limits",
    "sites", "tally", "wetting_layers", "wettings",
)  # fmt: skip
"""What the statements asked of one site read."""
EMPTY = pd.DataFrame()
Frame = TypeVar("Frame", bound=pd.DataFrame)


@dataclass(frozen=True, slots=True, kw_only=True)
class Store:
    """The store that is open: where, in which generation, and what it says of itself.

    ``as_of`` is None while the store has not been assessed.
    """

    path: Path
    generation: str
    name: str
    units: System
    settings: Settings
    as_of: date | None
    made_at: pd.Timestamp | None


def opened() -> Store:
    """Recognise the store named by the environment.

    Raises
    ------
    StoreMissing
        When none is named, or there is none at that place.
    StoreError
        When it cannot be read.
    """
    named = os.environ.get(STORE_VARIABLE)
    if not named:
        message = "No store was named. Start the dashboard with: overwinter serve STORE"
        raise StoreMissing(message)
    path = Path(named)
    return _about(str(path), f"{layout.generation(path)}|{session.token()}")


def tiles() -> str | None:
    """Give the address of the online background that the user asked for, if any."""
    return os.environ.get(TILES_VARIABLE) or None


@st.cache_data(max_entries=8, show_spinner=False)
def _about(path: str, generation: str) -> Store:
    folder = Path(path)
    latest = query(folder, "show_about")
    made = latest.iloc[0] if len(latest) else None
    return Store(
        path=folder,
        generation=generation,
        name=_district(folder),
        units=preferences.units(folder),
        settings=preferences.thresholds(folder),
        as_of=None if made is None else made["as_of"].date(),
        made_at=None if made is None else made["made_at"],
    )


def _district(folder: Path) -> str:
    """Name the district by its edge on the map, else by the store's folder."""
    drawn = query(folder, "show_landmarks")
    edges = drawn.loc[(drawn["kind"] == "edge") & drawn["name"].notna(), "name"]
    return str(edges.iloc[0]) if len(edges) else folder.resolve().name.replace("_", " ")


def lent(kept: Frame) -> Frame:
    """Give a frame that is kept for all sessions to one of them.

    It shares the kept one's values until either is changed: pandas copies on write. Over shapes
    it does not watch, so their list is copied.
    """
    return kept.copy(deep=isinstance(kept, gpd.GeoDataFrame))


def _read(store: Store, name: str, **params: Any) -> pd.DataFrame:
    return _frame(str(store.path), store.generation, name, **params)


def _frame(path: str, generation: str, name: str, **params: Any) -> pd.DataFrame:
    return lent(_queried(path, generation, name, **params))


@st.cache_resource(max_entries=KEPT, show_spinner=False)
def _queried(path: str, generation: str, name: str, **params: Any) -> pd.DataFrame:
    del generation  # part of the key only
    return query(Path(path), name, **params)


def _ask(store: Store, name: str, site: str, **params: Any) -> pd.DataFrame:
    """Give what one site's own rows answer."""
    return lent(_asked(str(store.path), store.generation, site, name, **params))


@st.cache_resource(max_entries=KEPT, show_spinner=False)
def _asked(path: str, generation: str, site: str, name: str, **params: Any) -> pd.DataFrame:
    held = _held(path, generation, site)
    return onesite.ask(Path(path), held, name, site=site, **params)


@st.cache_resource(max_entries=SITES_HELD, show_spinner=False)
def _held(path: str, generation: str, site: str) -> dict[str, pa.Table]:
    """Read what pages ask of a site; nobody changes it."""
    del generation
    return onesite.gather(Path(path), site, OF_A_SITE)


def fields(store: Store) -> gpd.GeoDataFrame:
    """Give every field with its boundary, WGS 84."""
    return lent(_shapes(str(store.path), store.generation, "show_fields"))


def naming(store: Store) -> dict[str, pd.DataFrame]:
    """Give the tables that hold every name and id: fields, sites, sources, landmarks."""
    names = ("sites", "sources", "landmarks")
    return {
        "fields": fields(store),
        **{one: _table(str(store.path), store.generation, one) for one in names},
    }


def names_apart(ids: pd.Series, names: pd.Series) -> dict[str, str]:
    """Name each by its name; where two share one, the id stands behind it."""
    twice = names.duplicated(keep=False)
    return dict(zip(ids, names.where(~twice, names + " (" + ids + ")"), strict=True))


def landmarks(store: Store) -> gpd.GeoDataFrame:
    """Give the store's own background: landmark, kind, name, geometry."""
    return lent(_shapes(str(store.path), store.generation, "show_landmarks"))


@st.cache_resource(max_entries=8, show_spinner=False)
def _shapes(path: str, generation: str, name: str) -> gpd.GeoDataFrame:
    del generation
    found = query(Path(path), name)
    shapes = gpd.GeoSeries.from_wkb(found["geometry"], index=found.index, crs="EPSG:4326")
    return gpd.GeoDataFrame(found.drop(columns="geometry"), geometry=shapes)


def dates(store: Store) -> list[str]:
    """List the dates for which readiness was kept, ISO, latest first."""
    return [f"{one:%Y-%m-%d}" for one in _read(store, "show_dates")["date"]]


def going_in(store: Store, day: str, zone: str, site: str = "") -> pd.DataFrame:
    """Give one row a field: its readiness in a zone on a day, shortest first.

    Of several probes in a field ``site`` speaks where it is one of them, else the shortest.
    """
    return _read(store, "show_going_in", date=day, zone=zone, window_days=WINDOW_DAYS,
                 site=site)  # fmt: skip


def winters(store: Store, site: str, zone: str, day: str) -> pd.DataFrame:
    """Give what each off-season put back into a zone: from, to, crop, open, change_mm."""
    return _ask(store, "show_winters", site, date=day, zone=zone)


def layers(store: Store, day: str) -> pd.DataFrame:
    """Give every layer of every site on a day."""
    return _read(store, "show_layers", date=day, window_days=WINDOW_DAYS)


def layers_of(store: Store, site: str, day: str) -> pd.DataFrame:
    """Give one site's layers on a day."""
    return _part(store, "show_layers", "site", site, day)


def zones(store: Store, field: str, day: str) -> pd.DataFrame:
    """Give the zones of one field's sites on a day."""
    return _part(store, "show_zones", "field", field, day)


def _part(store: Store, name: str, by: str, of: str, day: str) -> pd.DataFrame:
    """Give one site's or field's rows of what is known of all: it is read once for all."""
    parts = _parts(str(store.path), store.generation, name, by, day)
    return lent(parts.get(of, parts[""]))


@st.cache_resource(max_entries=16, show_spinner=False)
def _parts(path: str, generation: str, name: str, by: str, day: str) -> dict[str, pd.DataFrame]:
    return parted(_queried(path, generation, name, date=day, window_days=WINDOW_DAYS), by)


def plantings(store: Store, site: str, day: str) -> pd.DataFrame:
    """Give one site's layers on each planting day, and on the latest day kept."""
    return _ask(store, "show_plantings", site, date=day)


def seasons(store: Store, field: str) -> pd.DataFrame:
    """Give one field's crops: crop, planted_on, harvested_on."""
    return _read(store, "show_seasons", field=field)


def probe(store: Store, site: str) -> pd.DataFrame:
    """Give one site's stays, and the first and last day of its daily values."""
    return _ask(store, "show_probe", site)


def weekly(store: Store, site: str, start: str, day: str) -> pd.DataFrame:
    """Give each layer's fill by week, with its class."""
    found = _ask(store, "show_weekly", site, start=start, date=day)
    return found.assign(**{"class": classify(found["fill"], 0.0)[0]})


def record(store: Store, site: str, start: str, day: str) -> pd.DataFrame:
    """Give each layer's record in about ``BUCKETS`` lowest, highest and middle values.

    Columns time, depth_cm, value, low, high (m3/m3), held: under frost the value held.
    """
    days = (pd.Timestamp(day) - pd.Timestamp(start)).days
    return _ask(store, "show_record", site, start=start, date=day,
                 bucket_days=max(1, round(days / BUCKETS)))  # fmt: skip


def limits(store: Store, site: str) -> pd.DataFrame:
    """Give the points in force of one site, one row a layer."""
    return _ask(store, "show_limits", site)


def flags(store: Store, site: str, start: str, day: str) -> pd.DataFrame:
    """Give the flagged spans of one site that touch a stretch of days, in its wall time."""
    return wall_times(store, site, _ask(store, "show_flags", site, start=start, date=day))


def gaps(store: Store, site: str, start: str, day: str) -> pd.DataFrame:
    """Give the gaps of one site that touch a stretch of days, in its wall time."""
    return wall_times(store, site, _ask(store, "show_gaps", site, start=start, date=day))


def timezone(store: Store, site: str) -> str:
    """Name a probe's time zone."""
    return str(probe(store, site)["timezone"].iloc[-1])


def wall_times(store: Store, site: str, told: pd.DataFrame) -> pd.DataFrame:
    """Turn instants into the site's wall time: a browser would draw them in its own zone."""
    zone = timezone(store, site)
    walls = {
        name: told[name].dt.tz_convert(zone).dt.tz_localize(None)
        for name in INSTANTS
        if name in told
    }
    return told.assign(**walls)


def frost(store: Store, site: str, start: str, day: str) -> dict[Any, Any]:
    """Give frozen_days, deepest_cm and last_frozen of one site in a stretch of days."""
    found = _ask(store, "show_frost", site, start=start, date=day)
    return dict(found.iloc[0])


def winters_frost(store: Store, site: str, day: str) -> pd.DataFrame:
    """Give each winter's frost at one site: how deep and when, days, first and last day."""
    found = _ask(store, "show_site_frost", site, date=day)
    return frost_by_winter(found, int(store.settings.frost_month))


def unharvested(store: Store, field: str) -> pd.DataFrame:
    """Give one field's crops whose harvest date is missing: crop, planted_on."""
    longest = store.settings.longest_crop_d
    found = _read(store, "check_unharvested", longest_crop_d=longest)
    return found[found["field"] == field]


def wettings(store: Store, site: str, start: str, day: str) -> pd.DataFrame:
    """Give the wettings of one site that began in a stretch of days, with the share stayed."""
    return _ask(store, "show_wettings", site, start=start, date=day)


def wetting_layers(store: Store, site: str, start: str, day: str) -> pd.DataFrame:
    """Give each layer that those wettings reached, with when."""
    return _ask(store, "show_wetting_layers", site, start=start, date=day)


def tally(store: Store, site: str, day: str) -> pd.DataFrame:
    """Give every off-season of one site, whole profile and layers, latest first."""
    return _ask(store, "show_tally", site, date=day)


def zone_days(store: Store, site: str, zone: str, day: str) -> pd.DataFrame:
    """Give a zone's water every third day, in years that begin in ``years_month``."""
    return _ask(store, "show_zone_days", site, date=day, zone=zone,
                month=int(store.settings.years_month))  # fmt: skip


def headlines(packed: object) -> list[dict[str, Any]]:
    """Unpack the headlines of a readiness row: code and evidence, most urgent first."""
    if not isinstance(packed, str) or not packed.strip():
        return []
    return json.loads(packed)


def whole(store: Store, name: str) -> pd.DataFrame:
    """Give a whole result table, empty where this version keeps none of that name."""
    return _table(str(store.path), store.generation, name) if name in TABLES else EMPTY


def _table(path: str, generation: str, name: str) -> pd.DataFrame:
    return lent(_whole_table(path, generation, name))


@st.cache_resource(max_entries=24, show_spinner=False)
def _whole_table(path: str, generation: str, name: str) -> pd.DataFrame:
    del generation
    return people.table(Path(path), name)


def assessed(store: Store, tell: Progress) -> dict[str, str]:
    """Work out anew what a change touches; give what could not be."""
    with ThreadPoolExecutor(1) as pool:
        return assess(store.path, _day(store), pool, progress=tell).failed


def _day(store: Store) -> date:
    if store.as_of is None:
        message = "The store has not been assessed yet. Run: overwinter assess STORE"
        raise StoreError(message)
    return store.as_of
