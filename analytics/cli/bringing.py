"""Take files into a store from the command line: each stands alone, in an order that fits."""

import argparse
import json
import sys
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial, reduce
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
from analytics.store import import_log, importing, layout

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
_TEXTS = (".csv", ".tsv", ".dat")
_ENDINGS = (
    *(text + packed for text in _TEXTS for packed in ("", ".gz")),
    ".txt.gz",
    ".parquet",
    ".xlsx",
    ".zip",
    ".geojson",
    ".gpkg",
)
_REJECTS_SHOWN = 3
AHEAD, AHEAD_BYTES = 48, 48_000_000
"""Files that may lie read in memory, and their bytes as text."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One file to take, and what it is said to hold (None: guessed by intake)."""

    path: Path
    kind: str | None = None


Reading = tuple[Job, Future[Delivery]]


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
    refused += act(asked, jobs, mapping)
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
    *,
    again: bool = False,
) -> list[OverwinterError]:
    """Take files in their order; give why some were refused."""
    refused: list[OverwinterError] = []
    take = partial(importing.take_all, store, again=again)
    for batch in _batches(store, jobs, mapping):
        for some in _accepted(take, batch, refused):
            told(*some)
    return refused


def _accepted(
    take: Callable[[list[Delivery]], list[importing.Outcome]],
    batch: list[Reading],
    refused: list[OverwinterError],
) -> Iterator[tuple[Path, Delivery, importing.Outcome]]:
    """Take a batch, one by one where together they are refused: each file stands alone."""
    try:
        deliveries = [reading.result() for _, reading in batch]
        outcomes = take(deliveries)
    except OverwinterError as why:
        if len(batch) > 1:
            for one in batch:
                yield from _accepted(take, [one], refused)
            return
        refused.append(why)
        complain(str(why))
        return
    for (job, _), delivery, outcome in zip(batch, deliveries, outcomes, strict=True):
        yield job.path, delivery, outcome


def _batches(
    store: Path, jobs: list[Job], mapping: dict[str, Any] | None
) -> Iterator[list[Reading]]:
    """Give files with their reading, those together that go together.

    Files are read ahead while others are taken, by what these are expected to tell them; what
    was read knowing otherwise is read again.
    """
    known, coming = importing.known(store), deque(jobs)
    ahead: deque[Reading] = deque()
    with ThreadPoolExecutor(1) as reader:

        def begin(job: Job, known: Known) -> Reading:
            return job, reader.submit(read, job.path, known, kind=job.kind, mapping=mapping)

        try:
            while coming or ahead:
                if not ahead:
                    ahead.append(begin(coming.popleft(), known))
                batch = _ready(ahead, known)
                expected = reduce(_with, _read(batch), known)
                if expected != known:
                    _put_back(ahead, coming)
                while coming and _room([*(job.path for job, _ in ahead), coming[0].path]):
                    ahead.append(begin(coming.popleft(), expected))
                yield batch
                if expected != known:
                    known = importing.known(store)
                    if known != expected:
                        _put_back(ahead, coming)
        finally:
            _put_back(ahead, coming)


def _read(batch: Sequence[Reading]) -> list[Delivery]:
    """Give what could be read of a batch."""
    return [reading.result() for _, reading in batch if reading.exception() is None]


def _room(paths: Sequence[Path]) -> bool:
    """Tell whether so many files may lie read in memory; packed ones hold about ten times."""
    sizes = [
        one.stat().st_size * (1 if one.suffix.lower() in _TEXTS else 10)
        for one in paths if one.exists()
    ]  # fmt: skip
    return len(sizes) <= 1 or (len(sizes) <= AHEAD and sum(sizes) <= AHEAD_BYTES)


def _ready(ahead: deque[Reading], known: Known) -> list[Reading]:
    """Give the next file, and those behind it that go with it; all are waited for.

    A turn at the store costs about as much as reading a file: the more share one, the better.
    """
    batch = [ahead.popleft()]
    while ahead and _go_together([*batch, ahead[0]], known):
        batch.append(ahead.popleft())
    return batch


def _go_together(batch: list[Reading], known: Known) -> bool:
    """Tell whether files hold readings alone, each of sites of its own."""
    if any(reading.exception() for _, reading in batch):
        return False
    deliveries = _read(batch)
    sites = [site for one in deliveries for site in {record.site for record in one.readings}]
    return (
        len(set(sites)) == len(sites)
        and not any(one.tables or len(one.gauge) for one in deliveries)
        and len({one.sha256 for one in deliveries}) == len(deliveries)
        and reduce(_with, deliveries, known) == known
    )  # fmt: skip


def _put_back(ahead: deque[Reading], coming: deque[Job]) -> None:
    """Let files that were read ahead, or are to be, come again."""
    while ahead:
        job, reading = ahead.pop()
        reading.cancel()
        coming.appendleft(job)


def _take(
    asked: argparse.Namespace, jobs: list[Job], mapping: dict[str, Any] | None
) -> list[OverwinterError]:
    shown: set[str] = set()

    def told(path: Path, delivery: Delivery, outcome: importing.Outcome) -> None:
        _show_mapping(delivery, shown)
        _told(path, delivery, outcome)

    return bring(asked.store, jobs, mapping, told, again=asked.again)


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
        say(f"{Path(delivery.path).name} is read {_as_before(delivery)}:")
        sys.stdout.flush()
        export.write(pd.DataFrame(rows), "text", sys.stdout.buffer)


def _as_before(delivery: Delivery) -> str:
    """Say whose mapping a file is read by: its own, or that saved for another's header."""
    first = (delivery.mapping or {}).get("name")
    if first is None or first == Path(delivery.path).name:
        return "so"
    return f"as {first} was, whose header it has; if it is not, give --mapping FILE"


def _show_rejects(rejects: pd.DataFrame) -> None:
    for row in rejects.head(_REJECTS_SHOWN).to_dict("records"):
        remark(f"  row {row['line']}, {row['column']} {row['value']!r}: {row['reason']}")
    more = len(rejects) - _REJECTS_SHOWN
    if more > 0:
        remark(f"  and {more} more, kept in the store's table rejects")


def _try_out(
    asked: argparse.Namespace, jobs: list[Job], mapping: dict[str, Any] | None
) -> list[OverwinterError]:
    """Read without writing; end with the first logger file's mapping on standard output."""
    store: Path = asked.store
    refused: list[OverwinterError] = []
    known = importing.known(store)
    used: list[dict[str, Any]] = []
    for job in jobs:
        try:
            delivery = read(job.path, known, kind=job.kind, mapping=mapping)
            delivery = importing.foreseen(store, delivery)
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
    """Let later files refer to what earlier ones bring."""
    fields, sites = delivery.tables.get("fields"), delivery.tables.get("sites")
    if fields is not None:
        known = replace(known, fields=known.fields | set(fields["field"]))
    if sites is not None:
        zones = dict(zip(sites["site"], sites["timezone"], strict=True))
        known = replace(known, sites=known.sites | zones)
    if delivery.mapping and import_log.lasts(delivery.mapping):
        saved = {delivery.signature: delivery.mapping}
        known = replace(known, mappings=known.mappings | saved)
    if clock := import_log.clock_said(delivery.mapping or {}):
        clocks = {one.site: clock for one in delivery.readings}
        known = replace(known, clocks=known.clocks | clocks)
    return known
