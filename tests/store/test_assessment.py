"""What is assessed, when, from what, and what happens when a site fails."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from analytics.errors import NotKnown
from analytics.model import Record, SiteInputs
from analytics.settings import Settings
from analytics.store import assessment, due, people, preferences, readings
from analytics.store.assessment import AssessReport, assess
from analytics.store.check import check
from analytics.store.due import usual_day
from analytics.store.inputs import site_inputs

DAY = date(2024, 1, 3)


def work(inputs: SiteInputs, settings: Settings) -> dict[str, pd.DataFrame]:
    """Say which site was seen and how much of it."""
    frost = {"site": inputs.record.site, "date": inputs.as_of, "top_cm": 0.0}
    rows = float(len(inputs.record.times)) + settings.zone_split_cm / 1000
    return {"frost": pd.DataFrame([{**frost, "bottom_cm": rows}])}


def fails_on_n1(inputs: SiteInputs, settings: Settings) -> dict[str, pd.DataFrame]:
    if inputs.record.site == "N1":
        message = "odd record"
        raise ZeroDivisionError(message)
    return work(inputs, settings)


def run(
    store: Path, day: date | None = DAY, *, everything: bool = False, by: Callable = work
) -> AssessReport:
    with ThreadPoolExecutor(1) as executor:
        return assess(store, day, executor, everything=everything, work=by)


@pytest.fixture
def filled(store: Path, record: Callable[..., Record]) -> Path:
    for site in ("N1", "../S 1"):
        readings.merge(store, record(site=site))
    return store


def test_all_at_first_then_only_what_changed(filled: Path) -> None:
    assert run(filled).assessed == ("../S 1", "N1")
    again = run(filled)
    assert (again.assessed, again.unchanged, again.generation) == ((), ("../S 1", "N1"), None)
    seasons = people.table(filled, "seasons")
    seasons["crop"] = "sorghum"
    people.put(filled, "seasons", seasons)
    assert run(filled).assessed == ("N1",)
    assert run(filled).assessed == ()


def test_all_again_when_what_makes_results_changed(filled: Path) -> None:
    run(filled)
    assert len(run(filled, date(2024, 1, 2)).assessed) == 2
    preferences.save(filled, "zone_split_cm", 100.0)
    assert len(run(filled, date(2024, 1, 2)).assessed) == 2
    assert len(run(filled, date(2024, 1, 2), everything=True).assessed) == 2


def test_results_of_another_form_are_worked_out_again(
    filled: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run(filled)
    monkeypatch.setattr(due, "made_by", lambda: "0.0.1+another")
    assert len(run(filled).assessed) == 2


def test_an_order_that_fails_holds_back_no_site(
    filled: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> dict[str, pd.DataFrame]:
        message = "odd source"
        raise ZeroDivisionError(message)

    monkeypatch.setattr(assessment, "order_tables", fails)
    report = run(filled)
    assert report.assessed == ("../S 1", "N1")
    assert "odd source" in report.failed["watering order"]
    assert len(people.table(filled, "frost")) == 2


def test_a_site_that_fails_sinks_no_other(filled: Path) -> None:
    run(filled, date(2024, 1, 2))
    report = run(filled, by=fails_on_n1)
    assert report.assessed == ("../S 1",)
    assert "odd record" in report.failed["N1"]
    frost = people.table(filled, "frost").set_index("site")["date"].astype(str)
    assert frost.to_dict() == {"N1": "2024-01-02", "../S 1": "2024-01-03"}
    assert any("N1" in one.what and "older than" in one.what for one in check(filled))
    assert run(filled).assessed == ("N1",), "it is due at the next assessment"


def test_a_site_without_readings_is_named(store: Path, record: Callable[..., Record]) -> None:
    readings.merge(store, record())
    report = run(store)
    assert report.without_readings == ("../S 1",)
    assert run(store, date(2000, 1, 1)).without_readings == ("../S 1", "N1")


def test_the_usual_day_is_today_or_the_end_of_an_archive(filled: Path) -> None:
    day, note = usual_day(filled)
    assert day == date(2024, 1, 5)
    assert "not of today" in note
    today = datetime.now(UTC).replace(tzinfo=None)
    new = Record(
        site="N1", times=np.array([today], "datetime64[us]"), depths_cm=np.array([10.0]),
        theta=np.array([[0.2]]), temp_c=np.array([[1.0]]),
    )  # fmt: skip
    readings.merge(filled, new)
    assert usual_day(filled) == (datetime.now(ZoneInfo("America/Denver")).date(), "")


@pytest.mark.parametrize(
    ("zones", "hour", "day"),
    [
        (["America/Denver"], 3, 4),  # the evening of the fourth in Denver, seven hours behind
        (["America/Denver"], 8, 5),
        (["America/Denver", "Australia/Sydney"], 12, 5),
        (["America/Denver", "Australia/Sydney"], 14, 6),  # 01:00 of the sixth in Sydney
    ],
)
def test_today_is_a_day_of_the_probes_clock(
    filled: Path, zones: list[str], hour: int, day: int
) -> None:
    sites = people.table(filled, "sites")
    some = [sites.iloc[[at]].assign(timezone=zone) for at, zone in enumerate(zones)]
    people.put(filled, "sites", pd.concat(some))
    others = sites.iloc[len(zones) :].assign(timezone=zones[0])
    if len(others):
        people.put(filled, "sites", others)
    assert usual_day(filled, datetime(2024, 1, 5, hour, tzinfo=UTC)) == (date(2024, 1, day), "")


def test_inputs_are_those_of_the_site_up_to_the_day(filled: Path) -> None:
    inputs = site_inputs(filled, "N1", DAY)
    # Denver is seven hours behind in winter: its third of January ends at 07:00 UTC.
    assert inputs.record.times[-1] == np.datetime64("2024-01-04T06:00")
    assert (inputs.field, inputs.soil) == ("north", "silt loam")
    assert [one.number for one in inputs.placements] == [1]
    assert inputs.placements[0].installed_on == date(2018, 4, 1)
    assert [(one.depth_cm, one.top_cm, one.full) for one in inputs.layers] == [
        (5.08, 0.0, None),
        (10.0, 7.0, 0.3),
    ]
    assert [one.harvested_on for one in inputs.seasons] == [date(2023, 10, 10), None]
    assert inputs.water.empty, "the water came later than the day"
    later = site_inputs(filled, "N1", date(2024, 12, 1))
    assert later.water["mm"].tolist() == [3.5, 0.0]
    assert later.weather["tmin_c"].tolist() == [1.0], "of the nearest station"
    assert later.weather["date"].dtype == "datetime64[us]"


def test_placements_are_numbered_by_installation(filled: Path) -> None:
    sites = people.table(filled, "sites").query("site == 'N1'")
    sites = sites.assign(installed_on=pd.Timestamp("2021-03-01"))
    people.put(filled, "sites", sites)
    placements = site_inputs(filled, "N1", DAY).placements
    assert [(one.number, one.installed_on) for one in placements] == [
        (1, date(2018, 4, 1)),
        (2, date(2021, 3, 1)),
    ]
    assert any("two holes" in one.what for one in check(filled))


def test_an_unknown_site_is_said(filled: Path) -> None:
    with pytest.raises(NotKnown, match="no site 'X'"):
        site_inputs(filled, "X", DAY)


def test_check_finds_what_is_wrong(filled: Path) -> None:
    run(filled)
    assert [one for one in check(filled) if one.level == "damaged"] == []
    part = next((filled / "readings").rglob("2023.parquet"))
    part.rename(part.with_name("2019.parquet"))
    (filled / "readings" / "site=N1" / ".2024.parquet.tmp").write_bytes(b"half")
    next((filled / "derived" / "frost").glob("bucket*")).write_bytes(b"PAR1 noise")
    told = {one.level: one.what for one in check(filled)}
    words = " ".join(one.what for one in check(filled))
    assert {"damaged", "suspect", "missing"} == set(told)
    for expected in (
        "2019.parquet holds other years",
        ".2024.parquet.tmp",
        "cannot be read",
        "Site ../S 1 has no layers",
        "Field south has a probe but no crop",
    ):
        assert expected in words
