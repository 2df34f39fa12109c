"""The results: derived Parquet files, published as one generation.

Daily values and uptake lie one file a site, the small tables in a few buckets of sites. A
generation is published in this order, so that neither a crash nor a reader ever meets a
mixture: new files under new names, each synced; the manifest that lists them and the files
kept from before; in one transaction of the database the views over exactly those files and
the row that makes the generation hold; last, ``CURRENT``. A crash before the transaction
leaves orphans that the next publication clears away; one after it is repaired at the next
opening for writing. Files are removed when one further generation no longer lists them.
"""

import json
import zlib
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime
from pathlib import Path

import duckdb
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from analytics.contract import RESULTS, TABLES
from analytics.settings import Settings
from analytics.store import connection, manifest, statements
from analytics.store.frames import schema, to_arrow
from analytics.store.paths import DERIVED, bucket, safe

PER_SITE = ("daily", "uptake", "depletion")
PER_BUCKET = (
    "readiness",
    "tally",
    "limits",
    "wettings",
    "wetting_layers",
    "gaps",
    "flags",
    "frost",
    "candidates",
    "drift",
    "extraction",
    "forecasts",
    "crop_water",
    "season_cases",
    "news",
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
BUCKETS = 16
EMPTY = "empty"
Tables = Mapping[str, pd.DataFrame]


@dataclass(frozen=True, slots=True, kw_only=True)
class Staged:
    """One site's results on their way: large tables are files already, small ones in hand."""

    site: str
    files: dict[str, str]
    small: dict[str, pa.Table]


def found(store: Path, db: duckdb.DuckDBPyConnection) -> None:
    """Give a new store its result views, typed and empty."""
    _lay_empty(store)
    _views(db, {})


def _lay_empty(store: Path) -> None:
    """Give every result table an empty file of its present form, which types its view."""
    for table in RESULTS:
        path = store / _empty(table.name)
        if not path.exists():
            _write(path, schema(table).empty_table())


def upcoming(store: Path) -> int:
    """Give the number of the generation that a publication now would make."""
    with connection.reading(store) as db:
        return manifest.latest(db) + 1


def stage(store: Path, generation: int, site: str, tables: Tables) -> Staged:
    """Write one site's large tables under names that nothing lists yet.

    Safe to run in another process than the one that publishes.
    """
    files: dict[str, str] = {}
    for name in PER_SITE:
        table = to_arrow(tables[name], TABLES[name]) if name in tables else None
        if table is not None and table.num_rows:
            files[name] = f"{DERIVED}/{name}/site={safe(site)}-{generation}.parquet"
            _write(store / files[name], table)
    small = {
        name: to_arrow(tables[name], TABLES[name]) for name in PER_BUCKET if name in tables
    }
    return Staged(site=site, files=files, small=small)


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
        staged = [stage(store, generation, *one) for one in results.items()]
        return switch(store, staged, as_of, settings, version)


def switch(
    store: Path,
    staged: Iterable[Staged],
    as_of: date,
    settings: Settings,
    version: str,
    *,
    seen: int = 0,
    whole: Tables | None = None,
) -> int:
    """Make staged results the ones that hold.

    ``seen`` is the newest touch the results know of: the sites' touches up to it are over.
    ``whole`` are the tables of the store as a whole; those of before stay where it is None.
    """
    arrived = {one.site: one for one in staged}
    with connection.publishing(store):
        generation = upcoming(store)
        before = manifest.read(store, generation - 1)
        files = {name: _per_site(before.get(name, {}), name, arrived) for name in PER_SITE}
        for name in PER_BUCKET:
            files[name] = _buckets(store, before.get(name, {}), name, arrived, generation)
        for name in WHOLE:
            files[name] = _one_file(store, before.get(name, {}), name, whole, generation)
        manifest.write(store, generation, files)
        _lay_empty(store)
        with connection.writing(store) as db:
            _views(db, files)
            _record(db, generation, as_of, settings, version)
            statements.execute(db, "untouch", sites=sorted(arrived), seen=seen)
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


def _per_site(before: dict[str, str], name: str, arrived: dict[str, Staged]) -> dict[str, str]:
    kept = {site: path for site, path in before.items() if site not in arrived}
    news = {site: one.files[name] for site, one in arrived.items() if name in one.files}
    return kept | news


def _buckets(
    store: Path,
    before: dict[str, str],
    name: str,
    arrived: dict[str, Staged],
    generation: int,
) -> dict[str, str]:
    """Rewrite the buckets of the sites that arrived, keep the others by reference."""
    files = dict(before)
    for number in sorted({bucket(site, BUCKETS) for site in arrived}):
        key = f"{number:02d}"
        pieces = [
            one.small[name]
            for site, one in arrived.items()
            if bucket(site, BUCKETS) == number and name in one.small
        ]
        if key in before:
            pieces.insert(0, _without(_read(store / before[key]), set(arrived)))
        table = pa.concat_tables([schema(TABLES[name]).empty_table(), *pieces])
        files.pop(key, None)
        if table.num_rows:
            files[key] = f"{DERIVED}/{name}/bucket={key}-{generation}.parquet"
            _write(store / files[key], table)
    return files


def _one_file(
    store: Path, before: dict[str, str], name: str, whole: Tables | None, generation: int
) -> dict[str, str]:
    if whole is None:
        return before
    table = to_arrow(whole[name], TABLES[name])
    if not table.num_rows:
        return {}
    path = f"{DERIVED}/{name}/all-{generation}.parquet"
    _write(store / path, table)
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
        listed = [_empty(table.name), *sorted(files.get(table.name, {}).values())]
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
    for path in (store / DERIVED).glob("manifest-*.json"):
        if int(path.stem.removeprefix("manifest-")) < generation - 1:
            path.unlink()


def _empty(name: str) -> str:
    """Name a table's empty file after its form: an older program's has other columns."""
    form = zlib.crc32(repr(schema(TABLES[name])).encode())
    return f"{DERIVED}/{name}/{EMPTY}-{form:08x}.parquet"


def _read(path: Path) -> pa.Table:
    with pq.ParquetFile(path) as part:
        return part.read()


def _write(path: Path, table: pa.Table) -> None:
    sink = pa.BufferOutputStream()
    pq.write_table(table, sink, compression="zstd")
    path.parent.mkdir(parents=True, exist_ok=True)
    manifest.replace(path, sink.getvalue().to_pybytes())
