"""What is told of one site, read once from the few files that hold it, and asked in memory.

The views over the results list a file a site, each of which DuckDB opens to learn that it holds
another one: of a thousand sites that takes a third of a second a question. A page asks some
twenty questions of its site; what they ask is a few tables of some thousand rows.
"""

from collections.abc import Collection, Iterator, Mapping
from pathlib import Path

import duckdb
import pandas as pd
import pyarrow as pa

from analytics.contract import RESULTS, TABLES
from analytics.store import connection, engine, manifest, results, sight, statements
from analytics.store.paths import bucket, database
from analytics.store.sqlfiles import literal, quoted, words
from analytics.store.staged import BUCKETS, PER_SITE, key, latest

_OF_SITES = {table.name for table in RESULTS} - set(results.WHOLE)
_BY_SITE = "site = $site"
_BY_FIELD = "field IN (SELECT field FROM sites WHERE site = $site)"
_OF_FIELDS = frozenset({"seasons"})


def gather(store: Path, site: str, tables: Collection[str]) -> dict[str, pa.Table]:
    """Read a site's rows of some tables, in one unit of work.

    Parameters
    ----------
    store : Path
        The store's folder.
    site : str
    tables : collection of str
        ``seasons``, and such as name a site in each row.

    Returns
    -------
    dict of str to Table
        By table the rows of the site, or of its field.
    """
    # A table that a program of another form laid down is read through the view of that time.
    own = [one for one in tables if one in _OF_SITES and (store / results.empty(one)).exists()]
    naming = {*tables, "sites", *words("latest_generation")} - set(own)
    with connection.reading(store, naming=naming) as db:
        _lay(db, store, site, own)
        return {table: _rows(db, table, site) for table in tables}


def ask(
    store: Path, held: Mapping[str, pa.Table], name: str, /, **params: statements.Value
) -> pd.DataFrame:
    """Run one statement of ``sql/`` on what is held of a site.

    Parameters
    ----------
    store : Path
        The store's folder; it is not opened.
    held : mapping of str to Table
        From :func:`gather`; all tables that the statement reads, which must take no rows of
        them but the site's and its field's.
    name : str
        The statement's file, without ``.sql``.
    **params
        Values of its ``$name`` parameters.

    Returns
    -------
    DataFrame
        As :func:`analytics.store.statements.query` gives it.
    """
    with engine.apart(database(store)) as db:
        for table in held.keys() & words(name):
            db.register(table, held[table])
        return statements.rows(db, name, **params)


def _rows(db: duckdb.DuckDBPyConnection, table: str, site: str) -> pa.Table:
    rule = _BY_FIELD if table in _OF_FIELDS else _BY_SITE
    with statements.in_this_form():
        found = db.sql(f"FROM {quoted(table)} WHERE {rule}", params={"site": site})
        return found.to_arrow_table()


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
