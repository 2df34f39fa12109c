"""A delivery is taken whole or not at all; its rows add up; the same file changes nothing."""

import hashlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analytics.errors import InputRefused
from analytics.intake import read
from analytics.model import Delivery, Record
from analytics.store import connection, importing, parts, people, readings
from analytics.store.counts import Counts

Maker = Callable[..., Record]


def delivery(record: Record, **changes: object) -> Delivery:
    """Long readings out of a file: one row a sensor and instant."""
    made = Delivery(
        path="N1.csv",
        kind="readings",
        sha256=hashlib.sha256(record.theta.tobytes()).hexdigest(),
        readings=(record,),
        rows_in=record.theta.size,
    )
    return replace(made, **changes)


def log(store: Path) -> list[tuple[object, ...]]:
    with connection.reading(store) as db:
        return db.execute("SELECT file, rows_in, taken, rejected FROM imports").fetchall()


def test_long_rows_add_up(store: Path, record: Maker) -> None:
    outcome = importing.take(store, delivery(record()))
    assert (outcome.rows_in, outcome.counts) == (400, Counts(taken=400))
    changed = record()
    changed.theta[0, 0], changed.theta[1] = 0.2222, np.nan
    changed.temp_c[1] = np.nan
    rejects = pd.DataFrame(
        {"line": [9, 9], "column": "vwc", "value": ["x", "y"], "reason": "not a number"}
    )
    given = delivery(changed, rows_in=404, rows_repeated=4, rows_overruled=3, rejects=rejects)
    outcome = importing.take(store, given)
    assert outcome.counts == Counts(identical=399, superseded=4)
    assert outcome.rejected == 1
    assert outcome.counts.total + outcome.rejected == outcome.rows_in
    assert outcome.notes == ("1 row holds no value and changes nothing.",)
    assert log(store) == [("N1.csv", 400, 400, 0), ("N1.csv", 404, 0, 1)]
    with connection.reading(store) as db:
        kept = db.execute('SELECT line, "column", "value", reason FROM rejects').fetchall()
    assert kept == [(9, "vwc", "x", "not a number"), (9, "vwc", "y", "not a number")]


def test_the_same_file_again_does_not_bring_old_values_back(store: Path, record: Maker) -> None:
    first = delivery(record())
    importing.take(store, first)
    second = record()
    second.theta[0, 0] = 0.2222
    importing.take(store, delivery(second))
    outcome = importing.take(store, first)
    assert outcome.already
    assert outcome.counts == Counts(identical=400)
    assert readings.read(store, "N1").theta[0, 0] == 0.2222
    assert len(log(store)) == 2
    assert outcome.notes == (importing.TOLD_SINCE,)
    (outcome,) = importing.take_all(store, [first], again=True)
    assert outcome.counts == Counts(identical=399, superseded=1)
    assert readings.read(store, "N1").theta[0, 0] == first.readings[0].theta[0, 0]


def test_the_same_bytes_under_another_site_s_name_are_that_site_s(
    store: Path, record: Maker
) -> None:
    swapped = record()
    importing.take(store, delivery(swapped, sha256="one"))
    other = replace(swapped, site="../S 1")
    outcome = importing.take(store, delivery(other, sha256="one"))
    assert not outcome.already
    assert outcome.counts == Counts(taken=400)
    assert importing.take(store, delivery(other, sha256="one")).notes == ()


def test_the_same_file_with_another_mapping_is_read_again(
    store: Path, record: Maker, tmp_path: Path
) -> None:
    file = tmp_path / "N1.csv"
    file.write_text("time,a\n2024-01-01,1\n")
    site = {"from": "file name"}
    wide = delivery(
        record(), path=str(file), rows_in=200, mapping={"site": site, "columns": [1]}
    )
    assert importing.take(store, wide).counts == Counts(taken=200)
    other = replace(wide, mapping={"site": site, "columns": [2]})
    assert not importing.take(store, other).already
    assert list(importing.known(store).mappings.values()) == [other.mapping]


def test_a_mapping_for_one_site_is_not_saved_for_others(
    store: Path, record: Maker, tmp_path: Path
) -> None:
    file = tmp_path / "N1.csv"
    file.write_text("time,a\n2024-01-01,1\n")
    mapping: dict[str, object] = {"site": {"value": "N1"}}
    importing.take(store, delivery(record(), path=str(file), mapping=mapping))
    assert importing.known(store).mappings == {}


