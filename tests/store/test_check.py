"""What ``check`` calls missing: a crop left standing, not one that a plan will follow."""

import shutil
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path

import pandas as pd
import pytest

from analytics.cli import main
from analytics.model import Record
from analytics.settings import Settings
from analytics.store import (
    accounts,
    coefficients,
    connection,
    people,
    readings,
    results,
    statements,
)
from analytics.store.check import check
from analytics.water.demand import Crop


def looked_at(store: Path, day: date) -> None:
    """Let the store's results stand for a day."""
    with connection.writing(store) as db:
        statements.execute(
            db, "save_assessment", generation=1, as_of=day, made_at=datetime.now(UTC),
            version="x", settings="{}",
        )  # fmt: skip


def unharvested(store: Path) -> list[str]:
    with connection.reading(store) as db:
        found = statements.execute(db, "check_unharvested", longest_crop_d=330.0)
    return [str(subject) for subject, *_ in found]


@pytest.mark.parametrize(("planted", "told"), [("2024-10-30", True), ("2999-05-01", False)])
def test_a_crop_without_harvest_is_missed_once_another_stands(
    store: Path, planted: str, *, told: bool
) -> None:
    later = pd.DataFrame(
        {"field": "north", "crop": ["cotton"], "planted_on": pd.Timestamp(planted),
         "harvested_on": pd.NaT, "emerged_on": pd.NaT, "matured_on": pd.NaT}
    )  # fmt: skip
    people.put(store, "seasons", later)
    looked_at(store, date(2025, 3, 1))
    assert ("north, wheat planted 2024-09-20" in unharvested(store)) is told


@pytest.mark.parametrize(
    ("day", "told"), [(date(2025, 8, 15), False), (date(2025, 8, 16), True)]
)
def test_a_harvest_is_asked_for_once_no_crop_stands_that_long(
    store: Path, day: date, *, told: bool
) -> None:
    looked_at(store, day)  # 329 and 330 days after the wheat was planted
    assert ("north, wheat planted 2024-09-20" in unharvested(store)) is told


def test_a_missing_harvest_is_told_in_words(store: Path) -> None:
    words = " ".join(one.what for one in check(store))
    assert "north, wheat planted 2024-09-20: no harvest date" in words


def test_whoever_is_silent_or_failing_is_named(demo_store: Path) -> None:
    found = check(demo_store)
    gaps, flags = people.table(demo_store, "gaps"), people.table(demo_store, "flags")
    silent = set(gaps.loc[gaps["reason"] == "silent", "site"])
    failing = flags[flags["flag"] == "failing"]
    assert silent
    for site in silent:
        assert any(
            one.level == "missing" and one.what.startswith(f"Site {site}, ")
            and "nothing has come since 20" in one.what for one in found
        )  # fmt: skip
    named = {one.what.split(",")[0] for one in found if "failing since" in one.what}
    assert named
    assert named <= {f"Site {one}" for one in failing["site"]}


def test_a_result_that_cannot_be_read_is_damage_and_no_traceback(
    demo_store: Path, tmp_path: Path
) -> None:
    store = Path(shutil.copytree(demo_store, tmp_path / "store"))
    for part in sorted((store / "derived" / "gaps").glob("*.parquet")):
        part.write_bytes(b"no Parquet")
    assert {one.level for one in check(store)} == {"damaged"}


def test_a_trouble_began_on_the_day_that_the_clock_at_the_site_showed(store: Path) -> None:
    gaps = pd.DataFrame(
        {"site": "N1", "depth_cm": [10.0], "from": pd.Timestamp("2024-01-14T03:00Z"),
         "to": pd.Timestamp("2024-01-20T03:00Z"), "reason": "silent", "hours": 144.0}
    )  # fmt: skip
    results.publish(store, {"N1": {"gaps": gaps}}, date(2024, 1, 20), Settings(), "1")
    words = " ".join(one.what for one in check(store))
    assert "Site N1, sensor at 10 cm: nothing has come since 2024-01-13." in words


