"""Readings: merged by years, newest delivery wins, nothing is lost or invented."""

import copy
from collections.abc import Callable
from pathlib import Path

import duckdb
import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analytics.errors import StoreMissing
from analytics.model import Record
from analytics.store import layout, parts, readings
from analytics.store.counts import Counts
from analytics.store.paths import site_folder

Maker = Callable[..., Record]


def pick(record: Record, rows: np.ndarray) -> Record:
    return Record(
        site=record.site, times=record.times[rows], depths_cm=record.depths_cm,
        theta=record.theta[rows], temp_c=record.temp_c[rows],
    )  # fmt: skip


def same(one: Record, other: Record) -> bool:
    return (
        np.array_equal(one.times, other.times)
        and np.array_equal(one.depths_cm, other.depths_cm)
        and np.array_equal(one.theta, other.theta, equal_nan=True)
        and np.array_equal(one.temp_c, other.temp_c, equal_nan=True)
    )


def tree(folder: Path) -> dict[str, tuple[bytes, int]]:
    return {
        str(path.relative_to(folder)): (path.read_bytes(), path.stat().st_mtime_ns)
        for path in folder.rglob("*")
        if path.is_file()
    }


def test_round_trip_over_a_year_end(empty: Path, record: Maker) -> None:
    given_ = record(hours=300)
    assert readings.merge(empty, given_) == Counts(taken=300)
    assert same(readings.read(empty, "N1"), given_)
    assert [one.stem for one in readings.year_parts(site_folder(empty, "N1"))] == [
        "2023",
        "2024",
    ]
    assert readings.newest(empty, "N1") == pd.Timestamp(given_.times[-1], tz="UTC")


def test_stored_as_small_integers(empty: Path, record: Maker) -> None:
    readings.merge(empty, record())
    part = pq.ParquetFile(site_folder(empty, "N1") / "2023.parquet")
    types = {one.name: str(one.type) for one in part.schema_arrow}
    assert types["vwc_5.08"] == types["temp_10"] == "int16"
    assert types["time"] == "timestamp[us, tz=UTC]"
    assert "DELTA_BINARY_PACKED" in part.metadata.row_group(0).column(1).encodings


@pytest.mark.parametrize("value", [45.0, -3.3, 3.2767, 214_748.0, 9e9, np.inf])
def test_an_impossible_value_survives(empty: Path, record: Maker, value: float) -> None:
    given_ = record()
    given_.theta[3, 1] = value
    readings.merge(empty, given_)
    assert same(readings.read(empty, "N1"), given_)
    assert readings.merge(empty, given_) == Counts(identical=200)


def test_the_same_again_rewrites_no_file(empty: Path, record: Maker) -> None:
    readings.merge(empty, record())
    before = tree(empty / "readings")
    assert readings.merge(empty, record()) == Counts(identical=200)
    assert tree(empty / "readings") == before


def test_digits_finer_than_what_is_kept_make_nothing_new(empty: Path, record: Maker) -> None:
    fine = record()
    fine.theta[:] += 0.000012
    fine.temp_c[:] += 0.0012
    assert readings.merge(empty, fine) == Counts(taken=200)
    before = tree(empty / "readings")
    assert readings.merge(empty, fine) == Counts(identical=200)
    assert tree(empty / "readings") == before


def test_only_the_touched_year_is_rewritten(empty: Path, record: Maker) -> None:
    readings.merge(empty, record())
    before = tree(empty / "readings")
    changed = pick(record(), np.array([150]))
    changed.theta[0, 0] = 0.2222
    assert readings.merge(empty, changed) == Counts(superseded=1)
    after = tree(empty / "readings")
    assert {name for name in after if after[name] != before.get(name)} == {
        "site=N1/2024.parquet", "site=N1/superseded.parquet",
    }  # fmt: skip


def test_what_gives_way_is_kept_once(empty: Path, record: Maker) -> None:
    readings.merge(empty, record())
    changed = pick(record(), np.array([7]))
    was = changed.theta[0, 0]
    changed.theta[0, 0] = 0.2222
    readings.merge(empty, changed)
    kept = pq.read_table(site_folder(empty, "N1") / readings.SUPERSEDED).to_pylist()
    assert [(one["depth_cm"], one["vwc"], one["vwc_now"]) for one in kept] == [
        (5.08, was, 0.2222)
    ]


def test_a_missing_value_never_erases_a_known_one(empty: Path, record: Maker) -> None:
    readings.merge(empty, record())
    holes = record()
    holes.theta[:, 0] = np.nan
    assert readings.merge(empty, holes) == Counts(identical=200)
    assert same(readings.read(empty, "N1"), record())


def test_a_new_sensor_joins(empty: Path, record: Maker) -> None:
    readings.merge(empty, record())
    deeper = Record(
        site="N1", times=record().times, depths_cm=np.array([91.44]),
        theta=np.full((200, 1), 0.3), temp_c=np.full((200, 1), np.nan),
    )  # fmt: skip
    assert readings.merge(empty, deeper) == Counts(taken=200)
    found = readings.read(empty, "N1")
    assert found.depths_cm.tolist() == [5.08, 10.0, 91.44]
    assert np.isnan(found.temp_c[:, 2]).all()
    assert (found.theta[:, 2] == 0.3).all()


