"""One engine a process: units of work share it, and nothing of theirs is shared with it."""

import subprocess
import sys
from pathlib import Path

import duckdb
import pytest

from analytics.errors import StoreBusy
from analytics.store import connection, engine, layout, people, sight
from analytics.store.paths import database

COUNT = "SELECT count(*) FROM fields"


def opened_elsewhere(store: Path) -> str:
    """Open the store's file to write from another process; give what that says."""
    code = "import duckdb, sys; duckdb.connect(sys.argv[1]).close()"
    words = [sys.executable, "-c", code, str(database(store))]
    return subprocess.run(words, capture_output=True, text=True, check=False).stderr


def test_a_file_is_held_no_longer_than_by_the_last_unit(store: Path) -> None:
    with engine.attached(database(store), read_only=True) as one:
        with engine.attached(database(store), read_only=True) as other:
            assert one.execute(COUNT).fetchall() == other.execute(COUNT).fetchall() == [(2,)]
        assert one.execute(COUNT).fetchall() == [(2,)]
        assert "Could not set lock" in opened_elsewhere(store)
    assert opened_elsewhere(store) == ""


@pytest.mark.parametrize("read_only", [True, False])
def test_who_writes_shares_with_no_reader(store: Path, read_only: bool) -> None:
    with (
        engine.attached(database(store), read_only=read_only),
        pytest.raises(duckdb.Error, match="Unique file handle conflict"),
        engine.attached(database(store), read_only=not read_only),
    ):
        pass
    with engine.attached(database(store), read_only=not read_only) as db:
        assert db.execute(COUNT).fetchall() == [(2,)]


def test_one_file_by_two_paths_is_one_file(store: Path, tmp_path: Path) -> None:
    """Opened twice, the file would be free for other processes once either is closed."""
    by_link = tmp_path / "link"
    by_link.symlink_to(store)
    with connection.reading(store):
        with connection.reading(by_link, 0.0) as db:
            assert db.execute(COUNT).fetchall() == [(2,)]
        assert "Could not set lock" in opened_elsewhere(store)
    with (
        connection.writing(store),
        pytest.raises(StoreBusy),
        connection.reading(by_link, 0.0),
    ):
        pass


def test_two_stores_are_open_at_once_and_each_sees_its_own(store: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    layout.create(other)
    with connection.reading(store) as here, connection.writing(other) as there:
        there.execute("INSERT INTO settings VALUES ('only', 'there')")
        assert here.execute(COUNT).fetchall() == [(2,)]
        assert there.execute(COUNT).fetchall() == [(0,)]
        told = "SELECT count(*) FROM settings WHERE name = 'only'"
        assert here.execute(told).fetchall() == [(0,)]
        assert there.execute(told).fetchall() == [(1,)]


def test_what_one_sees_at_the_same_time_is_not_what_another_sees(store: Path) -> None:
    """What is laid over the tables for a grower lies over them for nobody else."""
    fields = people.fields(store)
    fields["grower"] = ["Ash", "Birch"]
    people.put(store, "fields", fields)
    with connection.reading(store) as whole:
        with sight.looking(sight.Sight(who="b@x.y", role="grower", growers=("Birch",))):
            birch = connection.reading(store)
            narrow = birch.__enter__()
        with connection.reading(store) as late:
            for db, seen in ((whole, 2), (narrow, 1), (late, 2)):
                assert db.execute(COUNT).fetchall() == [(seen,)]
        birch.__exit__(None, None, None)


def test_an_instant_reads_the_same_in_every_unit_and_its_cursors(store: Path) -> None:
    asked = "SELECT '2024-11-05 00:00'::TIMESTAMPTZ::VARCHAR"
    for _ in range(2):
        with connection.reading(store) as db:
            assert db.execute(asked).fetchall() == [("2024-11-05 00:00:00+00",)]
            assert db.cursor().execute(asked).fetchall() == [("2024-11-05 00:00:00+00",)]


def test_a_unit_that_fails_leaves_no_file_held(store: Path) -> None:
    def fail() -> None:
        with connection.writing(store) as db:
            db.execute("INSERT INTO settings VALUES ('half', 'done')")
            raise KeyError

    with pytest.raises(KeyError):
        fail()
    assert opened_elsewhere(store) == ""
    with connection.reading(store) as db:
        half = db.execute("SELECT count(*) FROM settings WHERE name = 'half'")
        assert half.fetchall() == [(0,)]


def test_a_file_that_is_missing_stays_missing(tmp_path: Path) -> None:
    with (
        pytest.raises(duckdb.IOException, match="does not exist"),
        engine.attached(tmp_path / "none.duckdb", read_only=True),
    ):
        pass
    assert list(tmp_path.iterdir()) == []
