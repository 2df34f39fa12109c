"""A database whose last write was torn: whatever was committed is there, once.

DuckDB brings its log into the file when it is closed, and writes over the block that lists the
tables in force. The states in which a killed process can leave the store's folder are laid out
here by hand, since none of them lasts longer than a fraction of a millisecond.
"""

import shutil
import threading
import time
from pathlib import Path
from typing import NamedTuple

import pytest

from analytics.store import connection, layout, spare
from analytics.store.check import check

FIRST_BLOCK = 12_288  # after the file's three headers of 4,096 bytes (DuckDB's storage format)
TORN = slice(FIRST_BLOCK + 40_000, FIRST_BLOCK + 200_000)


class States(NamedTuple):
    """The file before a write and after it, and the log of the write."""

    before: bytes
    after: bytes
    log: bytes

    @property
    def torn(self) -> bytes:
        """Give the file whose first block was written half."""
        half = bytearray(self.after)
        half[TORN] = bytes(TORN.stop - TORN.start)
        return bytes(half)


@pytest.fixture(scope="module")
def store_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    store = tmp_path_factory.mktemp("torn") / "store"
    layout.create(store, "mm")
    return store


@pytest.fixture
def store(store_once: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(store_once, tmp_path / "store"))


@pytest.fixture
def states(store_once: Path, tmp_path: Path) -> States:
    made = Path(shutil.copytree(store_once, tmp_path / "made"))
    file, log = made / "overwinter.duckdb", made / "overwinter.duckdb.wal"
    before = file.read_bytes()
    with connection.writing(made) as db:
        assert (made / spare.SPARE).read_bytes() == before
        db.execute("CREATE TABLE kept AS SELECT 41 AS n")
        db.execute("COMMIT")
        told = log.read_bytes()
        db.execute("BEGIN TRANSACTION")
    assert not log.exists()
    assert not (made / spare.SPARE).exists()
    return States(before=before, after=file.read_bytes(), log=told)


def left(store: Path, file: bytes, spared: bytes | None, log: bytes | None) -> None:
    """Leave a store's folder as a killed process would."""
    (store / "overwinter.duckdb").write_bytes(file)
    if spared is not None:
        (store / spare.SPARE).write_bytes(spared)
    if log is not None:
        (store / "overwinter.duckdb.wal").write_bytes(log)


def kept(store: Path) -> list[int]:
    """Read what was committed; then the store is whole and can be written."""
    with connection.reading(store) as db:
        there = db.execute("SELECT count(*) FROM duckdb_tables() WHERE table_name = 'kept'")
        rows = db.execute("FROM kept").fetchall() if there.fetchall() == [(1,)] else []
    assert not (store / spare.SPARE).exists()
    with connection.writing(store) as db:
        db.execute("CREATE TABLE later AS SELECT 1 AS n")
    assert [one for one in check(store) if one.level == "damaged"] == []
    assert sorted(one.name for one in store.glob("overwinter.duckdb*")) == ["overwinter.duckdb"]
    return [n for (n,) in rows]


def test_a_torn_file_cannot_be_opened_by_itself(store: Path, states: States) -> None:
    left(store, states.torn, None, states.log)
    with pytest.raises(Exception, match="orrupt"), connection.reading(store):
        pass


@pytest.mark.parametrize("file", ["before", "torn", "after"])
def test_what_was_committed_is_there_wherever_the_write_was_cut(
    store: Path, states: States, file: str
) -> None:
    left(store, getattr(states, file), states.before, states.log)
    assert kept(store) == [41]


def test_a_write_that_ended_is_not_undone(store: Path, states: States) -> None:
    left(store, states.after, states.before, None)
    assert kept(store) == [41]


def test_a_close_that_left_its_log_keeps_the_spare(store: Path, states: States) -> None:
    """As on a full disk: DuckDB says nothing of a log that it could not bring in."""
    left(store, states.before, None, None)
    spare.keep(store)
    left(store, states.torn, None, states.log)
    spare.drop(store)
    assert (store / spare.SPARE).read_bytes() == states.before
    assert kept(store) == [41]


@pytest.mark.parametrize("bytes_left", [0, 10, 100, -3])
def test_what_was_not_committed_never_was(store: Path, states: States, bytes_left: int) -> None:
    left(store, states.before, states.before, states.log[:bytes_left])
    assert kept(store) == []


def test_a_log_without_a_spare_is_brought_in(store: Path, states: States) -> None:
    left(store, states.before, None, states.log)
    assert kept(store) == [41]


def test_a_crash_while_mending_is_mended(
    store: Path, states: States, monkeypatch: pytest.MonkeyPatch
) -> None:
    left(store, states.torn, states.before, states.log)

    def killed(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    for step in ("keep", "clear_log", "drop"):
        with monkeypatch.context() as broken:
            broken.setattr(spare, step, killed)
            with pytest.raises(KeyboardInterrupt), connection.writing(store):
                pass
    assert kept(store) == [41]


def test_who_reads_waits_for_the_file_and_not_for_the_turn(store: Path) -> None:
    """An import keeps its turn while it merges, with the file closed."""
    opened, merging, done = threading.Event(), threading.Event(), threading.Event()

    def importing() -> None:
        with connection.turn(store):
            with connection.writing(store):
                opened.set()
                time.sleep(0.2)
            merging.set()
            done.wait(20)

    writer = threading.Thread(target=importing)
    writer.start()
    try:
        assert opened.wait(10)
        assert (store / spare.SPARE).exists()
        with connection.reading(store) as db:
            assert db.execute("SELECT 1").fetchall() == [(1,)]
        assert merging.is_set()
        assert writer.is_alive(), "read while the turn was still held"
    finally:
        done.set()
        writer.join()
