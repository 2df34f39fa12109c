"""What the Record page tells of all probes: each in its own wall time, with all its winters."""

from datetime import date

import pandas as pd
import pytest

from analytics.settings import Settings
from dashboard.data import Store, probe_record
from dashboard.words import record as words

DAY = date(2026, 2, 24)


@pytest.fixture
def store(tmp_path) -> Store:
    return Store(path=tmp_path, generation="told", name="", units="mm", settings=Settings(),
                 as_of=DAY, made_at=None)  # fmt: skip


def test_each_trouble_begins_in_its_probe_s_own_wall_time(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    noon = pd.Timestamp("2026-01-10 12:00", tz="UTC")
    since = pd.Series([noon] * 4, dtype="datetime64[us, UTC]")
    found = pd.DataFrame({"site": ["a", "b", "gone", "a"], "kind": "gaps", "since": since})
    zones = pd.DataFrame({"site": ["a", "b"], "timezone": ["America/Chicago", "Asia/Kolkata"],
                          "sensors": 2})  # fmt: skip
    monkeypatch.setattr(probe_record, "troubles_on", lambda *_: found)
    monkeypatch.setattr(probe_record, "probes", lambda _: zones)
    told = probe_record.troubles(store)["since"]
    assert told.dtype == "datetime64[us]"
    assert [f"{one:%H:%M}" for one in told] == ["06:00", "17:30", "12:00", "06:00"]


def test_a_window_knows_all_crops_and_winters(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    days = pd.to_datetime(["2023-12-10", "2024-12-12"])
    told = {
        "show_record_sites": pd.DataFrame({"site": ["a", "b"], "field": ["f", "g"]}),
        "show_record_frost": pd.DataFrame({
            "site": "a", "first_day": days, "last_day": days + pd.Timedelta(days=60),
        }),
        "show_record_seasons": pd.DataFrame({
            "field": "f", "crop": ["corn", "cotton"],
            "planted_on": pd.to_datetime(["2024-05-01", "2025-05-10"]),
            "harvested_on": pd.to_datetime(["2024-10-01", ""]),
        }),
    }  # fmt: skip
    monkeypatch.setattr(probe_record, "_frame", lambda _, __, name, **___: told[name])
    monkeypatch.setattr(
        probe_record, "installation_window", lambda *given, month: (*given, month)
    )
    windows = probe_record.windows(store)
    day, crops, frozen, usual, month = windows["a"]  # type: ignore[misc]
    assert (day, month) == (DAY, store.settings.frost_month)
    assert [(one.crop, one.harvested_on) for one in crops] == [
        ("corn", date(2024, 10, 1)), ("cotton", None),
    ]  # fmt: skip
    assert frozen == [
        (date(2023, 12, 10), date(2024, 2, 8)), (date(2024, 12, 12), date(2025, 2, 10)),
    ]  # fmt: skip
    assert usual == {"corn": (10, 2)}  # day 275 of a leap year, told in a common one
    assert windows["b"] == (DAY, [], [], usual, month)


def test_a_sensor_is_not_a_probe_that_fell_silent(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    since = pd.Timestamp("2026-01-10 12:00", tz="UTC")
    found = pd.DataFrame({
        "site": ["whole", "whole", "part", "part"], "depth_cm": [10.0, 20.0, 10.0, 20.0],
        "kind": ["silent", "silent", "silent", "failing"], "since": since,
    })  # fmt: skip
    probes = pd.DataFrame({"site": ["whole", "part"], "timezone": "UTC", "sensors": 2})
    monkeypatch.setattr(probe_record, "troubles_on", lambda *_: found)
    monkeypatch.setattr(probe_record, "probes", lambda _: probes)
    assert list(probe_record.troubles(store)["kind"]) == ["silent", "silent", "mute", "failing"]


@pytest.mark.parametrize(("silent", "failing", "mute", "told"), [
    (0, 0, 0, "All 4 probes report and no sensor is failing"),
    (1, 0, 0, "1 of 4 probes is silent and no sensor is failing"),
    (0, 0, 1, "No probe is silent and 1 sensor is silent"),
    (1, 0, 2, "1 of 4 probes is silent and 2 sensors are silent"),
    (0, 2, 1, "No probe is silent and 3 sensors are silent or failing"),
])  # fmt: skip
def test_silent_sensors_are_counted_beside_silent_probes(
    silent: int, failing: int, mute: int, told: str
) -> None:
    answer = words.record_answer(
        silent=silent, failing=failing, mute=mute, due=0, of=4, before=None
    )
    assert answer == f"{told}; none is due for replacement."


@pytest.mark.parametrize(("harvests", "usual"), [
    (["2023-12-28", "2025-01-05"], (1, 1)),
    (["2025-01-05", "2023-12-28"], (1, 1)),
    (["2023-10-01", "2024-10-09", "2025-10-05"], (10, 5)),
])  # fmt: skip
def test_the_middle_of_harvests_round_new_year_is_not_in_july(
    harvests: list[str], usual: tuple[int, int]
) -> None:
    crops = pd.DataFrame({"crop": "corn", "harvested_on": pd.to_datetime(harvests)})
    assert probe_record._usual_harvests(crops) == {"corn": usual}