@pytest.mark.parametrize("site", ["../x", "..", "a/b", "C:\\x", "ü 1", "50%", "CON.txt", "a*"])
def test_any_id_stays_inside_the_store(empty: Path, record: Maker, site: str) -> None:
    outside = set(empty.parent.iterdir())
    readings.merge(empty, record(site=site))
    assert set(empty.parent.iterdir()) == outside
    assert [one.parent.parent.name for one in empty.glob("readings/*/2023.parquet")] == [
        "readings"
    ]
    assert readings.sites(empty) == [site]
    assert same(readings.read(empty, site), record(site=site))


def test_without_a_store_there_is_a_sentence(tmp_path: Path, record: Maker) -> None:
    with pytest.raises(StoreMissing, match="overwinter init"):
        readings.merge(tmp_path / "nothing", record())


@pytest.mark.parametrize(("why", "remedy"), [
    (pa.ArrowInvalid("no magic bytes"), "Delete the file and import that year's"),
    (OSError("Couldn't deserialize thrift"), "Delete the file and import that year's"),
    (PermissionError(13, "Permission denied"), "Check the disk and its permissions"),
    (OSError(5, "Input/output error"), "Check the disk and its permissions"),
])  # fmt: skip
def test_only_what_is_damaged_is_to_be_deleted(
    empty: Path, record: Maker, monkeypatch: pytest.MonkeyPatch, why: Exception, remedy: str
) -> None:
    readings.merge(empty, record(hours=30))

    def fails(*_: object, **__: object) -> None:
        raise why

    monkeypatch.setattr(pq, "ParquetFile", fails)
    with pytest.raises(parts.Unreadable) as told:
        readings.read(empty, "N1")
    assert f"({why}). {remedy}" in str(told.value)
    assert str(copy.copy(told.value)) == str(told.value)  # as it travels between processes


def test_a_long_table_has_a_row_for_each_value(empty: Path, record: Maker) -> None:
    given_ = record()
    given_.theta[0, 0] = given_.temp_c[0, 0] = np.nan
    readings.merge(empty, given_)
    frame = readings.long(empty)
    assert len(frame) == 399
    assert str(frame["time"].dtype) == "datetime64[us, UTC]"


def test_whoever_opens_the_file_can_query_every_reading(
    empty: Path, record: Maker, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(empty)
    asked = "SELECT * FROM readings ORDER BY site, time, depth_cm"
    with duckdb.connect("overwinter.duckdb", read_only=True) as db:
        assert db.execute(asked).fetchall() == []
    given_ = record(site="../S 1")
    given_.theta[0, 0] = given_.temp_c[0, 0] = np.nan
    given_.theta[5, 1] = 12.5  # impossible, so that a year's columns are wider than another's
    readings.merge(empty, given_)
    readings.merge(empty, record())
    with duckdb.connect("overwinter.duckdb", read_only=True) as db:
        db.execute("SET TimeZone = 'UTC'")
        found = db.execute(asked).df()
    keys = ["site", "time", "depth_cm"]
    expected = readings.long(empty).sort_values(keys, ignore_index=True)
    pd.testing.assert_frame_equal(
        found, expected, check_dtype=False, check_exact=False, rtol=1e-12
    )


@settings(
    max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_deliveries_in_any_split_end_with_the_newest_values(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """Against a plain dictionary: instants and sensors, the last known value wins."""
    store = tmp_path_factory.mktemp("s") / "store"
    layout.create(store, "mm")
    hours = np.datetime64("2023-12-31T12", "us") + np.arange(24) * np.timedelta64(1, "h")
    truth: dict[tuple[np.datetime64, float], float] = {}
    for _ in range(data.draw(st.integers(1, 4))):
        rows = sorted(data.draw(st.sets(st.integers(0, 23), min_size=1, max_size=12)))
        value = st.one_of(st.just(np.nan), st.sampled_from([0.1, 0.2, 0.3004]))
        theta = np.array([[data.draw(value), data.draw(value)] for _ in rows])
        delivery = Record(
            site="s", times=hours[rows], depths_cm=np.array([10.0, 20.0]), theta=theta,
            temp_c=np.full(theta.shape, np.nan),
        )  # fmt: skip
        counts = readings.merge(store, delivery)
        assert counts.total == len(rows), "rows are conserved"
        for i, time in enumerate(delivery.times):
            for j, depth in enumerate(delivery.depths_cm):
                truth.setdefault((time, depth), np.nan)
                if not np.isnan(theta[i, j]):
                    truth[time, depth] = theta[i, j]
        assert readings.merge(store, delivery).identical == len(rows), "again changes nothing"
    found = readings.read(store, "s")
    read = {
        (time, depth): found.theta[i, j]
        for i, time in enumerate(found.times)
        for j, depth in enumerate(found.depths_cm)
    }
    assert read.keys() == truth.keys()
    assert all(np.array_equal(read[one], truth[one], equal_nan=True) for one in truth)


def test_rounding_is_half_a_step_at_most(record: Maker) -> None:
    given_ = record()
    given_.theta[:] += 0.000_031
    held = parts.rounded(given_)
    assert np.abs(held.theta - given_.theta).max() <= 0.5 / parts.THETA_SCALE + 1e-12
