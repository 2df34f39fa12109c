"""The records that people keep: fields, sources, sites, layers, seasons, water, weather."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import duckdb
import geopandas as gpd
import pandas as pd

from analytics.contract import PEOPLE, TABLES, Table
from analytics.errors import InputRefused, NotKnown, StoreError
from analytics.store import connection, readings, statements
from analytics.store.counts import Counts
from analytics.store.frames import from_arrow, placed, to_arrow
from analytics.store.sqlfiles import quoted


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reference:
    """A column whose value must be known already, and how to make it so."""

    column: str
    statement: str
    what: str
    remedy: str


_FIELD = _Reference(
    column="field",
    statement="field_names",
    what="field",
    remedy="Import the field's boundary first, or correct the id.",
)
_SITE = _Reference(
    column="site",
    statement="site_names",
    what="site",
    remedy="Import the sites table first, or correct the id.",
)
_STATION = _Reference(
    column="station",
    statement="station_names",
    what="station",
    remedy="Import the stations table first, or correct the id.",
)
REFERENCES = {
    "sites": _FIELD,
    "seasons": _FIELD,
    "water": _FIELD,
    "layers": _SITE,
    "weather": _STATION,
}
"""What the rows of a table name that has to be there."""
_ORDERED_DATES = {
    "sites": ("installed_on", "removed_on"),
    "seasons": ("planted_on", "harvested_on"),
    "sources": ("available_from", "available_until"),
}
_TOUCH_SITES = frozenset({"sites", "layers"})
_TOUCH_FIELDS = frozenset({"fields", "seasons", "water"})
_TOUCH_ALL = frozenset({"stations", "weather"})


def put(store: Path, table: str, frame: pd.DataFrame) -> Counts:
    """Take rows into a people's table: all of them, or none.

    The newest row of a key replaces the one before, but for columns that ``frame`` does not
    have: what was known in these stays. Of rows that share a key within ``frame`` the last one
    wins.

    Parameters
    ----------
    store : Path
        The store's folder.
    table : str
        One of the people's tables of the contract.
    frame : DataFrame
        Columns of the contract; ``fields`` and ``landmarks`` are GeoDataFrames.

    Returns
    -------
    Counts
        Rows taken new, identical and superseded; their sum is ``len(frame)``.

    Raises
    ------
    InputRefused
        When a row names a field, site or station that the store does not know, or dates
        that run backwards, or a time zone that does not exist, or moves a site to another
        field.
    """
    with connection.writing(store) as db:
        return put_in(db, table, frame)


def put_in(db: duckdb.DuckDBPyConnection, table: str, frame: pd.DataFrame) -> Counts:
    """Do what ``put`` does inside a unit of work that is open already."""
    described = people_table(table)
    frame = _with_known(db, described, frame)
    _check(db, table, frame)
    keys = list(described.key)
    unique = frame.drop_duplicates(subset=keys, keep="last")
    db.register("arriving", to_arrow(unique, described))
    changed = statements.execute(db, f"put_{table}")
    db.unregister("arriving")
    if table == "sites":
        _check_stay(db, {str(name) for _, name in changed})
    days = [day for _, _, *dated in changed for day in dated if isinstance(day, date)]
    touch(db, table, {str(name) for _, name, *_ in changed}, days)
    taken = sum(action == "INSERT" for action, *_ in changed)
    superseded = len(changed) - taken + len(frame) - len(unique)
    identical = len(frame) - taken - superseded
    return Counts(taken=taken, identical=identical, superseded=superseded)


def _with_known(
    db: duckdb.DuckDBPyConnection, described: Table, frame: pd.DataFrame
) -> pd.DataFrame:
    """Fill columns that a frame does not have with what is known of its rows."""
    keys = list(described.key)
    absent = [one.name for one in described.columns
              if one.name not in frame and one.kind != "shape"]  # fmt: skip
    if not absent or not set(keys) <= {*frame.columns}:
        return frame
    known = db.table(quoted(described.name)).to_arrow_table().select([*keys, *absent])
    return frame.merge(from_arrow(known), on=keys, how="left") if known.num_rows else frame


BOOKS = (
    "imports", "rejects", "superseded", "mappings", "settings", "assessments", "flag_edits",
    "filled", "scenarios", "accounts", "trail", "removed",
)  # fmt: skip
"""What the store writes down about itself."""


def table(store: Path, name: str) -> pd.DataFrame:
    """Give a whole table of the contract, in the order of its key.

    Parameters
    ----------
    store : Path
        The store's folder.
    name : str
        Any table of the contract: people's, ``readings`` or a result; or one of the store's
        own books.

    Returns
    -------
    DataFrame
        The contract's columns; a GeoDataFrame where the table has shapes.

    Raises
    ------
    NotKnown
        When there is no such table.
    StoreError
        When an earlier form of the program made the results that hold.
    """
    if name in BOOKS:
        return _book(store, name)
    if name not in TABLES:
        message = f"There is no table {name!r}. Known: {', '.join((*TABLES, *BOOKS))}."
        raise NotKnown(message)
    described = TABLES[name]
    if described.role == "readings":
        return readings.long(store)
    with connection.reading(store, naming={name}) as db:
        try:
            found = as_it_stands(db, name)
        except duckdb.CatalogException as why:
            message = (
                f"An earlier Overwinter knew no table {name!r}. Run: overwinter assess {store}"
            )
            raise StoreError(message) from why
    if lacking := set(described.names) - set(found.columns):
        message = (
            f"The table {name!r} was made by an earlier Overwinter and lacks "
            f"{', '.join(sorted(lacking))}. Run: overwinter assess {store}"
        )
        raise StoreError(message)
    names = list(described.names)
    frame = found[names].sort_values(list(described.key), ignore_index=True)
    return placed(frame)[names] if "geometry" in described.names else frame


def _book(store: Path, name: str) -> pd.DataFrame:
    if name == "superseded":
        return readings.superseded(store)
    if name == "rejects":
        return statements.query(store, "show_rejects")
    with connection.reading(store, naming={name}) as db:
        return as_it_stands(db, name)


def as_it_stands(db: duckdb.DuckDBPyConnection, name: str) -> pd.DataFrame:
    """Give a whole table inside a unit of work that is open already; shapes as binary."""
    return from_arrow(db.table(quoted(name)).to_arrow_table())


def fields(store: Path) -> gpd.GeoDataFrame:
    """Give the fields with their boundaries in WGS 84."""
    found = table(store, "fields")
    assert isinstance(found, gpd.GeoDataFrame)  # noqa: S101 - tells the type checker
    return found


def people_table(name: str) -> Table:
    """Give the contract's description of a table that people keep.

    Raises
    ------
    NotKnown
    """
    described = TABLES.get(name)
    if described is None or described.role != "people":
        known = ", ".join(one.name for one in PEOPLE)
        message = f"There is no people's table {name!r}. Known: {known}."
        raise NotKnown(message)
    return described


def _check(db: duckdb.DuckDBPyConnection, table: str, frame: pd.DataFrame) -> None:
    if table in REFERENCES:
        _check_known(db, table, frame, REFERENCES[table])
    if table in _ORDERED_DATES:
        _check_order(table, frame, *_ORDERED_DATES[table])
    if table == "sites":
        _check_zones(frame)


def _check_known(
    db: duckdb.DuckDBPyConnection, table: str, frame: pd.DataFrame, wanted: _Reference
) -> None:
    known = {name for name, *_ in statements.execute(db, wanted.statement)}
    unknown = sorted(set(frame[wanted.column].astype(str)) - known)
    if unknown:
        where = f"{table}, {_rows(frame, table, wanted.column, unknown[0])}"
        more = f" (and {len(unknown) - 1} more)" if len(unknown) > 1 else ""
        found = f"{wanted.what} {unknown[0]!r}{more} is not in the store."
        raise InputRefused(where, found, wanted.remedy)


def _check_stay(db: duckdb.DuckDBPyConnection, changed: set[str]) -> None:
    """Refuse a probe in two fields: its whole past would be told as the later one's."""
    for site, fields in statements.execute(db, "moved_sites"):
        if site in changed:
            where, found = f"sites, site {site!r}", f"it would stand in more fields: {fields}."
            remedy = (
                "A probe that goes to another field is a new site there: give it an id of its "
                "own. If a field was wrong, correct it in all rows of the site at once."
            )
            raise InputRefused(where, found, remedy)


