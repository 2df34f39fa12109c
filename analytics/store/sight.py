"""Who looks into the store, and what of it they may see.

The program and a dashboard of one's own see everything. On a shared server every session has
a *sight*; one that cannot be told sees nothing. It is applied where a connection is opened:
temporary views of the same names let only the rows through that belong to the growers of that
sight, and the tables themselves are out of reach by name: no page, link, download or report
reaches past it.
"""

import os
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from typing import Literal, ParamSpec, TypeVar, get_args

import duckdb
import pyarrow as pa

from analytics.errors import NotAllowed
from analytics.store import engine
from analytics.store.sqlfiles import quoted, text

Asked = ParamSpec("Asked")
Made = TypeVar("Made")
Role = Literal["administrator", "agronomist", "grower", "guest"]
ROLES: tuple[Role, ...] = get_args(Role)
SHARED_VARIABLE = "OVERWINTER_SHARED"
"""Set by ``overwinter serve --shared``: then nobody sees anything before they are known."""
OPEN = frozenset(
    {
        "assessments", "landmarks", "outlook_grade", "schema_version", "season_grade",
        "settings", "stations", "weather",
    }
)  # fmt: skip
"""What tells of no single field. A table that is not named here, and whose rows name neither
field, site nor source, is shut to growers and guests."""
BY_HAND = frozenset({"readings"})
"""Views for whoever opens the file by hand; one over them would open every site's readings."""

_RULES = {
    "field": "field IN (SELECT id FROM seen_fields)",
    "site": "site IN (SELECT id FROM seen_sites)",
    "source": "source IN (SELECT id FROM seen_sources)",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sight:
    """Who looks, as what, and whose fields a grower may see."""

    who: str
    role: Role
    growers: tuple[str, ...] = ()

    @property
    def whole(self) -> bool:
        """Tell whether all fields are seen."""
        return self.role in {"administrator", "agronomist"}

    @property
    def token(self) -> str:
        """Give what sets apart what two sights may keep in a cache."""
        return "whole" if self.whole else repr((self.role, self.growers))


NOBODY = Sight(who="", role="guest")
_given: ContextVar[Sight | None] = ContextVar("_given", default=None)
_unbound: ContextVar[bool] = ContextVar("_unbound", default=False)
_finders: list[Callable[[], Sight | None]] = []


def shared() -> bool:
    """Tell whether this process serves more people than the one who started it."""
    return os.environ.get(SHARED_VARIABLE) == "1"


def find_by(finder: Callable[[], Sight | None]) -> None:
    """Say how the sight of whoever is being served is found."""
    _finders[:] = [finder]


def current() -> Sight | None:
    """Give the sight that holds here; None where everything may be seen."""
    if given := _given.get():
        return given
    if not shared() or _unbound.get():
        return None
    return (_finders[0]() if _finders else None) or NOBODY


@contextmanager
def looking(sight: Sight) -> Iterator[None]:
    """Look into the store as somebody, in this thread."""
    before = _given.set(sight)
    try:
        yield
    finally:
        _given.reset(before)


@contextmanager
def unbound() -> Iterator[None]:
    """Let the store itself look up or write down what a session may not."""
    given, before = _given.set(None), _unbound.set(True)
    try:
        yield
    finally:
        _unbound.reset(before)
        _given.reset(given)


def as_now(work: Callable[Asked, Made]) -> Callable[Asked, Made]:
    """Let work be done later, in whatever thread, for the eyes it is asked for now.

    Threads do not know by themselves whom the session that started them serves.
    """
    seen = current()

    def done(*args: Asked.args, **named: Asked.kwargs) -> Made:
        with unbound() if seen is None else looking(seen):
            return work(*args, **named)

    return done


def narrow(db: duckdb.DuckDBPyConnection, naming: Collection[str] | None = None) -> None:
    """Lay what may be seen over an open store's tables.

    Of these those in ``naming``, where it is known which will be asked: any other is then not
    found, for nothing in the store can be named but what has a view over it.
    """
    sight = current()
    if sight is None or sight.whole:
        return
    for name in ("seen_fields", "seen_sites", "seen_sources"):
        seen = db.execute(text(name), {"growers": list(sight.growers)}).fetchall()
        ids = pa.array([str(one) for (one,) in seen], pa.string())
        db.register(name, pa.table({"id": ids}))
    for store, table, columns in db.execute(text("tables")).fetchall():
        if table not in BY_HAND and (naming is None or table in naming):
            lay(db, str(table), columns, f"{store}.main.{quoted(table)}")
    engine.step_out(db)


def lay(db: duckdb.DuckDBPyConnection, table: str, columns: Iterable[str], source: str) -> None:
    """Lay a view over a table that lets through what may be seen of ``source``.

    Names come from our own catalogue only.
    """
    sight = current()
    rule = "true" if sight is None or sight.whole else _rule(table, set(columns))
    db.execute(f"CREATE OR REPLACE TEMP VIEW {quoted(table)} AS FROM {source} WHERE {rule}")


def may_write() -> None:
    """Refuse a change by somebody who may only look.

    Raises
    ------
    NotAllowed
    """
    sight = current()
    if sight is not None and not sight.whole:
        message = (
            f"{sight.who or 'Nobody'} may look but not change anything here. "
            "Ask an agronomist of this store to do it, or its administrator for the role."
        )
        raise NotAllowed(message)


def _rule(table: str, columns: set[str]) -> str:
    if table in OPEN:
        return "true"
    rules = [_RULES[column] for column in ("field", "site") if column in columns]
    if not rules and "source" in columns:
        return _RULES["source"]
    return " AND ".join(rules) or "false"
