"""Making, recognising and refusing stores; the token that tells of a change."""

from pathlib import Path

import duckdb
import pandas as pd
import pytest

from analytics.errors import InputRefused, StoreBusy, StoreError, StoreMissing, StoreNewer
from analytics.store import connection, layout, people, preferences, schema


def test_a_store_is_not_made_over_anything(tmp_path: Path, empty: Path) -> None:
    with pytest.raises(StoreError, match="a store here already"):
        layout.create(empty)
    (tmp_path / "else").mkdir()
    (tmp_path / "else" / "notes.txt").write_text("mine")
    with pytest.raises(StoreError, match="other files"):
        layout.create(tmp_path / "else")


@pytest.mark.parametrize("name", ["a,b", "a*", "a[1]", "{a}"])
def test_a_path_that_queries_cannot_carry_is_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputRefused, match="the path holds"):
        layout.create(tmp_path / name)
    assert list(tmp_path.iterdir()) == []


def test_odd_but_honest_paths_work(
    tmp_path: Path, people_frames: dict[str, pd.DataFrame]
) -> None:
    store = tmp_path / "Kärnten 'n Öd #1 %41"
    layout.create(store, "mm")
    people.put(store, "fields", people_frames["fields"])
    assert len(people.table(store, "readiness")) == 0
    assert preferences.units(store) == "mm"


def test_no_store_is_said_in_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(StoreMissing, match="overwinter init"):
        layout.require(tmp_path)


def test_a_file_is_not_told_to_become_a_store(tmp_path: Path) -> None:
    file = tmp_path / "afile"
    file.touch()
    with pytest.raises(StoreMissing, match="this is a file") as why:
        layout.require(file)
    assert "init" not in str(why.value)


def test_a_newer_store_is_refused_and_left_alone(store: Path) -> None:
    with connection.writing(store) as db:
        db.execute("INSERT INTO schema_version VALUES (?)", [schema.VERSION + 1])
    before = (store / "overwinter.duckdb").read_bytes()
    for unit in (connection.reading, connection.writing):
        with pytest.raises(StoreNewer, match="newer Overwinter"), unit(store):
            pass
    assert (store / "overwinter.duckdb").read_bytes() == before


def test_the_token_changes_with_a_write_and_not_with_a_read(store: Path) -> None:
    before = layout.generation(store)
    people.table(store, "fields")
    assert layout.generation(store) == before
    preferences.save(store, "zone_split_cm", 100.0)
    assert layout.generation(store) != before


def test_own_thresholds_lie_over_the_defaults(store: Path) -> None:
    preferences.save(store, "zone_split_cm", 100.0)
    assert preferences.thresholds(store).zone_split_cm == 100.0
    with pytest.raises(InputRefused, match="no such setting"):
        preferences.save(store, "no_such_thing", 1.0)


def test_patience_ends_with_a_sentence(store: Path) -> None:
    with (
        connection.writing(store),
        pytest.raises(StoreBusy, match="close whatever else"),
        connection.reading(store, patience_s=0.2),
    ):
        pass


def test_a_file_that_is_no_database_is_said_in_a_sentence(store: Path) -> None:
    (store / "overwinter.duckdb").write_bytes(b"noise" * 4096)
    with pytest.raises(StoreError, match="could not be read"):
        people.table(store, "fields")


def columns(db: duckdb.DuckDBPyConnection) -> list:
    """Every table of a store with its columns and their types."""
    return db.execute(
        "SELECT table_name, column_name, data_type FROM duckdb_columns() ORDER BY ALL"
    ).fetchall()


@pytest.mark.parametrize("version", range(1, schema.VERSION))
def test_a_store_of_every_earlier_form_is_brought_up_to_date(
    tmp_path: Path,
    people_frames: dict[str, pd.DataFrame],
    monkeypatch: pytest.MonkeyPatch,
    version: int,
) -> None:
    store = tmp_path / "old"
    with monkeypatch.context() as then:
        then.setattr(schema, "MIGRATIONS", schema.MIGRATIONS[:version])
        then.setattr(schema, "VERSION", version)
        layout.create(store)
        # Of today's statements one that fits every form of the store.
        people.put(store, "landmarks", people_frames["landmarks"])
    assert len(people.table(store, "landmarks")) == 1  # reading alone brings it up
    with connection.reading(store) as db:
        assert schema.found(db) == schema.VERSION
        tables = columns(db)
    new = tmp_path / "new"
    layout.create(new)
    with connection.reading(new) as db:
        assert columns(db) == tables
