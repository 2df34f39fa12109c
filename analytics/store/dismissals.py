"""Words of the landing page that people put aside, each with its reason."""

from datetime import UTC, date, datetime
from pathlib import Path

import pandas as pd

from analytics.errors import InputRefused
from analytics.store import connection, statements


def put_aside(
    store: Path, field: str, kind: str, since: date, *, author: str, reason: str
) -> None:
    """Put one word aside; it comes back when the same happens anew.

    Raises
    ------
    InputRefused
        When author or reason is blank.
    """
    where = f"the word on {field}"
    if not author.strip():
        raise InputRefused(where, "no author is named.", "Enter your name.")
    if not reason.strip():
        raise InputRefused(where, "no reason is given.", "Say in a few words why.")
    with connection.writing(store) as db:
        statements.execute(
            db, "save_dismissal", field=field, kind=kind, since=since, author=author.strip(),
            reason=reason.strip(), made_at=datetime.now(UTC),
        )  # fmt: skip


def listed(store: Path) -> pd.DataFrame:
    """Give what was put aside, newest first: field, kind, since, author, reason, made_at."""
    return statements.query(store, "show_dismissals")
