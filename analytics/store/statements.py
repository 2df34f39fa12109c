"""Run the statements kept in ``sql/``."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb
import pandas as pd

from analytics.errors import StoreError
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
    """Run one statement on an open store and give its rows.

    Raises
    ------
    StoreError
        When the results that hold lack a table or a column that it names.
    """
    with in_this_form():
        relation = db.sql(text(name), params=params) if params else db.sql(text(name))
        return from_arrow(relation.to_arrow_table())


@contextmanager
def in_this_form() -> Iterator[None]:
    """Say what to do where results were made by a program that knew less."""
    try:
        yield
    except (duckdb.BinderException, duckdb.CatalogException) as why:
        first = str(why).splitlines()[0]
        message = (
            f"The results that hold were made by an earlier Overwinter ({first}). "
            "Run: overwinter assess STORE"
        )
        raise StoreError(message) from why


def execute(
    db: duckdb.DuckDBPyConnection, name: str, /, **params: Value
) -> list[tuple[object, ...]]:
    """Run one statement that changes something; give what it returns."""
    trail.step(name, params)
    return db.execute(text(name), params).fetchall()
