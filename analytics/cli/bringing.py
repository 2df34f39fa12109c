"""Take files into a store from the command line: each stands alone, in an order that fits."""

import argparse
import json
import sys
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import zip_longest
from pathlib import Path
from typing import Any

import pandas as pd

from analytics.cli import pulling
from analytics.cli.pulling import SENSORTHINGS
from analytics.cli.talk import complain, remark, say
from analytics.errors import InputRefused, OverwinterError
from analytics.intake import Known, describe, guess_kind, load_mapping, preview_of, read
from analytics.model import Delivery
from analytics.report import export
from analytics.store import importing, layout

ORDER = (
    "fields",
    "sources",
    "sites",
    "layers",
    "seasons",
    "water",
    "stations",
    "weather",
    "landmarks",
    "readings",
    "logger",
)
_ENDINGS = (
    *(text + packed for text in (".csv", ".tsv", ".dat") for packed in ("", ".gz")),
    ".txt.gz",
    ".parquet",
    ".xlsx",
    ".zip",
    ".geojson",
    ".gpkg",
)
_REJECTS_SHOWN = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One file to take, and what it is said to hold (None: guessed by intake)."""

    path: Path
    kind: str | None = None


def run(asked: argparse.Namespace) -> int:
    """Import; a refused file leaves the store as it was, the others go on."""
    layout.require(asked.store)
    if asked.kind == SENSORTHINGS or any(isinstance(one, str) for one in asked.paths):
        return pulling.run(asked, _told)
    mapping = load_mapping(asked.mapping) if asked.mapping else None
    jobs, refused = arrange(asked.paths, asked.kind)
    for why in refused:
        complain(str(why))
    act = _try_out if asked.dry_run else _take
    refused += act(asked.store, jobs, mapping)
    return int(bool(refused))


def arrange(paths: Iterable[Path], kind: str | None) -> tuple[list[Job], list[OverwinterError]]:
    """Put files in the order in which they can refer to one another.

    Folders are looked through for tables; within a kind the order given stays, so that of
    two deliveries of the same readings the later one wins.
    """
    placed: list[tuple[int, Job]] = []
    refused: list[OverwinterError] = []
    for path in paths:
        files = _files(path)
        if not files:
            refused.append(_nothing_in(path))
        for one in files:
            try:
                guessed = kind or guess_kind(one)
            except OverwinterError as why:
                refused.append(why)
                continue
            placed.append((ORDER.index(guessed), Job(path=one, kind=kind)))
    placed.sort(key=lambda pair: min(pair[0], ORDER.index("readings")))
    return [job for _, job in placed], refused


def _nothing_in(folder: Path) -> InputRefused:
    found = "no file in this folder is a table."
    remedy = "Name a folder of CSV, Excel (.xlsx), Parquet, GeoJSON or GeoPackage files."
    return InputRefused(str(folder), found, remedy)


def _files(path: Path) -> list[Path]:
    if not path.is_dir():
        return [path]
    found = (one for one in path.rglob("*") if one.is_file())
    return sorted(one for one in found if one.name.lower().endswith(_ENDINGS))


def bring(
    store: Path,
    jobs: list[Job],
    mapping: dict[str, Any] | None,
    told: Callable[[Path, Delivery, importing.Outcome], None],
) -> list[OverwinterError]:
    """Take files one after another; give why some were refused."""
    refused: list[OverwinterError] = []
    for job, reading in _read_ahead(store, jobs, mapping):
        try:
            delivery = reading.result()
            outcome = importing.take(store, delivery)
        except OverwinterError as why:
            refused.append(why)
            complain(str(why))
            continue
        told(job.path, delivery, outcome)
    return refused


def _read_ahead(
    store: Path, jobs: list[Job], mapping: dict[str, Any] | None
) -> Iterator[tuple[Job, Future[Delivery]]]:
    """Give each file with its reading, and read the next one while this one is taken.

    A file read ahead is read again where the one before it told what files may refer to.
    """
    known, coming = importing.known(store), None
    with ThreadPoolExecutor(1) as reader:
        for job, after in zip_longest(jobs, jobs[1:]):
            reading = coming or _begin(reader, job, known, mapping)
            coming = _begin(reader, after, known, mapping) if after else None
            yield job, reading
            if _tells_more(reading, known):
                known, coming = importing.known(store), None


def _begin(
    reader: Executor, job: Job, known: Known, mapping: dict[str, Any] | None
) -> Future[Delivery]:
    return reader.submit(read, job.path, known, kind=job.kind, mapping=mapping)


def _tells_more(reading: Future[Delivery], known: Known) -> bool:
    """Tell whether a file brought names or a mapping that later files do not know yet."""
    if reading.exception() is not None:
        return False
    delivery = reading.result()
    if delivery.kind in ("fields", "sites"):
        return True
    return bool(delivery.mapping) and delivery.mapping not in known.mappings.values()


def _take(
    store: Path, jobs: list[Job], mapping: dict[str, Any] | None
) -> list[OverwinterError]:
    shown: set[str] = set()

    def told(path: Path, delivery: Delivery, outcome: importing.Outcome) -> None:
        _show_mapping(delivery, shown)
        _told(path, delivery, outcome)

    return bring(store, jobs, mapping, told)


def _told(place: Path | str, delivery: Delivery, outcome: importing.Outcome) -> None:
    say(f"{place}: {_sum(delivery, outcome)}")
    for note in outcome.notes:
        say(f"  {note}")
    _show_rejects(delivery.rejects)


def _sum(delivery: Delivery, outcome: importing.Outcome) -> str:
    counts = outcome.counts
    already = "; already imported, nothing changed" if outcome.already else ""
    return (
        f"{delivery.kind}, rows in {outcome.rows_in} = {counts.taken} taken + "
        f"{counts.identical} identical + {counts.superseded} superseded + "
        f"{outcome.rejected} rejected{already}"
    )


def _show_mapping(delivery: Delivery, shown: set[str]) -> None:
    """Show how a logger's file was read, once for files that are read alike."""
    if not delivery.mapping:
        return
    rows = describe(delivery.mapping)
    text = json.dumps(rows, sort_keys=True)
    if text not in shown:
        shown.add(text)
        say(f"{Path(delivery.path).name} is read so:")
        sys.stdout.flush()
        export.write(pd.DataFrame(rows), "text", sys.stdout.buffer)