def walls(folder: Path, name: str, first: str, values: list[float], head: str) -> Path:
    """Write hourly rows in the site's wall clock, which summer time may make step back."""
    path = folder / name
    day, hour = first.split("T")
    rows = [f"{day} {int(hour) + at:02d}:00,{value:.3f}" for at, value in enumerate(values)]
    path.write_text("\n".join([head, *rows, ""]))
    return path


HEAD = "time,vwc 30 cm [m3/m3]"


def test_two_files_that_part_the_autumn_hour_lose_none_of_it(
    store: Path, tmp_path: Path
) -> None:
    known = importing.known(store)  # Denver: UTC-6 until 3 November 2024, then UTC-7
    for name, first, values in (
        ("N1.csv", "2024-11-03T0", [0.200, 0.201]),  # ends at the first 01:00
        ("N1 b.csv", "2024-11-03T1", [0.202, 0.203]),  # begins at the second
    ):
        path = walls(tmp_path, name, first, values, HEAD)
        mapping = {"site": {"value": "N1"}}
        taken = importing.take(store, read(path, known, mapping=mapping))
        assert taken.counts == Counts(taken=2)
    found = readings.read(store, "N1")
    assert [str(one)[11:16] for one in found.times] == ["06:00", "07:00", "08:00", "09:00"]
    assert found.theta[:, 0].tolist() == pytest.approx([0.200, 0.201, 0.202, 0.203])


@pytest.mark.parametrize(
    ("head", "hint"),
    [("time,vwc 30cm [m3/m3]", {}), (HEAD, {"missing": [-9999]})],
    ids=["another header", "a hint for the same one"],
)
def test_the_clock_that_was_stated_for_a_site_is_kept(
    store: Path, tmp_path: Path, head: str, hint: dict[str, object]
) -> None:
    file = walls(tmp_path, "N1.csv", "2024-11-02T20", [0.292, 0.293, 0.294, 0.295], HEAD)
    said: dict[str, object] = {"time": {"clock": "standard"}}
    importing.take(store, read(file, importing.known(store), mapping=said))
    assert importing.known(store).clocks == {"N1": "standard"}
    (tmp_path / "next").mkdir()
    values = [0.296, 0.297, 0.298, 0.299]
    file = walls(tmp_path / "next", "N1.csv", "2024-11-03T0", values, head)
    made = read(file, importing.known(store), mapping=hint or None)
    assert any("the clock 'standard', as the site's files before" in one for one in made.notes)
    assert importing.take(store, made).counts == Counts(taken=4)
    found = readings.read(store, "N1")  # 20:00 is 03:00 UTC, and no hour is missing
    assert (np.diff(found.times) == np.timedelta64(1, "h")).all()
    assert found.theta[:, 0].tolist() == pytest.approx(
        [0.292, 0.293, 0.294, 0.295, 0.296, 0.297, 0.298, 0.299]
    )
    local = read(file, importing.known(store), mapping={"time": {"clock": "local"}})
    assert local.readings[0].times[0] == np.datetime64("2024-11-03T06:00")


def test_an_unknown_site_leaves_no_trace(store: Path, record: Maker) -> None:
    with pytest.raises(InputRefused, match="site 'X' is not in the store"):
        importing.take(store, delivery(record(site="X")))
    assert readings.sites(store) == []
    assert log(store) == []


def test_weather_of_a_logger_makes_a_station_of_its_site(store: Path, record: Maker) -> None:
    weather = pd.DataFrame(
        {"station": "N1", "date": pd.Timestamp("2024-01-01"), "tmin_c": [1.0]}
    )
    importing.take(store, delivery(record(), tables={"weather": weather}))
    station = people.table(store, "stations").query("station == 'N1'")
    assert station[["latitude", "longitude"]].to_numpy().tolist() == [[39.0, -101.0]]
    assert station["elevation_m"].isna().all()
    assert "N1" in set(people.table(store, "weather")["station"])


@pytest.mark.parametrize("crash_at", [0, 1, 2])
def test_a_crash_before_the_log_is_healed_by_repeating(
    store: Path, record: Maker, monkeypatch: pytest.MonkeyPatch, crash_at: int
) -> None:
    """Crash before the first part, between parts, and after them before the log."""
    calls = iter(range(9))
    write = parts.write

    def crash(*given: object) -> None:
        if next(calls) == crash_at:
            raise KeyboardInterrupt
        write(*given)  # type: ignore[arg-type]

    with monkeypatch.context() as patch:
        patch.setattr(parts, "write", crash)
        patch.setattr(importing, "_put_tables", crash)
        with pytest.raises(KeyboardInterrupt):
            importing.take(store, delivery(record()))
    assert log(store) == []
    with connection.writing(store) as db:
        db.execute("DELETE FROM touched")
    outcome = importing.take(store, delivery(record()))
    assert outcome.counts.total == 400
    assert np.array_equal(readings.read(store, "N1").theta, record().theta)
    assert len(log(store)) == 1
    with connection.reading(store) as db:
        assert db.execute("SELECT site FROM touched").fetchall() == [("N1",)]