def _rows(frame: pd.DataFrame, table: str, column: str, value: str) -> str:
    row = frame[frame[column].astype(str) == value].iloc[0]
    return ", ".join(f"{key} {_plain(row[key])}" for key in TABLES[table].key if key in row)


def _plain(value: object) -> str:
    return f"{value:%Y-%m-%d}" if isinstance(value, pd.Timestamp) else repr(value)


def _check_order(table: str, frame: pd.DataFrame, first: str, last: str) -> None:
    if first not in frame or last not in frame:
        return
    backwards = pd.to_datetime(frame[last]) < pd.to_datetime(frame[first])
    for _, row in frame[backwards].iterrows():
        names = [key for key in TABLES[table].key if key in row]
        where = f"{table}, " + ", ".join(f"{key} {_plain(row[key])}" for key in names)
        raise InputRefused(where, f"{last} comes before {first}.", "Correct the dates.")


def _check_zones(frame: pd.DataFrame) -> None:
    zones: Iterable[tuple[str, str]] = zip(frame["site"], frame["timezone"], strict=True)
    for site, zone in zones:
        try:
            ZoneInfo(zone)
        except (ZoneInfoNotFoundError, ValueError, OSError) as why:
            found = f"time zone {zone!r} does not exist."
            remedy = "Write it like America/Chicago."
            where = f"sites, site {site!r}"
            raise InputRefused(where, found, remedy) from why


def touch(
    db: duckdb.DuckDBPyConnection, table: str, changed: set[str], days: list[date]
) -> None:
    """Let sites be assessed again: from a day on where rows are of days, else whole.

    Parameters
    ----------
    db : DuckDBPyConnection
    table : str
    changed : set of str
        Fields, sites, stations or sources whose rows changed, as the first key of ``table``.
    days : list of date
        Of the rows that changed, where they are of days.
    """
    if not changed:
        return
    # The day before, so that it is the earlier one by every clock.
    since = min(days) - timedelta(days=1) if days else None
    if table in _TOUCH_SITES:
        statements.execute(db, "touch_sites", sites=sorted(changed))
    elif table == "sources":  # the order hangs on them
        statements.execute(db, "touch_sources", sources=sorted(changed))
    elif table in _TOUCH_FIELDS:
        statements.execute(db, "touch_fields", fields=sorted(changed), since=since)
    elif table in _TOUCH_ALL:
        statements.execute(db, "touch_all", since=since)
