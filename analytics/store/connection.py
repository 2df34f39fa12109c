"""Open the store for one unit of work, and never longer.

DuckDB lets one process write a file or several read it, never both, so nobody holds it open:
each unit of work opens it (:mod:`analytics.store.engine`), works in one transaction and closes.
Who cannot open it yet tries again, with patience that ends. A writer first takes the *turn*
(one writer at a time), then shuts the *door* while it waits for readers to leave, so that a
stream of readers cannot keep it out. Threads never share a connection; each unit has its own.
"""

import errno
import random
import time
from collections.abc import Callable, Collection, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import duckdb
from filelock import FileLock, Timeout

from analytics.errors import OverwinterError, StoreBusy, StoreError
from analytics.store import engine, manifest, schema, sight, spare, trail
from analytics.store.paths import LOCKS, database, require, safe
from analytics.store.sqlfiles import text, words

PATIENCE_S = 30.0
WRITER_PATIENCE_S = 600.0  # an import of a whole district may be ahead of us
_POLL_S = 0.005
_BROKEN = (
    duckdb.IOException,
    duckdb.FatalException,
    duckdb.SerializationException,
    duckdb.TransactionException,  # one writer at a time: only a disk can refuse a commit
)
_LOCKED = ("Could not set lock", "Unique file handle conflict")


@contextmanager
def turn(store: Path, patience_s: float = WRITER_PATIENCE_S) -> Iterator[None]:
    """Hold the right to write to the store; the same thread may take it again inside.

    Raises
    ------
    StoreBusy
        When another writer does not finish within ``patience_s`` seconds.
    NotAllowed
        When whoever is being served may only look.
    """
    sight.may_write()
    with _locked(store, "writer", patience_s, again=True):
        yield


@contextmanager
def publishing(store: Path, patience_s: float = WRITER_PATIENCE_S) -> Iterator[None]:
    """Hold the right to make and publish results; imports may go on meanwhile.

    Raises
    ------
    StoreBusy
        When another assessment does not finish within ``patience_s`` seconds.
    """
    sight.may_write()
    with _locked(store, "assessment", patience_s, again=True):
        yield


@contextmanager
def site_turn(store: Path, site: str) -> Iterator[None]:
    """Hold the right to write one site's readings."""
    sight.may_write()
    with _locked(store, f"site={safe(site)}", WRITER_PATIENCE_S):
        yield


@contextmanager
def reading(
    store: Path, patience_s: float = PATIENCE_S, *, naming: Collection[str] | None = None
) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open the store to read, for one unit of work that sees one state of everything.

    ``naming`` lists the tables that will be asked, where they are known: for who may not see
    everything no other is then prepared.

    Raises
    ------
    StoreMissing, StoreBusy, StoreNewer, StoreError
    """
    require(store)
    _until_whole(store, patience_s)
    with _locked(store, "door", patience_s):
        pass
    with _said(store), _opened(store, patience_s, read_only=True) as db:
        if schema.found(db) == schema.VERSION:
            db.execute("BEGIN TRANSACTION")
            sight.narrow(db, naming)
            yield db
            return
    with founding(store, patience_s):
        pass  # opening to write brings an older store up to date
    with reading(store, patience_s, naming=naming) as db:
        yield db


def seen_sites(store: Path) -> frozenset[str] | None:
    """Give the probes that whoever is being served may see; None for all of them."""
    looking = sight.current()
    if looking is None or looking.whole:
        return None
    with reading(store, naming=words("site_names")) as db:
        return frozenset(str(site) for (site,) in db.execute(text("site_names")).fetchall())


@contextmanager
def writing(
    store: Path, patience_s: float = WRITER_PATIENCE_S
) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open the store to write: all that is done inside is kept, or none of it.

    Raises
    ------
    StoreMissing, StoreBusy, StoreNewer, StoreError
    NotAllowed
        When whoever is being served may only look.
    """
    require(store)
    sight.may_write()
    with founding(store, patience_s) as db:
        yield db


@contextmanager
def founding(
    store: Path, patience_s: float = WRITER_PATIENCE_S
) -> Iterator[duckdb.DuckDBPyConnection]:
    """Open the store to write even where there is none yet."""
    with _locked(store, "writer", patience_s, again=True), _said(store):
        _mend(store, patience_s)
        door = _lock(store, "door")
        with _spared(store):
            _acquire(door, store, patience_s)
            try:
                with _opened(store, patience_s, read_only=False, ready=door.release) as db:
                    yield from _transaction(store, db)
            finally:
                door.release()


