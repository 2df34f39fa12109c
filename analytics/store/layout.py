"""Make a store, recognise one, and tell when it has changed."""

from pathlib import Path

from analytics.errors import InputRefused, StoreError
from analytics.store import connection, results, statements, unfolded
from analytics.store.paths import (
    DERIVED,
    LOCKS,
    READINGS,
    database,
    generation,
    require,
    safe,
    site_folder,
)
from analytics.units import System

__all__ = ["create", "generation", "require", "safe", "site_folder"]

# DuckDB reads these as a list or as a pattern when it looks for the store's Parquet files.
_UNREADABLE = set(",*?[]{}")


def create(store: Path, units: System = "in") -> None:
    """Make an empty store.

    Parameters
    ----------
    store : Path
        A folder that does not exist yet, or is empty.
    units : {"in", "mm"}
        The units people see first.

    Raises
    ------
    StoreError
        When a store or other files are there already.
    InputRefused
        When the path holds a character that the store's queries cannot carry.
    """
    _check_place(store)
    for name in (LOCKS, READINGS, DERIVED):
        (store / name).mkdir(parents=True, exist_ok=True)
    with connection.founding(store) as db:
        results.found(store, db)
        unfolded.found(store, db)
        statements.execute(db, "save_setting", name="units", value=units)


def _check_place(store: Path) -> None:
    odd = _UNREADABLE.intersection(str(store.absolute()))
    if odd:
        raise InputRefused(
            str(store),
            f"the path holds {' '.join(sorted(odd))}.",
            "Choose a folder whose path is without these characters.",
        )
    if database(store).exists():
        message = f"{store}: there is a store here already. Import into it, or name another."
        raise StoreError(message)
    if store.exists() and (not store.is_dir() or any(store.iterdir())):
        message = f"{store}: there are other files here. Name a new or an empty folder."
        raise StoreError(message)
