"""What is asked of one site, answered from the few files that hold it.

The views over the results list a file a site, each of which DuckDB opens to learn that it holds
another one: of a thousand sites that takes a third of a second a question.
"""

from collections.abc import Iterator
from functools import cache
from pathlib import Path

import duckdb
import pandas as pd

from analytics.contract import RESULTS, TABLES
from analytics.store import connection, manifest, results, sight, statements
from analytics.store.paths import bucket
from analytics.store.sqlfiles import literal, words
from analytics.store.staged import BUCKETS, PER_SITE, key, latest

GENERATION = "latest_generation"


def query(store: Path, name: str, site: str, /, **params: statements.Value) -> pd.DataFrame:
    """Run one statement of ``sql/`` that asks for rows of one site only.

    Parameters
    ----------
    store : Path
        The store's folder.
    name : str
        The statement's file, without ``.sql``. Of the results it must take no rows but the
        site's: those of other sites are there or not, as the files have it.
    site : str
        Value of its ``$site``.
    **params
        Values of its other parameters.

    Returns
    -------
    DataFrame
        As :func:`analytics.store.statements.query` gives it.
    """
    # A table that a program of another form laid down is read through the view of that time.
    own = [table for table in _own(name) if (store / results.empty(table)).exists()]
    naming = (words(name) | words(GENERATION)) - set(own)
    with connection.reading(store, naming=naming) as db:
        _lay(db, store, site, own)
        return statements.rows(db, name, site=site, **params)


@cache
def _own(statement: str) -> tuple[str, ...]:
    """List the sites' result tables that a statement may read."""
    named = words(statement) - set(results.WHOLE)
    return tuple(table.name for table in RESULTS if table.name in named)


def _lay(db: duckdb.DuckDBPyConnection, store: Path, site: str, tables: list[str]) -> None:
    """Lay views over result tables that read no other site's files."""
    files = manifest.read(store, manifest.latest(db))
    for table in tables:
        paths = ", ".join(literal(path) for path in _holding(files, table, site))
        source = f"read_parquet([{paths}], union_by_name = false, hive_partitioning = false)"
        sight.lay(db, table, TABLES[table].names, source)


def _holding(files: manifest.Files, table: str, site: str) -> Iterator[str]:
    """List the files that may hold rows of a site; an empty one gives the types."""
    yield results.empty(table)
    for name in (table, latest(table)):
        part = site if name in PER_SITE else key(bucket(site, BUCKETS))
        if path := files.get(name, {}).get(part):
            yield path
