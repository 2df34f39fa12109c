"""The results: derived Parquet files, published as one generation.

A generation is published in this order, so that neither a crash nor a reader ever meets a
mixture: new files under new names, each synced; the manifest that lists them and the files
kept from before; in one transaction of the database the views over exactly those files and
the row that makes the generation hold; last, ``CURRENT``. A crash before the transaction
leaves orphans that the next publication clears away; one after it is repaired at the next
opening for writing. Files are removed when one further generation no longer lists them.
"""

import json
import shutil
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path

import duckdb
import pyarrow as pa
import pyarrow.parquet as pq

from analytics.contract import RESULTS, TABLES
from analytics.settings import Settings
from analytics.store import connection, manifest, statements
from analytics.store.frames import schema, to_arrow
from analytics.store.paths import DERIVED, bucket
from analytics.store.staged import (
    BUCKETS,
    IN_BUCKETS,
    PER_SITE,
    STAGED,
    Arrived,
    Rewritten,
    Staged,
    Tables,
    key,
    latest,
    read_bucket,
    small_table,
    stage,
    write,
    write_bucket,
)

WHOLE = (
    "order",
    "plan",
    "order_sources",
    "order_left_out",
    "order_inputs",
    "outlook",
    "outlook_grade",
    "season_windows",
    "season_demand",
    "season_grade",
)
"""Tables of the store as a whole, one file each."""
EMPTY = "empty"


def found(store: Path, db: duckdb.DuckDBPyConnection) -> None:
    """Give a new store its result views, typed and empty."""
    _lay_empty(store)
    _views(db, {})


def _lay_empty(store: Path) -> None:
    """Give every result table an empty file of its present form, which types its view."""
    for table in RESULTS:
        path = store / empty(table.name)
        if not path.exists():
            write(path, schema(table).empty_table())


def upcoming(store: Path) -> int:
    """Give the number of the generation that a publication now would make."""
    with connection.reading(store) as db:
        return manifest.latest(db) + 1


def publish(
    store: Path,
    results: Mapping[str, Tables],
    as_of: date,
    settings: Settings,
    version: str,
) -> int:
    """Publish the results of some sites; those of all other sites stay as they are.

    Parameters
    ----------
    store : Path
        The store's folder.
    results : mapping of site to (mapping of result table to frame)
        A table that is absent or empty leaves the site without rows in it.
    as_of, settings, version
        What made them; kept with the generation.

    Returns
    -------
    int
        The generation's number.
    """
    with connection.publishing(store):
        generation = upcoming(store)
        made = [stage(store, generation, *one, as_of) for one in results.items()]
        return switch(store, made, as_of, settings, version)


def switch(
    store: Path,
    arrived: Iterable[Arrived],
    as_of: date,
    settings: Settings,
    version: str,
    *,
    seen: int = 0,
    whole: Tables | None = None,
) -> int:
    """Make staged results the ones that hold.

    A bucket that was rewritten must not hold a site that comes staged besides. ``seen`` is the
    newest touch the results know of: the sites' touches up to it are over. ``whole`` are the
    tables of the store as a whole; those of before stay where it is None.
    """
    known = list(arrived)
    sites = {site for one in known for site in one.sites}
    with connection.publishing(store):
        generation = upcoming(store)
        before = manifest.read(store, generation - 1)
        large = _large(known)
        files = {name: _per_site(before.get(name, {}), name, large) for name in PER_SITE}
        files |= _buckets(store, before, known, generation)
        for name in WHOLE:
            files[name] = _one_file(store, before.get(name, {}), name, whole, generation)
        manifest.write(store, generation, files)
        _lay_empty(store)
        with connection.writing(store) as db:
            _views(db, files)
            _record(db, generation, as_of, settings, version)
            statements.execute(db, "untouch", sites=sorted(sites), seen=seen)
        manifest.point(store, generation)
        _clear(store, generation)
    return generation


def readable(path: Path) -> bool:
    """Tell whether a result file is there and whole."""
    try:
        with pq.ParquetFile(path):
            return True
    except (pa.ArrowException, OSError):
        return False


