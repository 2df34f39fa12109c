"""What a store's people chose: units, and thresholds other than the defaults."""

from pathlib import Path
from typing import cast

import duckdb

from analytics.settings import Settings, overridden
from analytics.store import connection, statements
from analytics.units import System

UNITS = "units"


def units(store: Path) -> System:
    """Give the units people see first."""
    with connection.reading(store) as db:
        saved = _saved(db)
    return "mm" if saved.get(UNITS) == "mm" else "in"


def thresholds(store: Path) -> Settings:
    """Give the settings of the science: the defaults with the store's own over them.

    Raises
    ------
    InputRefused
        When the store holds a setting that does not exist.
    """
    with connection.reading(store) as db:
        return thresholds_in(db)


def thresholds_in(db: duckdb.DuckDBPyConnection) -> Settings:
    """Give the settings as ``thresholds``, from a store that is open."""
    own = {name: float(value) for name, value in _saved(db).items() if name != UNITS}
    return overridden(own)


def save(store: Path, name: str, value: str | float) -> None:
    """Keep one choice.

    Raises
    ------
    InputRefused
        When there is no such setting.
    """
    if name != UNITS:
        overridden({name: float(value)})
    with connection.writing(store) as db:
        statements.execute(db, "save_setting", name=name, value=str(value))


def forget(store: Path, name: str) -> None:
    """Give one choice up for the default."""
    with connection.writing(store) as db:
        statements.execute(db, "forget_setting", name=name)


def own(store: Path) -> dict[str, str]:
    """Give what the store's people chose, by name."""
    with connection.reading(store) as db:
        return _saved(db)


def _saved(db: duckdb.DuckDBPyConnection) -> dict[str, str]:
    rows = statements.rows(db, "settings").to_dict("records")
    return {str(row["name"]): cast("str", row["value"]) for row in rows}
