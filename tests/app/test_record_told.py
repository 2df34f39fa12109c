"""What the Record page tells of all probes: each in its own wall time, with all its winters."""

from datetime import date

import pandas as pd
import pytest

from analytics.settings import Settings
from dashboard.data import Store, probe_record

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
    zones = pd.DataFrame({"site": ["a", "b"], "timezone": ["America/Chicago", "Asia/Kolkata"]})
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
    monkeypatch.setattr(probe_record, "installation_window", lambda *given: given)
    windows = probe_record.windows(store)
    day, crops, frozen, usual = windows["a"]  # type: ignore[misc]
    assert day == DAY
    assert [(one.crop, one.harvested_on) for one in crops] == [
        ("corn", date(2024, 10, 1)), ("cotton", None),
    ]  # fmt: skip
    assert frozen == [
        (date(2023, 12, 10), date(2024, 2, 8)), (date(2024, 12, 12), date(2025, 2, 10)),
    ]  # fmt: skip
    assert usual == {"corn": (10, 2)}  # day 275 of a leap year, told in a common one
    assert windows["b"] == (DAY, [], [], usual)
