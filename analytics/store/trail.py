"""Who changed or took away what on a shared server; written with the change itself."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, datetime

import duckdb

from analytics.store import sight
from analytics.store.sqlfiles import text

_CHANGES = ("save_", "put_", "drop_", "undo_", "take_back_")
_NAMING = ("file", "site", "field", "fields", "sites", "source", "email", "name")
_steps: ContextVar[list[tuple[str, str]] | None] = ContextVar("_steps", default=None)


@contextmanager
def kept(db: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """Note what a known person changes inside, in the transaction that changes it."""
    looking = sight.current()
    if looking is None or not looking.who:
        yield
        return
    before = _steps.set([])
    try:
        yield
        for what, about in dict.fromkeys(_steps.get() or ()):
            note(db, looking.who, what, about)
    finally:
        _steps.reset(before)


def step(statement: str, params: dict[str, object]) -> None:
    """Remember a statement that changes something, where changes are noted."""
    steps = _steps.get()
    if steps is not None and statement.startswith(_CHANGES):
        named = next((params[name] for name in _NAMING if name in params), None)
        steps.append((statement, "" if named is None else str(named)))


def note(db: duckdb.DuckDBPyConnection, who: str, what: str, about: str) -> None:
    """Write one line of the trail."""
    now = datetime.now(UTC)
    db.execute(text("save_trail"), {"made_at": now, "who": who, "what": what, "about": about})
