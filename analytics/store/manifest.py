"""The list of result files of each published generation.

``derived/manifest-<generation>.json`` names, per result table, its files by bucket or site.
The database says which generation holds (table ``assessments``, committed together with the
views over the files); ``derived/CURRENT`` repeats it for readers without a database, and is
put right at the next opening for writing if a crash came between the two.
"""

import json
import os
from pathlib import Path

import duckdb

from analytics.store.paths import CURRENT, DERIVED
from analytics.store.sqlfiles import text

Files = dict[str, dict[str, str]]  # table -> part -> path relative to the store


def read(store: Path, generation: int) -> Files:
    """Give the files of a generation; none before the first."""
    if generation == 0:
        return {}
    return json.loads(_path(store, generation).read_text(encoding="utf-8"))["files"]


def write(store: Path, generation: int, files: Files) -> None:
    """Put down the files of a generation that is about to be published."""
    content = json.dumps({"generation": generation, "files": files}, sort_keys=True)
    replace(_path(store, generation), content.encode())


def latest(db: duckdb.DuckDBPyConnection) -> int:
    """Give the generation that holds, 0 before the first."""
    ((generation,),) = db.execute(text("latest_generation")).fetchall()
    return int(generation)


def repair(store: Path, db: duckdb.DuckDBPyConnection) -> None:
    """Make CURRENT say what the database says."""
    generation = latest(db)
    if generation and current(store) != generation:
        point(store, generation)


def current(store: Path) -> int:
    """Give the generation that CURRENT names, 0 where there is none."""
    path = store / DERIVED / CURRENT
    return int(path.read_text(encoding="ascii")) if path.exists() else 0


def point(store: Path, generation: int) -> None:
    """Let CURRENT name a generation."""
    replace(store / DERIVED / CURRENT, str(generation).encode())


def replace(path: Path, content: bytes, *, settled: bool = True) -> None:
    """Write a file so that others see the old one or the whole new one, even after a crash.

    Who writes several files to a folder settles the folder once, at the end.
    """
    temporary = path.with_name(f".{path.name}.tmp")
    with temporary.open("wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())
    temporary.replace(path)
    if settled:
        settle(path.parent)


def settle(folder: Path) -> None:
    """Let a rename in a folder reach the disk (not every system can)."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _path(store: Path, generation: int) -> Path:
    return store / DERIVED / f"manifest-{generation}.json"
