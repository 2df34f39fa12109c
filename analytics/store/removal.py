"""What should never have been in the store: taken out, and kept aside."""

from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import duckdb
import numpy as np
import pandas as pd
import shapely

from analytics.contract import Column, Table
from analytics.errors import InputRefused, NotKnown
from analytics.soil.days import local_midnight
from analytics.store import connection, people, readings, statements
from analytics.store.frames import placed, to_arrow
from analytics.store.sqlfiles import quoted

_NAMED = frozenset({"fields", "sites", "stations"})
"""Tables whose rows others name, by the first column of their key."""
_WKT_DIGITS = 9  # of a degree: a tenth of a millimetre


def remove(
    store: Path, table: str, wanted: Mapping[str, str], *, every: bool = False
) -> pd.DataFrame:
    """Take rows out of a people's table; they stay in the store's own book ``removed``.

    Parameters
    ----------
    store : Path
        The store's folder.
    table : str
        One of the people's tables of the contract.
    wanted : mapping of str to str
        Columns of the table's key and the value that a row must have in each, as a file would
        spell it; an empty one stands for none.
    every : bool
        Take out more rows than one.

    Returns
    -------
    DataFrame
        What was taken out, by the table's own columns.

    Raises
    ------
    NotKnown
        When there is no such table or row.
    InputRefused
        When a column is none of the key or a value cannot be read, when more rows than one are
        meant without ``every``, or when what is left would name what is gone.
    """
    described = people.people_table(table)
    columns = [_key_column(described, name) for name in wanted]
    said = ", ".join(f"{name}={value}" for name, value in wanted.items())
    with connection.writing(store) as db:
        known = people.as_it_stands(db, table)
        chosen = np.ones(len(known), bool)
        for column in columns:
            chosen &= _has(known[column.name], column, wanted[column.name])
        if not chosen.any():
            message = f"{table}: no row has {said}. overwinter table STORE {table} lists them."
            raise NotKnown(message)
        if chosen.sum() > 1 and not every:
            where, found = f"{table}, {said}", f"{chosen.sum()} rows have it."
            remedy = f"Name more of {', '.join(described.key)}, or add --every."
            raise InputRefused(where, found, remedy)
        leaving = known[chosen].reset_index(drop=True)
        leaving = placed(leaving) if "geometry" in leaving else leaving
        _take_out(db, described, leaving)
        if table in _NAMED:
            _refuse_orphans(db, store, described, leaving)
    return pd.DataFrame(leaving).drop(columns="geometry", errors="ignore")


def remove_readings(store: Path, site: str, first: str, last: str) -> int:
    """Take a probe's readings of a span out; they stay in the table ``superseded``.

    For readings that a wrong clock or a wrong mapping put where they do not belong: the right
    ones stand at other instants, and would not take their place.

    Parameters
    ----------
    store : Path
        The store's folder.
    site : str
        The probe's id.
    first, last : str
        Days of the site's own clock, as 2024-11-05, both whole; or instants with their offset.

    Returns
    -------
    int
        Instants taken out; at least one.

    Raises
    ------
    NotKnown
        When there is no such site, or it has no readings then.
    InputRefused
        When a day or instant cannot be read.
    """
    with connection.turn(store):  # no assessment may answer the touch before they are gone
        with connection.writing(store) as db:
            told = statements.execute(db, "newest_zones")
            zones = {str(name): str(zone) for name, zone in told}
            if site not in zones:
                message = f"There is no site {site!r} in the store."
                raise NotKnown(message)
            begin, _ = _instants("from", first, zones[site])
            _, end = _instants("to", last, zones[site])
            # Before anything changes: cut short, what is left is assessed anew all the same.
            statements.execute(db, "touch_sites", sites=[site])
        count = readings.take_out(store, site, begin, end)
    if not count:
        message = f"Site {site} has no readings from {first} to {last}."
        raise NotKnown(message)
    return count


