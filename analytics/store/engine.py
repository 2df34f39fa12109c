"""The process's one DuckDB engine, to which a store's file is attached for a unit of work.

An engine takes some ten times as long to start as a file takes to attach, and a page opens the
store up to a dozen times. Nothing is held that an engine of its own would give up: the file is
locked while a unit works on it, brought up to date and let go of with the last one.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path
from threading import RLock

import duckdb

from analytics.store.sqlfiles import literal, text


@dataclass(slots=True)
class _Attached:
    """A file: by what name, for what, and how many units work on it now."""

    name: str
    read_only: bool
    units: int = 0


@dataclass(slots=True)
class _Engine:
    root: duckdb.DuckDBPyConnection
    files: dict[Path, _Attached] = field(default_factory=dict)


_running: list[_Engine] = []  # one, or none yet
_numbers = count(1)
_guard = RLock()


@contextmanager
def attached(path: Path, *, read_only: bool) -> Iterator[duckdb.DuckDBPyConnection]:
    """Work on a database's file, for one unit of work.

    Parameters
    ----------
    path : Path
        The file; made where it is to be written and there is none.
    read_only : bool
        Units of one process share a file only while all of them read, or all of them write.

    Yields
    ------
    DuckDBPyConnection
        One of its own: what is set or laid over the tables is seen by nobody else.

    Raises
    ------
    duckdb.Error
        Where the file is held by another process, or by this one for something else, is
        missing or is no database.
    """
    path = path.resolve()
    with _guard:
        engine = _start(path)
        db = engine.root.cursor()
        try:
            _enter(engine, db, path, read_only=read_only)
        except BaseException:
            db.close()
            raise
    try:
        yield db
    finally:
        with _guard:
            db.close()
            _leave(engine, path)


@contextmanager
def apart(path: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """Work beside a database's file, which is not opened: on what is in memory.

    Yields
    ------
    DuckDBPyConnection
        One of its own: what is registered there is seen by nobody else.
    """
    with _guard:
        db = _start(path.resolve()).root.cursor()
    try:
        yield db
    finally:
        db.close()


def step_out(db: duckdb.DuckDBPyConnection) -> None:
    """Let nothing in the attached file be found by its name alone, for the rest of a unit."""
    db.execute("USE memory")


def _start(path: Path) -> _Engine:
    """Give the engine that runs, or start one, whose overflow lies beside the file."""
    if not _running:
        root = duckdb.connect(
            config={
                "autoinstall_known_extensions": "false",
                "python_enable_replacements": "false",  # a name is a table's, no variable's
                "temp_directory": f"{path}.tmp",
            }
        )
        # GLOBAL, since a plain SET is not inherited by cursors.
        root.execute(text("set_zone"))
        _running.append(_Engine(root))
    return _running[0]


def _enter(
    engine: _Engine, db: duckdb.DuckDBPyConnection, path: Path, *, read_only: bool
) -> None:
    file = engine.files.get(path)
    if file is None or file.read_only != read_only:
        file = _Attached(f"store_{next(_numbers)}", read_only)
        options = "TYPE duckdb, READ_ONLY" if read_only else "TYPE duckdb"
        db.execute(f"ATTACH {literal(str(path))} AS {file.name} ({options})")
        engine.files[path] = file
    db.execute(f"USE {file.name}")
    file.units += 1


def _leave(engine: _Engine, path: Path) -> None:
    file = engine.files[path]
    file.units -= 1
    if file.units:
        return
    del engine.files[path]
    try:
        engine.root.execute(f"DETACH {file.name}")
    except duckdb.Error:
        # What broke, a full disk for one, leaves an engine that does nothing more. What was
        # committed is in the log beside the file, which the next writer brings in.
        if engine in _running:
            _running.remove(engine)
        engine.root.close()
