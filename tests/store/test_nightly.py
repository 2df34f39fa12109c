"""A night's readings change the latest days only, and as a whole assessment would."""

import shutil
import uuid
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analytics.assess import assess_site
from analytics.contract import TABLES
from analytics.model import Record, SiteInputs
from analytics.nightly import assess_night
from analytics.settings import Settings
from analytics.soil.recent import AHEAD_D, WINDOW_D, Known, days_of, first_read, last_state
from analytics.store import connection, importing, people, readings, results, statements
from analytics.store.assessment import AssessReport, assess
from analytics.store.check import check
from analytics.store.due import usual_day
from analytics.store.inputs import site_inputs

MONDAY = date(2026, 2, 16)
SUMMER = date(2025, 7, 14)
PROBES = ("TF02", "TF11", "TF15", "TF30")
"""Among them one with a clock an hour off for years, one whose lowest sensor fails."""
BY_NIGHT = ("daily", "flags", "gaps", "frost", "uptake", "readiness")


def run(store: Path, day: date, *, everything: bool = False) -> AssessReport:
    with ThreadPoolExecutor(1) as executor:
        return assess(store, day, executor, everything=everything)


@pytest.fixture(scope="module")
def monday(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a few probes of the demonstration, assessed whole on a Monday."""
    store = tmp_path_factory.mktemp("nights") / "store"
    shutil.copytree(demo_store, store)
    for site in readings.sites(store):
        if site not in PROBES:
            shutil.rmtree(store / "readings" / f"site={site}")
    assert run(store, MONDAY, everything=True).assessed == PROBES
    return store


@pytest.fixture
def store(monday: Path, tmp_path: Path) -> Path:
    copied = tmp_path / "store"
    shutil.copytree(monday, copied)
    return copied


def table(store: Path, name: str) -> pd.DataFrame:
    frame = pd.DataFrame(people.table(store, name))
    return frame.sort_values(list(TABLES[name].key), ignore_index=True)


def damage(store: Path) -> list[str]:
    return [one.what for one in check(store) if one.level == "damaged"]


def _alike(found: pd.DataFrame, expected: pd.DataFrame, columns: list[str]) -> None:
    pd.testing.assert_frame_equal(
        found[columns], expected[columns], check_dtype=False, rtol=1e-9, atol=1e-9
    )


def test_nights_tell_what_a_whole_assessment_tells(store: Path, tmp_path: Path) -> None:
    """Every reading's flag, every day and every gap: by nights, and all at once."""
    shutil.copytree(store, tmp_path / "whole")
    for night in (1, 2):
        told = run(store, MONDAY + timedelta(days=night))
        assert told.latest_days == told.assessed == PROBES
    last = MONDAY + timedelta(days=2)
    assert run(tmp_path / "whole", last, everything=True).latest_days == ()
    for name in BY_NIGHT:
        by_nights, at_once = table(store, name), table(tmp_path / "whole", name)
        columns = [str(one) for one in at_once if one not in ON_POINTS]
        _alike(by_nights, at_once, columns)
    assert damage(store) == []


ON_POINTS = {
    "rooted",  # judged by a noise that moves a little with every fallow day
    *(one.name for one in TABLES["readiness"].columns
      if one.name not in {"field", "site", "date", "zone", "depth_cm", "water_mm", "seen",
                          "held", "read_on", "left_mm"}),
}  # fmt: skip


@pytest.mark.parametrize(
    ("site", "day"), [("TF02", MONDAY), ("TF11", MONDAY), ("TF30", MONDAY), ("TF15", SUMMER)]
)
def test_with_the_same_points_all_that_stands_on_them_is_the_same(
    monday: Path, site: str, day: date
) -> None:
    settings, later = Settings(), day + timedelta(days=3)
    before = assess_site(site_inputs(monday, site, day), settings)
    inputs = site_inputs(monday, site, later)
    whole = assess_site(inputs, settings)
    known = _known(site, {**before, "limits": whole["limits"]}, day)
    night = assess_night(inputs, known, day + timedelta(days=1), settings)
    assert night is not None
    fresh = pd.Timestamp(night.fresh)
    for name in ("readiness", "daily", "frost"):
        at_once = whole[name][whole[name]["date"] >= fresh].reset_index(drop=True)
        _alike(night.tables[name], at_once, list(at_once.columns))
    now = {**known.tables, **night.tables}  # a table that no new day changes is not given
    for name in ("flags", "gaps"):
        by = ["depth_cm", "from", "reason" if name == "gaps" else "flag"]
        one, other = (rows.sort_values(by, ignore_index=True)
                      for rows in (now[name], whole[name]))  # fmt: skip
        _alike(one, other, list(other.columns))
    winters = night.tables["tally"]
    assert len(winters) > 0 or day == SUMMER
    at_once = whole["tally"][whole["tally"]["from"].isin(winters["from"])]
    _alike(winters, at_once.reset_index(drop=True), list(winters.columns))
    late = fresh - pd.Timedelta(days=10)
    one, other = (rows[rows["end"] >= late].reset_index(drop=True)
                  for rows in (now["wettings"], whole["wettings"]))  # fmt: skip
    _alike(one, other, list(other.columns))


def test_flags_of_readings_that_were_put_right_are_gone(monday: Path) -> None:
    settings, later = Settings(), MONDAY + timedelta(days=1)
    inputs = site_inputs(monday, "TF02", later)
    record = site_inputs(monday, "TF02", MONDAY).record
    wrong = record.theta.copy()
    wrong[-24:, 2:4] = 0.75
    early = replace(inputs, record=replace(record, theta=wrong), as_of=MONDAY)
    before = assess_site(early, settings)
    assert "range" in set(before["flags"]["flag"])
    whole = assess_site(inputs, settings)
    known = _known("TF02", {**before, "limits": whole["limits"]}, MONDAY)
    night = assess_night(inputs, known, MONDAY - timedelta(days=1), settings)
    assert night is not None
    by = ["depth_cm", "from", "flag"]
    one, other = (rows.sort_values(by, ignore_index=True)
                  for rows in (night.tables["flags"], whole["flags"]))  # fmt: skip
    _alike(one, other, list(other.columns))


def _known(site: str, told: dict[str, pd.DataFrame], day: date) -> Known:
    return Known(daily=days_of(site, told["daily"]), tables=told, rooted_cm=(), as_of=day)


def test_days_read_back_are_the_days_told(monday: Path) -> None:
    own = table(monday, "daily")
    own = own[own["site"] == "TF02"]
    days = days_of("TF02", own.sample(frac=1.0, random_state=1))
    row = (own["date"].to_numpy("datetime64[D]") - days.days[0]).astype(int)
    column = np.searchsorted(days.depths_cm, own["depth_cm"])
    for name in ("state", "temp_c", "high", "held", "frozen"):
        np.testing.assert_array_equal(getattr(days, name)[row, column], own[name])
    np.testing.assert_array_equal(days.placement[row], own["placement"])


@pytest.mark.parametrize("how", ["noise", "strange"])
def test_a_probe_whose_file_is_damaged_holds_back_no_other(store: Path, how: str) -> None:
    part = readings.year_parts(store / "readings" / "site=TF11")[-1]
    if how == "noise":
        part.write_bytes(b"PAR1 noise")
    else:
        frame = pd.read_parquet(part)
        frame.assign(note_9=1).to_parquet(part)
    day, _ = usual_day(store)
    assert day > TUESDAY
    told = run(store, TUESDAY)
    assert set(told.latest_days) == set(PROBES) - {"TF11"}
    assert set(told.failed) == {"TF11"}
    assert f"{part}: these readings cannot be read" in told.failed["TF11"]
    (found,) = damage(store)
    assert f"{part.name} cannot be read" in found
    assert ("'note_9' is no sensor's" in found) == (how == "strange")


def test_frost_holds_no_value_of_another_hole(monday: Path) -> None:
    own = table(monday, "daily")
    days = days_of("TF02", own[own["site"] == "TF02"])
    moved = replace(days, placement=np.where(days.days < days.days[-40], 1, 2))
    last = np.array([column[np.isfinite(column)][-1] for column in days.state[:-30].T])
    held = last_state(moved, days.days[-30], 2)
    np.testing.assert_array_equal(held[np.isfinite(held)], last[np.isfinite(held)])
    assert np.isfinite(held).any()
    assert np.isnan(last_state(moved, days.days[-40], 2)).all()


@pytest.fixture
def night(monday: Path) -> tuple[SiteInputs, Known]:
    """Give one probe's inputs of a Tuesday, and what was known on Monday."""
    before = assess_site(site_inputs(monday, "TF02", MONDAY), Settings())
    inputs = site_inputs(monday, "TF02", MONDAY + timedelta(days=1))
    return inputs, _known("TF02", before, MONDAY)


def _changed(inputs: SiteInputs, change: Callable[[Record], np.ndarray]) -> SiteInputs:
    record = inputs.record
    return replace(inputs, record=replace(record, theta=change(record)))


TUESDAY = MONDAY + timedelta(days=1)


def test_a_value_that_was_other_when_it_was_known_asks_for_a_whole_assessment(
    night: tuple[SiteInputs, Known],
) -> None:
    inputs, known = night

    def other(record: Record) -> np.ndarray:
        theta = record.theta.copy()
        theta[-24 * 20 : -24 * 18, 3] += 0.05
        return theta

    assert assess_night(inputs, known, TUESDAY, Settings()) is not None
    assert assess_night(_changed(inputs, other), known, TUESDAY, Settings()) is None


def test_a_probe_that_moved_asks_for_a_whole_assessment(
    night: tuple[SiteInputs, Known],
) -> None:
    inputs, known = night

    def moved(record: Record) -> np.ndarray:
        theta = record.theta.copy()
        theta[-15:] -= 0.06
        return theta

    assert assess_night(_changed(inputs, moved), known, TUESDAY, Settings()) is None
    begin = first_read(TUESDAY)
    late = replace(inputs.placements[-1], installed_on=begin + timedelta(days=1))
    again = replace(inputs, placements=(*inputs.placements[:-1], late))
    assert assess_night(again, known, TUESDAY, Settings()) is None


def test_wettings_are_given_only_where_they_are_not_what_was_told(
    night: tuple[SiteInputs, Known],
) -> None:
    inputs, _ = night
    known = _known("TF02", assess_site(inputs, Settings()), TUESDAY)
    told = known.tables["wettings"]
    assert told["end"].iloc[-1] > pd.Timestamp(TUESDAY) - pd.Timedelta(days=10)
    assert not {"wettings", "wetting_layers"} & set(_night_of(inputs, known))
    for name, value in (("stored_mm", 1.0), ("cause", "rain"), ("bypass", True)):
        other = told.copy()
        other.loc[told.index[-1], name] = value
        assert not other.equals(told)
        tables = _night_of(inputs, replace(known, tables={**known.tables, "wettings": other}))
        _alike(tables["wettings"], told, list(told.columns))


def _night_of(inputs: SiteInputs, known: Known) -> dict[str, pd.DataFrame]:
    found = assess_night(inputs, known, TUESDAY, Settings())
    assert found is not None
    return found.tables


def test_a_crop_sown_or_harvested_asks_for_a_whole_assessment(
    night: tuple[SiteInputs, Known],
) -> None:
    inputs, known = night
    last = replace(inputs.seasons[0], planted_on=TUESDAY, harvested_on=None)
    sown = replace(inputs, seasons=(*inputs.seasons, last))
    assert assess_night(sown, known, TUESDAY, Settings()) is None


def test_a_probe_that_fell_silent_is_silent_for_longer(
    night: tuple[SiteInputs, Known],
) -> None:
    inputs, known = night
    weeks = replace(inputs, as_of=MONDAY + timedelta(days=6))
    told = assess_night(weeks, known, TUESDAY, Settings())
    assert told is not None
    gaps = told.tables["gaps"]
    silent = gaps[gaps["reason"] == "silent"]
    assert len(silent) == len(inputs.record.depths_cm)
    assert silent["hours"].min() > 4 * 24
    assert set(told.tables["readiness"]["date"].dt.date) >= {weeks.as_of}


def test_nothing_new_since_weeks_leaves_all_but_the_day_of_now(
    night: tuple[SiteInputs, Known],
) -> None:
    inputs, known = night
    rows = slice(0, len(inputs.record.times) - 24 * (WINDOW_D + AHEAD_D + 5))
    record = inputs.record
    gone = replace(record, times=record.times[rows], theta=record.theta[rows],
                   temp_c=record.temp_c[rows])  # fmt: skip
    before = assess_site(replace(inputs, record=gone, as_of=MONDAY), Settings())
    whole = assess_site(replace(inputs, record=gone), Settings())
    known = _known("TF02", before, MONDAY)
    told = assess_night(replace(inputs, record=gone), known, TUESDAY, Settings())
    assert told is not None
    assert told.tables["daily"].empty
    by = ["depth_cm", "from"]
    one, other = (rows.sort_values(by, ignore_index=True)
                  for rows in (told.tables["gaps"], whole["gaps"]))  # fmt: skip
    _alike(one, other, list(other.columns))


def test_a_probe_heard_again_after_weeks_is_assessed_whole(
    night: tuple[SiteInputs, Known],
) -> None:
    inputs, _ = night
    times = inputs.record.times
    early = times < times[-1] - np.timedelta64(55, "D")
    heard = times >= times[-1] - np.timedelta64(4, "D")
    silent = replace(inputs, record=_some(inputs.record, early), as_of=MONDAY)
    known = _known("TF02", assess_site(silent, Settings()), MONDAY)
    again = replace(inputs, record=_some(inputs.record, early | heard))
    assert assess_night(again, known, MONDAY - timedelta(days=3), Settings()) is None


def _some(record: Record, rows: np.ndarray) -> Record:
    return replace(record, times=record.times[rows], theta=record.theta[rows],
                   temp_c=record.temp_c[rows])  # fmt: skip


def _delivery(store: Path, site: str, hours: int) -> Record:
    """Give the hours after a record's end, like those before."""
    known = readings.read(store, site)
    times = known.times[-1] + np.arange(1, hours + 1) * np.timedelta64(1, "h")
    return replace(known, times=times, theta=known.theta[-hours:], temp_c=known.temp_c[-hours:])


def _import(store: Path, *records: Record) -> None:
    delivery = importing.Delivery(path="night.csv", kind="readings", readings=records,
                                  sha256=uuid.uuid4().hex, rows_in=1)  # fmt: skip
    importing.take(store, delivery)


def touches(store: Path) -> dict[str, pd.Timestamp]:
    found = statements.query(store, "touched_sites")
    return dict(zip(found["site"], found["since"], strict=True))


def test_an_import_touches_its_sites_from_its_first_new_reading_on(store: Path) -> None:
    news = _delivery(store, "TF02", 24)
    _import(store, news)
    assert touches(store) == {"TF02": pd.Timestamp(news.times[0], tz="UTC")}
    last = readings.newest(store, "TF02")
    assert last is not None
    told = run(store, last.date() - timedelta(days=1))
    assert "TF02" in told.assessed
    assert touches(store) == {}


def test_what_reaches_far_back_counts_from_the_first_reading_that_is_other(
    store: Path,
) -> None:
    whole = readings.read(store, "TF02")
    rows = slice(len(whole.times) - 24 * 40, None)
    again = replace(whole, times=whole.times[rows], theta=whole.theta[rows].copy(),
                    temp_c=whole.temp_c[rows])  # fmt: skip
    again.theta[24 * 10, 0] += 0.01
    _import(store, again)
    assert touches(store) == {"TF02": pd.Timestamp(again.times[24 * 10], tz="UTC")}


def test_a_deep_delivery_that_is_cut_short_leaves_its_site_to_be_assessed_whole(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = readings.read(store, "TF02")
    early = replace(whole, times=whole.times[:24] - np.timedelta64(30, "m"),
                    theta=whole.theta[:24], temp_c=whole.temp_c[:24])  # fmt: skip

    def killed(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as broken:
        broken.setattr(importing, "put_down", killed)
        with pytest.raises(KeyboardInterrupt):
            _import(store, early)
    assert set(touches(store)) == {"TF02"}
    assert pd.isna(touches(store)["TF02"])


def test_a_day_of_weather_or_water_touches_from_the_day_before_it(store: Path) -> None:
    weather = pd.DataFrame(people.table(store, "weather"))
    row = weather[weather["date"] == weather["date"].max()].tail(1)
    row = row.assign(date=row["date"] + pd.Timedelta(days=1), rain_mm=3.0)
    people.put(store, "weather", row)
    since = pd.Timestamp(row["date"].iloc[0], tz="UTC") - pd.Timedelta(days=1)
    assert set(touches(store).values()) == {since}
    assert run(store, MONDAY).latest_days == PROBES
    field = pd.DataFrame(people.table(store, "sites")).set_index("site")["field"]["TF15"]
    day = pd.Timestamp(MONDAY) - pd.Timedelta(days=2)
    water = pd.DataFrame({"field": [field], "date": day, "kind": "irrigation", "mm": 20.0})
    before = _received(store, "TF15")
    people.put(store, "water", water)
    found = touches(store)
    assert found["TF15"] == pd.Timestamp(day, tz="UTC") - pd.Timedelta(days=1)
    assert run(store, MONDAY).latest_days == ("TF15",)
    assert _received(store, "TF15") == pytest.approx(before + 20.0)
    seasons = people.table(store, "seasons").query("field == @field")
    people.put(store, "seasons", seasons.assign(emerged_on=pd.Timestamp(MONDAY)))
    assert pd.isna(touches(store)["TF15"]), "a crop's dates may change all that was told"


def _received(store: Path, site: str) -> float:
    """Water that came in the off-season that goes on, mm."""
    rows = pd.DataFrame(people.table(store, "tally")).query("site == @site and open")
    return float(rows.loc[rows["depth_cm"].isna(), "received_mm"].iloc[0])


def test_the_same_day_only_touched_sites_and_only_their_latest_days(store: Path) -> None:
    before = {name: table(store, name) for name in ("daily", "readiness", "wettings")}
    with connection.writing(store) as db:
        since = datetime(2026, 2, 15, 18, tzinfo=UTC)
        micros = [int(since.timestamp()) * 1_000_000]
        statements.execute(db, "touch_readings", sites=["TF15"], micros=micros)
    told = run(store, MONDAY)
    assert (told.assessed, told.latest_days) == (("TF15",), ("TF15",))
    assert set(told.unchanged) == set(PROBES) - {"TF15"}
    for name, rows in before.items():
        pd.testing.assert_frame_equal(table(store, name), rows)


def test_what_people_change_is_assessed_whole_beside_the_others(store: Path) -> None:
    with connection.writing(store) as db:
        statements.execute(db, "touch_sites", sites=["TF15"])
    told = run(store, TUESDAY)
    assert told.assessed == PROBES
    assert set(told.latest_days) == set(PROBES) - {"TF15"}
    held = results.held(store)
    assert f"-{results.upcoming(store) - 1}." in held["daily"]["TF15"]
    assert damage(store) == []


def test_a_new_week_and_an_earlier_day_are_assessed_whole(store: Path) -> None:
    assert run(store, MONDAY - timedelta(days=1)).latest_days == ()
    assert run(store, MONDAY).latest_days == (), "Sunday was another week's"


def test_a_site_that_fails_by_night_keeps_its_rows_and_is_due_again(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def odd(inputs: SiteInputs, *rest: object) -> None:
        if inputs.record.site == "TF15":
            message = "odd record"
            raise ZeroDivisionError(message)
        return assess_night(inputs, *rest)  # type: ignore[arg-type]

    before = table(store, "daily")
    with monkeypatch.context() as broken:
        broken.setattr("analytics.store.nightly.assess_night", odd)
        told = run(store, TUESDAY)
    assert "odd record" in told.failed["TF15"]
    now = table(store, "daily")
    pd.testing.assert_frame_equal(
        now[now["site"] == "TF15"].reset_index(drop=True),
        before[before["site"] == "TF15"].reset_index(drop=True),
    )
    again = run(store, TUESDAY)
    assert again.assessed == ("TF15",)
    assert damage(store) == []