def _instants(name: str, word: str, zone: str) -> tuple[np.datetime64, np.datetime64]:
    """Give the first and last instant, UTC, of a day of a clock; of an instant, itself."""
    try:
        if "T" not in word:
            day = date.fromisoformat(word)
            after = local_midnight(day + timedelta(days=1), zone)
            return local_midnight(day, zone), after - np.timedelta64(1, "us")
        when = datetime.fromisoformat(word)
    except ValueError:
        when = None
    if when is None or when.tzinfo is None:
        where, found = f"{name}={word}", "cannot be read."
        remedy = "Write a day like 2024-11-05, or an instant like 2024-11-05T06:00:00-06:00."
        raise InputRefused(where, found, remedy)
    instant = np.datetime64(when.astimezone(UTC).replace(tzinfo=None), "us")
    return instant, instant


def _key_column(described: Table, name: str) -> Column:
    column = described.column(name)
    if column is None or name not in described.key:
        where, found = f"{described.name}, {name}", "no row is known by it."
        raise InputRefused(where, found, f"Name rows by {', '.join(described.key)}.")
    return column


def _has(values: pd.Series, column: Column, word: str) -> np.ndarray:
    if not word:
        return values.isna().to_numpy()
    if column.kind == "text":
        return (values == word).to_numpy()
    where = f"{column.name}={word}"
    try:
        if column.kind == "date":
            return (values == pd.Timestamp(date.fromisoformat(word))).to_numpy()
        return np.isclose(values.to_numpy(np.float64), float(word))
    except ValueError:
        like = "a day like 2024-11-05" if column.kind == "date" else "a number"
        raise InputRefused(where, "cannot be read.", f"Write {like}.") from None


def _take_out(db: duckdb.DuckDBPyConnection, described: Table, leaving: pd.DataFrame) -> None:
    table, key = quoted(described.name), [quoted(name) for name in described.key]
    same = " AND ".join(f"{table}.{one} IS NOT DISTINCT FROM leaving.{one}" for one in key)
    db.register("leaving", to_arrow(leaving, described))
    db.execute(f"DELETE FROM {table} USING leaving WHERE {same}")  # noqa: S608 - our own names
    db.unregister("leaving")
    statements.execute(
        db, "save_removed", made_at=datetime.now(UTC), taken_from=described.name,
        told=_told(leaving),
    )  # fmt: skip
    days = [one.date() for one in leaving["date"]] if "date" in described.key else []
    people.touch(db, described.name, set(leaving[described.key[0]].astype(str)), days)


def _told(leaving: pd.DataFrame) -> list[str]:
    """Give each row as JSON, its boundary as well-known text."""
    if "geometry" in leaving:
        outline = shapely.to_wkt(leaving["geometry"].to_numpy(), _WKT_DIGITS)
        leaving = pd.DataFrame(leaving).assign(geometry=outline)
    return leaving.to_json(orient="records", lines=True, date_format="iso").splitlines()


def _refuse_orphans(
    db: duckdb.DuckDBPyConnection, store: Path, described: Table, leaving: pd.DataFrame
) -> None:
    """Refuse to leave rows or readings behind that name what is gone."""
    what = described.key[0]
    gone = set(leaving[what].astype(str)) - set(people.as_it_stands(db, described.name)[what])
    left = {
        other: int(people.as_it_stands(db, other)[what].isin(gone).sum())
        for other, needed in sorted(people.REFERENCES.items()) if needed.column == what
    }  # fmt: skip
    told = [f"{rows} of {other}" for other, rows in left.items() if rows]
    told += ["its readings"] * bool(what == "site" and gone & {*readings.sites(store)})
    if told:
        where = f"{described.name}, {what} {' and '.join(sorted(gone))}"
        found = f"it is still named, by {', '.join(told)}."
        raise InputRefused(where, found, "Nothing was taken out. Take these out first.")
