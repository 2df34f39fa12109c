"""What ``check`` calls missing: a crop left standing, not one that a plan will follow."""

import shutil
from datetime import UTC, date, datetime
from pathlib import Path

import pandas as pd
import pytest

from analytics.settings import Settings
from analytics.store import connection, people, results, statements
from analytics.store.check import check


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
