"""Results on their way: a site's or a bucket's files, which nothing lists yet.

Tables by day lie one file a site, but for their latest weeks: these and the small tables lie in
a few buckets of sites, so that a night's days rewrite a few files and no long ones.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from analytics.contract import TABLES, Table
from analytics.store import manifest
from analytics.store.frames import schema, to_arrow
from analytics.store.paths import DERIVED, safe

PER_SITE = ("daily", "uptake", "depletion")
PER_BUCKET = (
    "readiness", "tally", "limits", "wettings", "wetting_layers", "gaps", "flags", "frost",
    "candidates", "drift", "extraction", "forecasts", "crop_water", "season_cases", "news",
)  # fmt: skip
SPLIT = (*PER_SITE, "readiness")
"""Tables by day, of which the latest weeks lie apart."""
OPEN_DAYS = 60
"""The latest days, kept in buckets: a week of nights, and the weeks that they go through."""
BUCKETS = 16
GROUP_ROWS = 16_384
"""Of a bucket's rows, which lie site by site, so many are read for one site's, not all."""
STAGED = f"{DERIVED}/staged"
"""Where small tables wait for their bucket, so that no process holds those of every site."""
_PACKED = pa.ipc.IpcWriteOptions(compression="zstd")
Tables = Mapping[str, pd.DataFrame]


def latest(name: str) -> str:
    """Name the latest weeks of a table by day, as manifests list them."""
    return f"{name}_latest"


IN_BUCKETS = (*PER_BUCKET, *(latest(name) for name in SPLIT))
ORDER_NEEDS = (latest("readiness"), "limits", "tally", "forecasts", "season_cases")
"""What the order of the whole store rests on; it stays in hand."""


def table_of(name: str) -> Table:
    """Give the contract's table of a name that manifests list."""
    return TABLES[name.removesuffix("_latest")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Staged:
    """One site's results on their way: large tables are files already.

    ``small`` holds of tables by day the latest weeks, under the names of :func:`latest`; of a
    site that was set down only what the order needs, and the files of ``rest`` hold the others.
    """

    site: str
    files: dict[str, str]
    small: dict[str, pa.Table]
    rest: dict[str, str] = field(default_factory=dict)

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


Arrived = Staged | Rewritten


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
            write(store / files[name], table)
    return Staged(site=site, files=files, small=small)


def set_down(store: Path, one: Staged) -> Staged:
    """Put a site's small tables into files, and keep in hand what the order needs."""
    folder = store / STAGED
    folder.mkdir(parents=True, exist_ok=True)
    small, rest = {}, {}
    for name, table in one.small.items():
        if name in ORDER_NEEDS:
            small[name] = table
            continue
        rest[name] = f"{STAGED}/{safe(one.site)}.{name}.arrow"
        with pa.ipc.new_file(store / rest[name], table.schema, options=_PACKED) as out:
            out.write_table(table)
    return replace(one, small=small, rest=rest)


def small_table(store: Path, one: Staged, name: str) -> pa.Table:
    """Give one of a site's small tables, from where it is; empty where it has none."""
    if name in one.rest:
        with pa.OSFile(str(store / one.rest[name])) as told:
            return pa.ipc.open_file(told).read_all()
    held = one.small.get(name)
    return schema(table_of(name)).empty_table() if held is None else held


def key(number: int) -> str:
    """Name a bucket as manifests do."""
    return f"{number:02d}"


def read_bucket(
    store: Path, files: manifest.Files, number: int, names: Iterable[str]
) -> dict[str, pa.Table]:
    """Read some of a bucket's tables."""
    tables = {}
    for name in names:
        path = files.get(name, {}).get(key(number))
        tables[name] = read(store / path) if path else schema(table_of(name)).empty_table()
    return tables


def write_bucket(
    store: Path, generation: int, number: int, tables: Mapping[str, pa.Table]
) -> dict[str, str | None]:
    """Write tables of a bucket under names that nothing lists yet; None for an empty one."""
    files: dict[str, str | None] = dict.fromkeys(tables)
    for name, table in tables.items():
        if table.num_rows:
            path = f"{DERIVED}/{name}/bucket={key(number)}-{generation}.parquet"
            write(store / path, table)
            files[name] = path
    return files


def read(path: Path) -> pa.Table:
    """Read a result file."""
    with pq.ParquetFile(path) as part:
        return part.read()


def write(path: Path, table: pa.Table) -> None:
    """Write a result file so that it is there whole or not at all."""
    sink = pa.BufferOutputStream()
    pq.write_table(table, sink, compression="zstd", row_group_size=GROUP_ROWS)
    path.parent.mkdir(parents=True, exist_ok=True)
    manifest.replace(path, sink.getvalue().to_pybytes())