def _record(
    db: duckdb.DuckDBPyConnection,
    generation: int,
    as_of: date,
    settings: Settings,
    version: str,
) -> None:
    statements.execute(
        db,
        "save_assessment",
        generation=generation,
        as_of=as_of,
        made_at=datetime.now(UTC),
        version=version,
        settings=json.dumps(asdict(settings), sort_keys=True),
    )


def _large(arrived: Iterable[Arrived]) -> dict[str, dict[str, str]]:
    """Give the large tables' files of every site that was assessed whole."""
    large: dict[str, dict[str, str]] = {}
    for one in arrived:
        large |= one.large if isinstance(one, Rewritten) else {one.site: one.files}
    return large


def _per_site(
    before: dict[str, str], name: str, large: Mapping[str, dict[str, str]]
) -> dict[str, str]:
    kept = {site: path for site, path in before.items() if site not in large}
    news = {site: files[name] for site, files in large.items() if name in files}
    return kept | news


def held(store: Path) -> manifest.Files:
    """Give the files of the generation that holds."""
    with connection.reading(store) as db:
        return manifest.read(store, manifest.latest(db))


def _buckets(
    store: Path, before: manifest.Files, arrived: Iterable[Arrived], generation: int
) -> manifest.Files:
    """Rewrite the buckets of the sites that arrived, keep the others by reference."""
    files = {name: dict(before.get(name, {})) for name in IN_BUCKETS}
    of: dict[int, list[Staged]] = {}
    for one in arrived:
        if isinstance(one, Rewritten):
            _put(files, one.number, one.files)
        else:
            of.setdefault(bucket(one.site, BUCKETS), []).append(one)
    for number, some in sorted(of.items()):
        for name in IN_BUCKETS:
            (table,) = read_bucket(store, before, number, [name]).values()
            stays = _without(table, {one.site for one in some})
            laid = pa.concat_tables([stays, *(small_table(store, one, name) for one in some)])
            _put(files, number, write_bucket(store, generation, number, {name: laid}))
    return files


def _put(files: manifest.Files, number: int, written: Mapping[str, str | None]) -> None:
    """List the files of a bucket that were written, and none for a table without rows."""
    for name, path in written.items():
        files[name].pop(key(number), None)
        if path is not None:
            files[name][key(number)] = path


def _one_file(
    store: Path, before: dict[str, str], name: str, whole: Tables | None, generation: int
) -> dict[str, str]:
    if whole is None:
        return before
    table = to_arrow(whole[name], TABLES[name])
    if not table.num_rows:
        return {}
    path = f"{DERIVED}/{name}/all-{generation}.parquet"
    write(store / path, table)
    return {"all": path}


def _without(table: pa.Table, sites: set[str]) -> pa.Table:
    stays = [site not in sites for site in table.column("site").to_pylist()]
    return table.filter(pa.array(stays, pa.bool_()))


def _views(db: duckdb.DuckDBPyConnection, files: manifest.Files) -> None:
    """Lay one view over the files of each result table; an empty file gives the types.

    All files have the contract's columns, so none need be matched by name, which would open
    every site's file at every query.
    """
    for table in RESULTS:
        own = (files.get(name, {}) for name in (table.name, latest(table.name)))
        listed = [empty(table.name), *sorted(path for one in own for path in one.values())]
        over = db.read_parquet(listed, union_by_name=False, hive_partitioning=False)
        over.create_view(table.name, replace=True)


def _clear(store: Path, generation: int) -> None:
    """Remove what neither this generation nor the one before lists."""
    held: set[str] = set()
    for number in (generation, generation - 1):
        for parts in manifest.read(store, number).values():
            held.update(parts.values())
    for path in (store / DERIVED).glob("*/*.parquet"):
        listed = path.relative_to(store).as_posix() in held
        if not listed and not path.name.startswith(EMPTY):
            path.unlink()
    shutil.rmtree(store / STAGED, ignore_errors=True)
    for path in (store / DERIVED).glob("manifest-*.json"):
        if int(path.stem.removeprefix("manifest-")) < generation - 1:
            path.unlink()


@cache
def empty(name: str) -> str:
    """Name a table's empty file, by its form: an older program's has other columns."""
    form = zlib.crc32(repr(schema(TABLES[name])).encode())
    return f"{DERIVED}/{name}/{EMPTY}-{form:08x}.parquet"
