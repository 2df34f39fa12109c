"""How far each web service has been read."""

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from analytics.store import connection, statements


def find(store: Path, service: str) -> dict[str, Any] | None:
    """Give the cursor that the last pull from a service left; None before the first."""
    with connection.reading(store) as db:
        found = statements.execute(db, "find_cursor", service=service)
    return json.loads(str(found[0][0])) if found else None


def save(store: Path, service: str, cursor: dict[str, Any]) -> None:
    """Keep a cursor, once what it stands for has been taken.

    A crash before this makes the next pull fetch the same again, which changes nothing.
    """
    with connection.writing(store) as db:
        statements.execute(
            db,
            "save_cursor",
            service=service,
            cursor=json.dumps(cursor, sort_keys=True),
            saved_at=datetime.now(UTC),
        )