def _until_whole(store: Path, patience_s: float) -> None:
    """Wait while a writer has the file open; where one was killed put the spare back.

    The log beside it is read along and needs no room. Not the writer's turn itself is waited
    for: an import holds that for far longer than the file.
    """
    until = time.monotonic() + patience_s
    lock = _lock(store, "writer", again=True)
    while spare.left(store):
        try:
            lock.acquire(timeout=0)
        except Timeout as why:
            if time.monotonic() > until:
                raise StoreBusy(_busy(store)) from why
            time.sleep(_POLL_S)
            continue
        try:
            with _said(store):
                spare.restore(store)
        finally:
            lock.release()
        return


def _mend(store: Path, patience_s: float) -> None:
    """Bring in the log that a killed writer left; the turn to write is ours."""
    spare.restore(store)
    if spare.logged(store):
        with _locked(store, "door", patience_s), _spared(store):
            with _patiently(store, patience_s, read_only=False) as db:
                db.execute(text("bring_in_log"))
            spare.clear_log(store)


@contextmanager
def _spared(store: Path) -> Iterator[None]:
    """Keep a spare of the file while it is open to be written."""
    spare.keep(store)
    try:
        yield
    finally:
        spare.drop(store)


def _transaction(
    store: Path, db: duckdb.DuckDBPyConnection
) -> Iterator[duckdb.DuckDBPyConnection]:
    version = schema.found(db)
    db.execute("BEGIN TRANSACTION")
    try:
        schema.upgrade(db, version)
        manifest.repair(store, db)
        with trail.kept(db):
            yield db
    except BaseException:
        db.execute("ROLLBACK")
        raise
    db.execute("COMMIT")


@contextmanager
def _opened(
    store: Path,
    patience_s: float,
    *,
    read_only: bool,
    ready: Callable[[], None] = lambda: None,
) -> Iterator[duckdb.DuckDBPyConnection]:
    with _patiently(store, patience_s, read_only=read_only) as db:
        ready()
        db.execute(text("set_files"), {"folder": str(store.absolute())})
        yield db


@contextmanager
def _patiently(
    store: Path, patience_s: float, *, read_only: bool
) -> Iterator[duckdb.DuckDBPyConnection]:
    until = time.monotonic() + patience_s
    with ExitStack() as unit:
        while True:
            try:
                opened = engine.attached(database(store), read_only=read_only)
                db = unit.enter_context(opened)
                break
            except duckdb.Error as why:
                if not any(words in str(why) for words in _LOCKED):
                    raise
                if time.monotonic() > until:
                    raise StoreBusy(_busy(store)) from why
            time.sleep(random.uniform(_POLL_S, 4 * _POLL_S))  # noqa: S311 - only spreads retries
        yield db


def _busy(store: Path) -> str:
    return (
        f"{store}: another program holds the store open. Wait for a running import or "
        "assessment, or close whatever else has opened overwinter.duckdb, then try again."
    )


def _lock(store: Path, name: str, *, again: bool = False) -> FileLock:
    folder = store / LOCKS
    folder.mkdir(parents=True, exist_ok=True)
    path = str((folder / f"{name}.lock").absolute())
    return FileLock(path, is_singleton=True) if again else FileLock(path)


def _acquire(lock: FileLock, store: Path, patience_s: float) -> None:
    try:
        lock.acquire(timeout=patience_s, poll_interval=_POLL_S)
    except Timeout as why:
        raise StoreBusy(_busy(store)) from why


@contextmanager
def _locked(
    store: Path, name: str, patience_s: float, *, again: bool = False
) -> Iterator[None]:
    lock = _lock(store, name, again=again)
    _acquire(lock, store, patience_s)
    try:
        yield
    finally:
        lock.release()


@contextmanager
def _said(store: Path) -> Iterator[None]:
    """Say in a sentence what a disk or a damaged file did."""
    try:
        yield
    except OverwinterError:
        raise
    except _BROKEN as why:
        raise StoreError(_trouble(store, str(why))) from why
    except OSError as why:
        if why.errno not in {errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EROFS, errno.EACCES}:
            raise
        raise StoreError(_trouble(store, why.strerror or str(why))) from why


def _trouble(store: Path, what: str) -> str:
    first = " ".join(what.split())[:200]
    if "No space left" in what:
        return f"{store}: the disk is full. Make room and repeat; nothing was half written."
    return (
        f"{store}: the store's files could not be read or written ({first}). "
        "Check the disk and its permissions, then repeat; what was committed is kept."
    )