@pytest.mark.parametrize("capacity_l_s", [None, 0.0])
def test_a_source_that_can_pump_nothing_is_named(
    store: Path, people_frames: dict[str, pd.DataFrame], capacity_l_s: float | None
) -> None:
    wells = people_frames["sources"].assign(source="w2", capacity_l_s=capacity_l_s)
    wells["capacity_l_s"] = wells["capacity_l_s"].astype(float)
    people.put(store, "sources", wells)
    words = [one.what for one in check(store)]
    assert [one for one in words if "has no capacity" in one] == [
        "Water source w2 has no capacity: it can pump nothing in the watering order."
    ]


Frames = dict[str, pd.DataFrame]
BEFORE_CORN = "Field north: rye planted 2023-09-20, before corn was harvested on 2023-10-10."
TOO_EARLY = (
    "Site N1 has readings from 2018-03-31 on, but its first probe was installed on 2018-04-01."
)


def told(store: Path, level: str, words: str) -> list[str]:
    """What ``check`` says at a level, of that which holds some words."""
    return [one.what for one in check(store) if one.level == level and words in one.what]


@pytest.mark.parametrize(
    ("planted", "found"),
    [
        ("2023-09-20", [BEFORE_CORN]),
        ("2023-10-10", []),
    ],
)
def test_a_crop_planted_into_a_standing_one_is_suspect(
    store: Path, people_frames: Frames, planted: str, found: list[str]
) -> None:
    rye = people_frames["seasons"].tail(1).assign(
        crop="rye", planted_on=pd.Timestamp(planted)
    )  # fmt: skip
    people.put(store, "seasons", rye)
    assert told(store, "suspect", "was harvested") == found


def test_water_and_weather_of_days_to_come_are_suspect(
    store: Path, people_frames: Frames
) -> None:
    assert told(store, "suspect", "after today") == []
    for name in ("water", "weather"):
        people.put(store, name, people_frames[name].assign(date=pd.Timestamp("2999-01-02")))
    assert told(store, "suspect", "after today") == [
        "Water of field north is dated after today, to 2999-01-02.",
        "Weather of station far is dated after today, to 2999-01-02.",
        "Weather of station near is dated after today, to 2999-01-02.",
    ]
    water = people_frames["water"].assign(date=pd.Timestamp("2999-01-02"), mm=0.0)
    people.put(store, "water", water)
    values = {str(one) for one in people_frames["weather"]} - {"station", "date"}
    nothing = dict.fromkeys(values, float("nan"))
    emptied = people_frames["weather"].assign(**nothing, date=pd.Timestamp("2999-01-02"))
    people.put(store, "weather", emptied)
    assert told(store, "suspect", "after today") == []


@pytest.mark.parametrize(
    ("latitude", "longitude", "why"),
    [
        (39.0, 101.0, "its longitude has the wrong sign"),
        (-39.0, -101.0, "its latitude has the wrong sign"),
        (39.05, -101.0, "its latitude or longitude is wrong, perhaps in its sign"),
        (39.015, -101.0, None),  # half a kilometre off the boundary
    ],
)
def test_a_probe_far_outside_its_field_is_suspect(
    store: Path, people_frames: Frames, latitude: float, longitude: float, why: str | None
) -> None:
    site = people_frames["sites"].head(1).assign(latitude=latitude, longitude=longitude)
    people.put(store, "sites", site)
    wanted = [f"Site N1 lies more than 1 km outside field north: {why}."] if why else []
    assert told(store, "suspect", "outside field") == wanted


@pytest.mark.parametrize(
    ("start", "found"), [("2018-04-01T05:00", True), ("2018-04-01T06:00", False)]
)
def test_readings_before_the_probe_stood_are_suspect(
    store: Path, record: Callable[..., Record], start: str, *, found: bool
) -> None:
    readings.merge(store, record(start=start))  # 05:00 UTC is still 31 March in Denver
    assert told(store, "suspect", "has readings from") == [TOO_EARLY] * found


