"""A spare of the database's file, kept while a writer has it open.

What is committed goes to DuckDB's log at once. When the file is closed the log is brought into
it, and with that a block is written over that the tables in force are listed in, too: a process
that is killed within that one write leaves a file that cannot be opened. The log is removed
only when the file is whole again, so that it tells what to do with a spare that is still there.
"""

import os
import shutil
from pathlib import Path

from analytics.store.manifest import settle
from analytics.store.paths import DATABASE, database

SPARE = f"{DATABASE}.spare"


def _log(store: Path) -> Path:
    return store / f"{DATABASE}.wal"


def left(store: Path) -> bool:
    """Tell whether a writer is at work, or was cut short."""
    return (store / SPARE).exists()


def logged(store: Path) -> bool:
    """Tell whether a log is there that has not been brought into the file."""
    return _log(store).exists()


def clear_log(store: Path) -> None:
    """Remove what stays of a log that was brought in: a commit that was never whole."""
    _log(store).unlink(missing_ok=True)


def keep(store: Path) -> None:
    """Copy the file before it is opened to be written; none where there is none yet.

    The copy is there whole or not at all, even after a crash.
    """
    if not database(store).exists():
        return
    temporary = store / f".{SPARE}.tmp"
    shutil.copyfile(database(store), temporary)
    handle = os.open(temporary, os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
    temporary.replace(store / SPARE)
    settle(store)


def drop(store: Path) -> None:
    """Remove the spare once the file is closed; kept where the log is not yet in the file."""
    if not logged(store):
        (store / SPARE).unlink(missing_ok=True)


def restore(store: Path) -> None:
    """Put the spare back where a log is left beside it, which holds all that came since."""
    if left(store) and logged(store):
        (store / SPARE).replace(database(store))
        settle(store)
    drop(store)