def test_known_is_what_files_may_refer_to(store: Path) -> None:
    known = importing.known(store)
    assert known.sites == {"N1": "America/Denver", "../S 1": "America/Denver"}
    assert known.fields == frozenset({"north", "south"})


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_a_day_of_rain_split_over_two_deliveries_is_whole(
    store: Path, tmp_path: Path, order: tuple[int, int]
) -> None:
    # 1 mm in each of 24 hours of 2 July by Denver's clock; the files part at noon
    hours = pd.date_range("2024-07-02T00:30", periods=24, freq="h").strftime("%Y-%m-%d %H:%M")
    lines = [f"{hour},0.25,1.0" for hour in hours]
    for at, part in enumerate((lines[:12], lines[12:])):
        text = "\n".join(["time,vwc 10 cm [m3/m3],rain [mm]", *part])
        (tmp_path / f"part{at}.csv").write_text(text + "\n")
    mapping = {"site": {"value": "N1"}}
    for at in order:
        path = tmp_path / f"part{at}.csv"
        importing.take(store, read(path, importing.known(store), mapping=mapping))
    days = people.table(store, "weather").query("station == 'N1'")
    assert dict(zip(days["date"].astype(str), days["rain_mm"], strict=True)) == {
        "2024-07-02": 24.0
    }
    last = tmp_path / f"part{order[-1]}.csv"
    importing.take(store, read(last, importing.known(store), mapping=mapping))
    again = people.table(store, "weather").query("station == 'N1'")
    assert again.equals(days)


LAYERS_CM = [15.0, 30.0, 60.0, 90.0, 120.0]


@pytest.fixture
def layered(store: Path, people_frames: dict[str, pd.DataFrame]) -> Path:
    """Give a store whose probe ``../S 1`` has a layers table and no readings."""
    one = people_frames["layers"].head(1)
    rows = pd.concat([one] * len(LAYERS_CM), ignore_index=True)
    people.put(
        store, "layers",
        rows.assign(site="../S 1", depth_cm=LAYERS_CM, top_cm=np.nan, bottom_cm=np.nan),
    )  # fmt: skip
    return store


def inches(record: Maker, depths_cm: list[float]) -> Delivery:
    made = record("../S 1")
    return delivery(replace(made, depths_cm=np.array(depths_cm)))


def test_a_depth_in_inches_is_the_known_layer_and_a_strange_one_is_told(
    layered: Path, record: Maker
) -> None:
    brought = inches(record, [15.24, 35.56])
    so_far = "its layers so far are 15, 30, 60, 90, 120 cm"
    notes = (
        "15.24 cm is taken as 15 cm, which is known there (site ../S 1).",
        f"A sensor at 35.56 cm is new to site ../S 1: {so_far}.",
    )
    shown = importing.foreseen(layered, brought)
    assert shown.readings[0].depths_cm.tolist() == [15.0, 35.56]
    assert shown.notes == notes
    assert importing.take(layered, shown).notes == notes  # told once
    kept = readings.read(layered, "../S 1")
    assert kept.depths_cm.tolist() == [15.0, 35.56]
    assert importing.take(layered, brought).already


def test_readings_make_a_depth_known_where_no_table_does(store: Path, record: Maker) -> None:
    importing.take(store, inches(record, [15.0, 30.0]))
    later = record("../S 1", start="2025-01-05", seed=2)
    outcome = importing.take(
        store, delivery(replace(later, depths_cm=np.array([15.24, 30.48])))
    )
    assert len(outcome.notes) == 2
    assert readings.read(store, "../S 1").depths_cm.tolist() == [15.0, 30.0]


def test_depths_that_a_record_holds_already_stay_whatever_the_table_says(
    layered: Path, record: Maker
) -> None:
    readings.merge(layered, replace(record("../S 1"), depths_cm=np.array([15.24, 35.56])))
    outcome = importing.take(layered, inches(record, [15.24, 35.56]))
    assert outcome.notes == ()
    assert readings.read(layered, "../S 1").depths_cm.tolist() == [15.24, 35.56]