def _show_rejects(rejects: pd.DataFrame) -> None:
    for row in rejects.head(_REJECTS_SHOWN).to_dict("records"):
        remark(f"  row {row['line']}, {row['column']} {row['value']!r}: {row['reason']}")
    more = len(rejects) - _REJECTS_SHOWN
    if more > 0:
        remark(f"  and {more} more, kept in the store's table rejects")


def _try_out(
    store: Path, jobs: list[Job], mapping: dict[str, Any] | None
) -> list[OverwinterError]:
    """Read without writing; end with the first logger file's mapping on standard output."""
    refused: list[OverwinterError] = []
    known = importing.known(store)
    used: list[dict[str, Any]] = []
    for job in jobs:
        try:
            delivery = read(job.path, known, kind=job.kind, mapping=mapping)
        except OverwinterError as why:
            refused.append(why)
            complain(str(why))
            continue
        remark(f"{job.path}: {delivery.kind}, {delivery.rows_in} rows, {_lost(delivery)}")
        for note in delivery.notes:
            remark(f"  {note}")
        if delivery.mapping:
            remark("  the first rows, as they would be taken (m3/m3, C, the site's clock):")
            remark(preview_of(delivery, known).to_string(index=False, na_rep=""))
        known = _with(known, delivery)
        used += [delivery.mapping] if delivery.mapping else []
    if used:
        say(json.dumps(used[0], indent=1, ensure_ascii=False))
    return refused


def _lost(delivery: Delivery) -> str:
    return f"{len(delivery.rejects)} of them to be rejected. Nothing was written."


def _with(known: Known, delivery: Delivery) -> Known:
    """Let later files of a trial refer to what earlier ones would bring."""
    fields, sites = delivery.tables.get("fields"), delivery.tables.get("sites")
    if fields is not None:
        known = replace(known, fields=known.fields | set(fields["field"]))
    if sites is not None:
        zones = dict(zip(sites["site"], sites["timezone"], strict=True))
        known = replace(known, sites=known.sites | zones)
    return known
