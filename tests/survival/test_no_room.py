"""A full disk, a folder that may not be written, a clock set back: a sentence, and no loss."""

import os
import resource
import shutil
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pandas as pd
import pytest

from analytics.cli import main
from analytics.store import people, readings
from analytics.store.check import check
from tests.survival import kill

ROOM_AGAIN = """
import resource, sys
from pathlib import Path
from analytics.errors import StoreError
from analytics.store import connection
store, room, rows = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
most = resource.getrlimit(resource.RLIMIT_FSIZE)[1]
size = (store / "overwinter.duckdb").stat().st_size
try:
    with connection.writing(store) as db:
        resource.setrlimit(resource.RLIMIT_FSIZE, (size + room, most))
        db.execute("CREATE TABLE big AS SELECT hash(range) AS h FROM range(?)", [rows])
    print("written")
except StoreError as why:
    print("could not be written" if "could not be read or written" in str(why) else why)
resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
with connection.writing(store) as db:
    db.execute("CREATE TABLE small AS SELECT 1 AS one")
with connection.reading(store) as db:
    tables = db.execute("SELECT table_name, estimated_size FROM duckdb_tables()").fetchall()
    print(*(f"{name} {rows}" for name, rows in tables if name in {"big", "small"}))
"""
"""A dashboard meets a full disk, and lives on when room was made."""
BYTES = (1_000, 20_000)
"""Largest file that may be written: the first fails at once, the second half-way."""


@pytest.fixture(scope="module")
def stores(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("stores")
    kill.prepare(folder)
    return folder


def confined(words: list[str], most: int) -> subprocess.CompletedProcess[str]:
    """Run the program where no file may grow beyond some size, as on a full disk."""
    start = "import sys; from analytics.cli import main; sys.exit(main(sys.argv[1:]))"
    return subprocess.run(
        [sys.executable, "-c", start, *words], capture_output=True, text=True, check=False,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most, most)),
    )  # fmt: skip


def copied(stores: Path, name: str, tmp_path: Path) -> Path:
    store = tmp_path / name
    shutil.copytree(stores / name, store)
    return store


@pytest.mark.parametrize("most", BYTES)
def test_an_import_without_room(stores: Path, tmp_path: Path, most: int) -> None:
    store = copied(stores, "empty", tmp_path)
    ended = confined(["import", str(store), str(stores / "files")], most)
    assert ended.returncode == 1
    assert "There is no room left to write" in ended.stderr
    assert "Traceback" not in ended.stderr
    assert [one for one in check(store) if one.level == "damaged"] == []
    said = ended.stdout.splitlines()
    assert kill._rows_there(store, said)  # all that was told as taken is there
    assert main(["import", str(store), str(stores / "files")]) == 0  # room was made
    assert kill._readings(store) == kill._readings(stores / "full")


@pytest.mark.parametrize("most", BYTES)
def test_an_assessment_without_room(stores: Path, tmp_path: Path, most: int) -> None:
    store = copied(stores, "known", tmp_path)
    before = kill._results(store)
    words = ["assess", str(store), "--all", "--as-of", kill.AS_OF, "--workers", "1"]
    ended = confined(words, most)
    assert ended.returncode == 1
    assert "earlier results are kept" in ended.stderr
    assert "Traceback" not in ended.stderr
    assert [one for one in check(store) if one.level == "damaged"] == []
    assert kill._results(store) == before
    assert main(words) == 0


@pytest.mark.parametrize(
    ("room", "rows", "said"),
    [
        (4_096, 200_000, "could not be written\nsmall 1\n"),  # at the commit
        (300_000, 120_000, "written\nbig 120000 small 1\n"),  # when the log is brought in
    ],
)
def test_a_process_lives_on_when_room_was_made(
    stores: Path, tmp_path: Path, room: int, rows: int, said: str
) -> None:
    store = copied(stores, "known", tmp_path)
    words = [sys.executable, "-c", ROOM_AGAIN, str(store), str(room), str(rows)]
    ended = subprocess.run(words, capture_output=True, text=True, check=False)
    assert ended.stderr == ""
    assert ended.stdout == said
    assert [one for one in check(store) if one.level == "damaged"] == []


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write into any folder")
def test_a_folder_that_may_not_be_written(stores: Path, tmp_path: Path) -> None:
    store = copied(stores, "known", tmp_path)
    for path in [store, *store.rglob("*")]:
        path.chmod(0o555 if path.is_dir() else 0o444)
    try:
        words = ["import", str(store), str(stores / "files")]
        ended = confined(words, resource.RLIM_INFINITY)
        assert ended.returncode == 1
        assert "Traceback" not in ended.stderr
        assert ended.stderr.startswith("overwinter: ")
        assert len(people.table(store, "readiness"))  # it can still be read
    finally:
        for path in [store, *store.rglob("*")]:
            path.chmod(0o755 if path.is_dir() else 0o644)


def test_a_clock_set_back_changes_nothing_of_what_wins(
    stores: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The newest delivery wins by the order in which it came, not by what a clock says."""

    class Back(datetime):
        @classmethod
        def now(cls, tz=None) -> datetime:
            return datetime(2001, 1, 1, tzinfo=tz or UTC)

    store = copied(stores, "full", tmp_path)
    late = tmp_path / "late.csv"
    when = pd.Timestamp(kill.FIRST, tz="UTC")
    late.write_text(f"site,time,depth_cm,vwc\nA1,{when.isoformat()},10,0.333\n")
    monkeypatch.setattr("analytics.store.import_log.datetime", Back)
    monkeypatch.setattr("analytics.store.results.datetime", Back)
    monkeypatch.setattr("analytics.store.readings.datetime", Back)
    assert main(["import", str(store), str(late)]) == 0
    frame = readings.long(store)
    first = frame[(frame["site"] == "A1") & (frame["time"] == when) & (frame["depth_cm"] == 10)]
    assert first["vwc"].round(3).tolist() == [0.333]
    assert main(["assess", str(store), "--as-of", kill.AS_OF, "--workers", "1"]) == 0
    assert [one for one in check(store) if one.level == "damaged"] == []
