"""Changes to the plan that people name, save and open again."""

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

import pandas as pd

from analytics.errors import InputRefused, NotKnown
from analytics.store import connection, statements


def save(store: Path, name: str, told: Mapping[str, object], author: str) -> None:
    """Keep a scenario; one of the same name gives way.

    Parameters
    ----------
    store : Path
    name : str
    told : mapping
        What is taken to be otherwise; anything that JSON can hold.
    author : str

    Raises
    ------
    InputRefused
        Without a name or an author.
    """
    name, author = name.strip(), author.strip()
    if not name:
        where = "the scenario"
        raise InputRefused(where, "it has no name.", "Give it one to find it again.")
    if not author:
        where = f"scenario {name!r}"
        raise InputRefused(where, "no one is named as its author.", "Say who saves it.")
    with connection.writing(store) as db:
        statements.execute(db, "drop_scenario", name=name)
        statements.execute(
            db, "save_scenario", name=name, told=json.dumps(dict(told)), author=author,
            made_at=datetime.now(UTC),
        )  # fmt: skip


def listed(store: Path) -> pd.DataFrame:
    """Give every scenario, latest first: name, told (JSON), author, made_at."""
    return statements.query(store, "show_scenarios")


def remove(store: Path, name: str) -> None:
    """Forget a scenario.

    Raises
    ------
    NotKnown
        When there is none of that name.
    """
    with connection.writing(store) as db:
        if not statements.execute(db, "drop_scenario", name=name):
            message = f"There is no scenario {name!r}."
            raise NotKnown(message)
