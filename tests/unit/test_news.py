"""What needs a person: each word fires on its case, and stays quiet beside it."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from analytics.contract import TABLES
from analytics.water.news import news
from analytics.water.season import Opening
from analytics.water.today import Supply, standing
from tests.unit.grown import PLANTED, SETTINGS, grown, place, season

NO_SOURCE = Supply(capacity_mm_d=float("nan"), efficiency=0.85)
NO_WETTINGS = pd.DataFrame({"start": pd.Series([], dtype="datetime64[us]")})


def told(where, day: date, supply: Supply = NO_SOURCE, wettings=NO_WETTINGS) -> pd.DataFrame:
    crop = standing(where, season(), day, SETTINGS)
    return news(where, [crop] if crop else [], wettings, supply, day, SETTINGS)


def word(rows: pd.DataFrame, kind: str) -> dict:
    (row,) = rows[rows["kind"] == kind].to_dict("records")
    return row


def kinds(rows: pd.DataFrame) -> set[str]:
    assert list(rows.columns) == list(TABLES["news"].names)
    return set(rows["kind"])


def test_nothing_happens_and_nothing_is_said() -> None:
    assert kinds(told(place(grown(days=14)), PLANTED + timedelta(days=14))) == set()


def test_a_probe_that_fell_silent() -> None:
    where = place(grown(days=30))
    last = PLANTED + timedelta(days=30)
    quiet = int(SETTINGS.quiet_days)
    assert "silent" not in kinds(told(where, last + timedelta(days=quiet)))
    row = word(told(where, last + timedelta(days=quiet + 1)), "silent")
    assert row["since"] == pd.Timestamp(last + timedelta(days=quiet + 1))
    assert row["figure"] == quiet + 1
    later = last + timedelta(days=quiet + 2 + int(SETTINGS.word_days))
    assert "silent" not in kinds(told(where, later))  # it stands on the visits list by then


def test_rain_that_no_layer_answered() -> None:
    water = np.zeros(30)
    water[20] = 30.0
    made = grown(days=30, water=water)
    dry = replace(place(grown(days=30)), received=place(made).received)
    on = PLANTED + timedelta(days=20)
    day = on + timedelta(days=int(SETTINGS.answer_days))
    row = word(told(dry, day), "no_answer")
    assert row["on"] == pd.Timestamp(on)
    assert row["figure"] == 30.0
    assert row["since"] == pd.Timestamp(day)
    answered = pd.DataFrame({"start": [pd.Timestamp(on + timedelta(days=1))]})
    assert "no_answer" not in kinds(told(dry, day, wettings=answered))
    assert "no_answer" not in kinds(told(dry, day - timedelta(days=1)))  # it may still come
    frozen = np.ones(dry.daily.state.shape, bool)
    shut = replace(dry, daily=replace(dry.daily, frozen=frozen))
    assert "no_answer" not in kinds(told(shut, day))


def test_balance_and_probe_part() -> None:
    one = grown(days=60)
    state = one.state.copy()
    state[-4:, 0] -= 0.2  # 40 mm that no record tells of
    where = place(replace(one, state=state))
    row = word(told(where, PLANTED + timedelta(days=60)), "parted")
    assert row["figure"] == pytest.approx(40.0, abs=8.0)
    assert row["depth_cm"] == 10.0
    assert row["since"] == pd.Timestamp(PLANTED + timedelta(days=57))


def test_refill_is_near_until_it_is_passed() -> None:
    where = place(grown(days=80))
    days = [PLANTED + timedelta(days=n) for n in range(15, 80)]
    near = [day for day in days if "refill" in kinds(told(where, day))]
    assert near
    ready = [day for day in days
             if (crop := standing(where, season(), day, SETTINGS)) is not None
             and crop.told["probe_mm"].iloc[-1] >= crop.told["ready_mm"].iloc[-1]]  # fmt: skip
    assert near[0] < ready[0]
    assert (ready[0] - near[0]).days <= SETTINGS.soon_days
    first = word(told(where, near[0]), "refill")
    assert first["since"] == pd.Timestamp(near[0])
    assert first["on"] <= pd.Timestamp(near[0] + timedelta(days=int(SETTINGS.soon_days)))
    assert ready[-1] not in near  # old news by then


def test_the_weeks_to_run_open_and_close() -> None:
    where = place(grown(days=80))
    supply = Supply(
        capacity_mm_d=4.0, efficiency=0.85
    )  # below 5 mm at full cover, above it late
    every = [told(where, PLANTED + timedelta(days=n), supply) for n in range(12, 80)]
    for kind in ("run", "open"):
        rows = pd.concat([one[one["kind"] == kind] for one in every])
        assert len(set(rows["on"])) == 1
        assert len(rows) == SETTINGS.soon_days + 1


def test_no_decision_opens_where_the_water_ends() -> None:
    where = place(grown(days=80))
    ends = PLANTED + timedelta(days=40)
    supply = Supply(capacity_mm_d=4.0, efficiency=0.85, opening=Opening(last=ends))
    every = pd.concat([told(where, PLANTED + timedelta(days=n), supply) for n in range(12, 80)])
    assert "run" in set(every["kind"])
    assert "open" not in set(every["kind"])
    assert "last_pass" not in set(every.loc[every["since"] > pd.Timestamp(ends), "kind"])


def test_the_weeks_to_run_begin_with_the_water() -> None:
    where = place(grown(days=80))
    begins = PLANTED + timedelta(days=45)
    supply = Supply(capacity_mm_d=4.0, efficiency=0.85, opening=Opening(first=begins))
    row = word(told(where, begins - timedelta(days=1), supply), "run")
    assert row["on"] == pd.Timestamp(begins)


def test_the_last_irrigation_is_due() -> None:
    where = place(grown(days=80))
    supply = Supply(capacity_mm_d=30.0, efficiency=0.85)
    rows = [told(where, PLANTED + timedelta(days=n), supply) for n in range(40, 80)]
    due = [one for one in rows if "last_pass" in kinds(one)]
    assert due
    row = word(due[0], "last_pass")
    assert row["on"] <= row["since"] + pd.Timedelta(days=SETTINGS.soon_days)
    assert not any("last_pass" in kinds(told(where, PLANTED + timedelta(days=n)))
                   for n in (60, 70))  # fmt: skip  # dryland
