"""The results: derived Parquet files, published as one generation.

Tables by day lie one file a site, but for their latest weeks: these and the small tables lie in
a few buckets of sites, so that a night's days rewrite a few files and no long ones. A
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
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import duckdb
import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from analytics.contract import RESULTS, TABLES, Table
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
OPEN_DAYS = 60
"""The latest days, kept in buckets: a week of nights, and the weeks that they go through."""
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
    """One site's results on their way: large tables are files already, small ones in hand.

    ``small`` holds of tables by day the latest weeks, under the names of :func:`latest`.
    """

    site: str
    files: dict[str, str]
    small: dict[str, pa.Table]

    @property
    def sites(self) -> frozenset[str]:
        """The site, as a set."""
        return frozenset((self.site,))

    def gives(self, table: str) -> frozenset[str]:
        """Of which sites ``small`` holds all rows of a table."""
        del table  # of all tables
        return self.sites


@dataclass(frozen=True, slots=True, kw_only=True)
class Rewritten:
    """A bucket on its way, with the files of it that are written anew.

    Attributes
    ----------
    number : int
    sites : frozenset of str
        Of which anything is new.
    files : dict of str to str or None
        By table, of those written anew; None for one without rows.
    large : dict of str to (dict of str to str)
        By site its large tables' files, of sites that were assessed whole.
    small : dict of str to Table
        What the order of the store needs of the new rows.
    """

    number: int
    sites: frozenset[str]
    files: dict[str, str | None]
    large: dict[str, dict[str, str]]
    small: dict[str, pa.Table]

    def gives(self, table: str) -> frozenset[str]:
        """Of which sites ``small`` holds all rows of a table that the order asks for."""
        return self.sites if table == latest("readiness") else frozenset(self.large)


def latest(name: str) -> str:
    """Name the latest weeks of a table by day, as manifests list them."""
    return f"{name}_latest"


SPLIT = (*PER_SITE, "readiness")
"""Tables by day, of which the latest weeks lie apart."""
IN_BUCKETS = (*PER_BUCKET, *(latest(name) for name in SPLIT))


def table_of(name: str) -> Table:
    """Give the contract's table of a name that manifests list."""
    return TABLES[name.removesuffix("_latest")]


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


def stage(store: Path, generation: int, site: str, tables: Tables, as_of: date) -> Staged:
    """Write one site's large tables under names that nothing lists yet.

    Safe to run in another process than the one that publishes.
    """
    files: dict[str, str] = {}
    small = {
        name: to_arrow(tables[name], TABLES[name])
        for name in (*PER_BUCKET, *PER_SITE) if name in tables
    }  # fmt: skip
    opens = np.datetime64(as_of - timedelta(days=OPEN_DAYS), "D")
    for name in (one for one in SPLIT if one in small):
        late = small[name].column("date").to_numpy() >= opens
        small[latest(name)] = small[name].filter(pa.array(late))
        small[name] = small[name].filter(pa.array(~late))
    for name in (one for one in PER_SITE if one in small):
        table = small.pop(name)
        if table.num_rows:
            files[name] = f"{DERIVED}/{name}/site={safe(site)}-{generation}.parquet"
            _write(store / files[name], table)
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
        staged = [stage(store, generation, *one, as_of) for one in results.items()]
        return switch(store, staged, as_of, settings, version)


def switch(
    store: Path,
    staged: Iterable[Staged | Rewritten],
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
    known = list(staged)
    arrived = {one.site: one for one in known if isinstance(one, Staged)}
    rewritten = [one for one in known if isinstance(one, Rewritten)]
    large = {site: one.files for site, one in arrived.items()}
    for one in rewritten:
        large |= one.large
    sites = sorted({site for one in known for site in one.sites})
    with connection.publishing(store):
        generation = upcoming(store)
        before = manifest.read(store, generation - 1)
        files = {name: _per_site(before.get(name, {}), name, large) for name in PER_SITE}
        for name in IN_BUCKETS:
            files[name] = _buckets(store, before.get(name, {}), name, arrived, generation)
            _put_rewritten(files[name], name, rewritten)
        for name in WHOLE:
            files[name] = _one_file(store, before.get(name, {}), name, whole, generation)
        manifest.write(store, generation, files)
        _lay_empty(store)
        with connection.writing(store) as db:
            _views(db, files)
            _record(db, generation, as_of, settings, version)
            statements.execute(db, "untouch", sites=sites, seen=seen)
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


def _per_site(
    before: dict[str, str], name: str, large: Mapping[str, dict[str, str]]
) -> dict[str, str]:
    kept = {site: path for site, path in before.items() if site not in large}
    news = {site: files[name] for site, files in large.items() if name in files}
    return kept | news


def _put_rewritten(files: dict[str, str], name: str, rewritten: Iterable[Rewritten]) -> None:
    for one in rewritten:
        if name in one.files:
            files.pop(_key(one.number), None)
            path = one.files[name]
            if path is not None:
                files[_key(one.number)] = path


def _key(number: int) -> str:
    return f"{number:02d}"


def held(store: Path) -> manifest.Files:
    """Give the files of the generation that holds."""
    with connection.reading(store) as db:
        return manifest.read(store, manifest.latest(db))


def read_bucket(
    store: Path, files: manifest.Files, number: int, names: Iterable[str]
) -> dict[str, pa.Table]:
    """Read some of a bucket's tables."""
    tables = {}
    for name in names:
        path = files.get(name, {}).get(_key(number))
        tables[name] = _read(store / path) if path else schema(table_of(name)).empty_table()
    return tables


def write_bucket(
    store: Path, generation: int, number: int, tables: Mapping[str, pa.Table]
) -> dict[str, str | None]:
    """Write tables of a bucket under names that nothing lists yet."""
    files: dict[str, str | None] = dict.fromkeys(tables)
    for name, table in tables.items():
        if table.num_rows:
            path = f"{DERIVED}/{name}/bucket={_key(number)}-{generation}.parquet"
            _write(store / path, table)
            files[name] = path
    return files


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
        key = _key(number)
        pieces = [
            one.small[name]
            for site, one in arrived.items()
            if bucket(site, BUCKETS) == number and name in one.small
        ]
        if key in before:
            pieces.insert(0, _without(_read(store / before[key]), set(arrived)))
        table = pa.concat_tables([schema(table_of(name)).empty_table(), *pieces])
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
        own = (files.get(name, {}) for name in (table.name, latest(table.name)))
        listed = [_empty(table.name), *sorted(path for one in own for path in one.values())]
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