def test_a_crop_without_coefficients_is_missing_until_a_person_gives_some(
    store: Path, people_frames: Frames
) -> None:
    quinoa = people_frames["seasons"].tail(1).assign(
        crop="Quinoa", planted_on=pd.Timestamp("2025-04-20")
    )  # fmt: skip
    people.put(store, "seasons", quinoa)
    (words,) = told(store, "missing", "coefficients")
    assert words.startswith("Crop 'Quinoa' (fields: 1, the first north) has no coefficients")
    crop = Crop(0.3, 1.0, 0.5, (20, 30, 40, 20))
    coefficients.save(store, "quinoa", "", crop, author="Ash", reason="trial")
    assert told(store, "missing", "coefficients") == []


def test_one_depth_written_in_two_ways_is_suspect(
    store: Path, record: Callable[..., Record]
) -> None:
    readings.merge(store, record())
    assert told(store, "suspect", "has sensors at") == []
    metric = record()
    metric.depths_cm[:] = 5.0, 10.16
    readings.merge(store, metric)
    (words,) = told(store, "suspect", "has sensors at")
    assert words.startswith("Site N1 has sensors at 5 and 5.08 cm, 10 and 10.16 cm: likely one")


def test_a_probe_south_of_the_equator_asks_for_the_year_to_be_turned(store: Path) -> None:
    def told() -> list[str]:
        return [one.what for one in check(store) if "south of the equator" in one.what]

    assert told() == []
    sites = people.table(store, "sites")
    people.put(store, "sites", sites.assign(latitude=-sites["latitude"]))
    (said,) = told()
    assert said.startswith("Every probe stands south of the equator")
    turn = ["allocation_month=7", "autumn_from_d=32", "green_up_d=244", "frost_month=1",
            "years_month=4"]  # fmt: skip
    remedy = next(one.remedy for one in check(store) if "south" in one.what)
    assert remedy.split()[-len(turn) :] == turn
    assert main(["set", str(store), *turn]) == 0
    assert told() == []


def test_a_store_that_spans_the_equator_keeps_the_year_it_has(store: Path) -> None:
    sites = people.table(store, "sites")
    people.put(store, "sites", sites.assign(latitude=[-34.0, *sites["latitude"][1:]]))
    assert not [one for one in check(store) if "south of the equator" in one.what]


def test_a_probe_that_took_its_past_along_is_suspect(store: Path) -> None:
    with connection.writing(store) as db:  # as an earlier Overwinter would let it
        db.execute(
            "INSERT INTO sites BY NAME SELECT * REPLACE "
            "('south' AS field, DATE '2024-04-01' AS installed_on) FROM sites WHERE site = 'N1'"
        )
    (one,) = [one for one in check(store) if "more fields than one" in one.what]
    assert one.what.startswith("Site N1 stood in more fields than one (north, south)")


def test_an_account_whose_grower_was_renamed_is_suspect(store: Path) -> None:
    accounts.give(store, "ash@example.org", "grower", ["Ash"])
    assert not [one for one in check(store) if one.what.startswith("Account")]
    people.put(store, "fields", people.fields(store).assign(grower="Ash and Sons"))
    (one,) = [one for one in check(store) if one.what.startswith("Account")]
    assert one.what == (
        "Account ash@example.org may see grower Ash, who farms no field of the store."
    )


def test_a_sensor_that_never_read_is_named(store: Path, record: Callable[..., Record]) -> None:
    assert told(store, "suspect", "never read") == [], "no probe reads yet"
    own = record(site="N1")
    readings.merge(store, own)
    read_cm = own.depths_cm.tolist()
    people.put(store, "layers", pd.DataFrame({"site": "N1", "depth_cm": [*read_cm, 120.0]}))
    (words,) = told(store, "suspect", "never read")
    assert words.startswith("Site N1 has never read at 120 cm")
