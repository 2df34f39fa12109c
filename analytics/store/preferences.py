"""What a store's people chose: units, and thresholds other than the defaults."""

from pathlib import Path
from typing import cast

from analytics.settings import Settings, overridden
from analytics.store import connection, statements
from analytics.units import System

UNITS = "units"


def units(store: Path) -> System:
    """Give the units people see first."""
    return "mm" if _saved(store).get(UNITS) == "mm" else "in"


def thresholds(store: Path) -> Settings:
    """Give the settings of the science: the defaults with the store's own over them.

    Raises
    ------
    InputRefused
        When the store holds a setting that does not exist.
    """
    own = {name: float(value) for name, value in _saved(store).items() if name != UNITS}
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


def _saved(store: Path) -> dict[str, str]:
    rows = statements.query(store, "settings").to_dict("records")
    return {str(row["name"]): cast("str", row["value"]) for row in rows}
