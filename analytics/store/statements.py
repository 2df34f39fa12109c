"""Run the statements kept in ``sql/``."""

from pathlib import Path

import duckdb
import pandas as pd

from analytics.store import connection, trail
from analytics.store.frames import from_arrow
from analytics.store.sqlfiles import text, words

Value = str | int | float | bool | bytes | None | object


def query(store: Path, name: str, /, **params: Value) -> pd.DataFrame:
    """Run one statement of ``sql/`` in a reading unit of work.

    Parameters
    ----------
    store : Path
        The store's folder.
    name : str
        The statement's file, without ``.sql``.
    **params
        Values of its ``$name`` parameters.

    Returns
    -------
    DataFrame
        Dates as ``datetime64[us]``, times as ``datetime64[us, UTC]``.
    """
    with connection.reading(store, naming=words(name)) as db:
        return rows(db, name, **params)


def rows(db: duckdb.DuckDBPyConnection, name: str, /, **params: Value) -> pd.DataFrame:
    """Run one statement on an open store and give its rows."""
    relation = db.sql(text(name), params=params) if params else db.sql(text(name))
    return from_arrow(relation.to_arrow_table())


def execute(
    db: duckdb.DuckDBPyConnection, name: str, /, **params: Value
) -> list[tuple[object, ...]]:
    """Run one statement that changes something; give what it returns."""
    trail.step(name, params)
    return db.execute(text(name), params).fetchall()
