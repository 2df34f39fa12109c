"""A spare of the database's file, kept while a writer has it open.

What is committed goes to DuckDB's log at once. When the file is closed the log is brought into
it, and with that a block is written over that the tables in force are listed in, too: a process
that is killed within that one write leaves a file that cannot be opened. The log is removed
only when the file is whole again, so that it tells what to do with a spare that is still there.
"""

from pathlib import Path

from analytics.store.manifest import replace, settle
from analytics.store.paths import DATABASE, LOG, database

SPARE = f"{DATABASE}.spare"


def left(store: Path) -> bool:
    """Tell whether a writer is at work, or was cut short."""
    return (store / SPARE).exists()


def logged(store: Path) -> bool:
    """Tell whether a log is there that has not been brought into the file."""
    return (store / LOG).exists()


def clear_log(store: Path) -> None:
    """Remove what stays of a log that was brought in: a commit that was never whole."""
    (store / LOG).unlink(missing_ok=True)


def keep(store: Path) -> None:
    """Copy the file before it is opened to be written; none where there is none yet."""
    if database(store).exists():
        replace(store / SPARE, database(store).read_bytes())


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
