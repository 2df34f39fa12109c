"""Every crop of a probe: from when to when, what it used, and how past forecasts did."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from analytics.contract import TABLES
from analytics.model import Season
from analytics.water.balance import root_zone
from analytics.water.depletion import Grown, account, effective_mm, roots_of
from analytics.water.followed import crop_spans, fitted, follow, grown_of, spans_of
from analytics.water.growth import coefficient
from analytics.water.season_grade import entering_ahead, season_grade
from analytics.water.today import Supply, look_ahead, standing
from tests.unit.grown import CROP, DEEP, PLANTED, SETTINGS, grown, place, season

NOW = date(2021, 7, 10)
OPEN = Supply(capacity_mm_d=4.0, efficiency=0.85)


def one(crop: str, planted: date, harvested: date | None = None) -> Season:
    return Season(field="f", crop=crop, planted_on=planted, harvested_on=harvested)


def spans(*seasons: Season, as_of: date = date(2021, 12, 1), days: int = 120):
    return crop_spans(seasons, as_of, lambda _: days)


def test_a_harvested_crop_ends_with_its_harvest() -> None:
    (found,) = spans(one("corn", date(2021, 5, 1), date(2021, 9, 10)))
    assert (found.until, found.ended, found.open) == (date(2021, 9, 10), "harvest", False)


def test_a_crop_lost_to_hail_ends_early() -> None:
    (found,) = spans(one("corn", date(2021, 5, 1), date(2021, 6, 20)))
    assert (found.until, found.ended) == (date(2021, 6, 20), "early")


def test_the_same_crop_planted_again_was_replanted() -> None:
    first, second = spans(one("corn", date(2021, 5, 1)),
                          one("corn", date(2021, 6, 1), date(2021, 10, 1)))  # fmt: skip
    assert (first.until, first.ended) == (date(2021, 6, 1), "replanted")
    assert second.ended == "harvest"


def test_two_crops_at_once_share_the_field_and_both_are_followed() -> None:
    first, second = spans(one("corn", date(2021, 5, 1), date(2021, 9, 20)),
                          one("cotton", date(2021, 5, 15), date(2021, 10, 20)))  # fmt: skip
    assert (first.until, second.until) == (date(2021, 9, 20), date(2021, 10, 20))


def test_a_double_crop_is_two_crops_one_after_the_other() -> None:
    wheat, sorghum = spans(one("winter wheat", date(2020, 10, 5), date(2021, 6, 20)),
                           one("sorghum", date(2021, 6, 25), date(2021, 10, 25)),
                           days=100)  # fmt: skip
    assert wheat.ended == sorghum.ended == "harvest"
    assert wheat.until < sorghum.season.planted_on


def test_no_harvest_is_invented() -> None:
    first, second = spans(one("corn", date(2020, 5, 1)), one("cotton", date(2021, 5, 1)),
                          as_of=date(2021, 7, 1))  # fmt: skip
    assert first.ended == "not recorded"
    assert first.until == date(2020, 5, 1) + timedelta(days=120)  # maturity, by its stages
    assert second.open


def test_wheat_that_stands_in_winter_is_open() -> None:
    (found,) = spans(one("winter wheat", date(2021, 10, 5)))
    assert found.open
    assert found.until == date(2021, 12, 1)


def test_a_crop_still_to_be_planted_is_none() -> None:
    assert spans(one("corn", date(2022, 5, 1))) == ()


def test_what_a_crop_used_is_what_came_and_what_the_soil_gave() -> None:
    water = np.zeros(80)
    water[[20, 40]] = 25.0
    made = grown(water=water, crop=DEEP)
    where = place(made)
    ended = season(harvested_on=PLANTED + timedelta(days=80))
    tables = follow(where, spans_of(where, (ended,), date(2021, 12, 1), SETTINGS), SETTINGS)
    for name, table in tables.items():
        assert list(table.columns) == list(TABLES[name].names)
    row = tables["crop_water"].iloc[0]
    days = tables["depletion"]
    closes = row["rain_mm"] + row["irrigation_mm"] + row["soil_mm"] - row["drained_mm"]
    assert row["use_mm"] == pytest.approx(closes)
    # all layers are drawn on as reckoned: use is the balance's own, but for the first morning
    taken = (days["stress"] * days["demand_mm"]).iloc[1:].sum()
    assert row["use_mm"] == pytest.approx(taken, abs=2.0)
    assert row["expected_mm"] == pytest.approx(row["demand_mm"])  # every year is alike
    assert row["seen"] == 1.0
    assert row["ended"] == "harvest"


def summed(made: Grown) -> pd.Series:
    """Sum a young crop's days up."""
    ended = season(harvested_on=PLANTED + timedelta(days=len(made.days)))
    where = place(made)
    spans = spans_of(where, (ended,), date(2021, 12, 1), SETTINGS)
    return follow(where, spans, SETTINGS)["crop_water"].iloc[0]


@pytest.mark.parametrize("unread", [0, 4], ids=["read each day", "four days unread"])
def test_water_before_the_first_morning_read_lies_in_the_soil_already(unread: int) -> None:
    """Put on with the planting, or after the last reading: neither is in the soil's change."""
    made = grown(days=60)
    state = made.state.copy()
    state[:unread], state[60 - unread :] = np.nan, np.nan
    dry = replace(made, state=state)
    water = np.zeros(60)
    water[0] = 40.0
    if unread:
        water[-1] = 30.0
    found, without = summed(replace(dry, water_mm=water)), summed(dry)
    assert found["use_mm"] == pytest.approx(without["use_mm"])
    assert found["rain_mm"] == 0.0
    told = account(replace(dry, water_mm=water), "s", np.datetime64(PLANTED), SETTINGS)
    assert told["drained_mm"].iloc[: unread + 1].sum() == 0.0
    assert told["balance_mm"].iloc[unread] == told["probe_mm"].iloc[unread]


def test_what_passed_young_roots_and_stayed_in_the_soil_did_not_drain() -> None:
    water = np.zeros(12)
    water[5] = 20.0  # roots stand at 30 cm, in soil that is full
    made = grown(days=12, water=water)
    state = np.full((12, 4), 0.32)
    state[:5, 3], state[5:, 3] = 0.22, 0.32  # 200 mm x 0.1: the rain, beneath the roots
    row = summed(replace(made, state=state))
    assert (row["rain_mm"], row["drained_mm"]) == (20.0, 0.0)
    assert row["soil_mm"] == pytest.approx(-20.0)
    assert row["use_mm"] == pytest.approx(0.0)


def test_what_full_soil_beneath_young_roots_loses_has_drained() -> None:
    state = np.full((12, 4), 0.32)
    state[:6, 2:], state[6:, 2:] = 0.36, 0.34  # above full, 2 x 200 mm x 0.02
    row = summed(replace(grown(days=12), state=state))
    assert row["drained_mm"] == pytest.approx(8.0)
    assert row["use_mm"] == pytest.approx(0.0)
    state[:, 3] = 0.25  # now the bottom layer could take it up
    assert summed(replace(grown(days=12), state=state))["drained_mm"] == 0.0


def test_a_crop_without_coefficients_is_not_followed() -> None:
    where = replace(place(grown()), crops={})
    saffron = replace(season(), crop="saffron")
    assert spans_of(where, (saffron,), NOW, SETTINGS) == ()
    assert fitted(saffron, where, SETTINGS) is None
    assert follow(where, spans_of(where, (saffron,), NOW, SETTINGS), SETTINGS)[
        "depletion"
    ].empty


def test_a_probe_that_was_not_there_tells_nothing() -> None:
    where = place(grown())
    early = replace(season(), planted_on=date(2018, 5, 1), harvested_on=date(2018, 9, 1))
    (span,) = spans_of(where, (early,), NOW, SETTINGS)
    assert grown_of(span, where, SETTINGS) is None


def test_forecasts_of_a_crop_that_goes_as_reckoned_come_true() -> None:
    made = grown(crop=DEEP)
    where = place(made)
    cases = follow(where, spans_of(where, (season(),), NOW, SETTINGS), SETTINGS)["season_cases"]
    assert set(cases["kind"]) == {"corrected", "alone"}
    assert (cases["forecast_mm"] - cases["happened_mm"]).abs().max() < 3.0
    graded = {row["kind"]: row for row in season_grade(cases).to_dict("records")}
    assert graded["corrected"]["coverage_80"] > 0.7
    assert graded["corrected"]["n"] == (cases["kind"] == "corrected").sum()


def test_past_forecasts_are_the_balance_run_for_one_year_after_another() -> None:
    made, years, ahead = grown(), range(2005, 2022), int(SETTINGS.forecast_days)
    drier = np.where(np.arange(80) >= 25, 0.02, 0.0)  # than reckoned: the two starts part
    made = replace(made, state=made.state - drier[:, None])
    where = place(made, years, rain_mm=12.0)
    told = follow(where, spans_of(where, (season(),), NOW, SETTINGS), SETTINGS)
    days, cases = told["depletion"], told["season_cases"].to_dict("records")
    made = replace(made, days=made.days[: len(days)])  # up to the day that is looked at
    roots, kc = roots_of(made, SETTINGS), coefficient(made.crop, len(days))
    assert len(cases) == 2 * len(range(ahead, len(days) - ahead, ahead))
    for case in cases:
        at = int(np.flatnonzero(days["date"] == case["from"])[0])
        part, morning = slice(at + 1, at + 1 + ahead), days.iloc[at]
        alone = case["kind"] == "alone"
        start, pace = (morning[name] for name in ("alone_mm" if alone else "probe_mm", "pace"))
        entering = entering_ahead(
            made.state[at], made.points, roots.inside_mm[at : at + 1 + ahead]
        )
        ends = {}
        for year in years:
            first = pd.Timestamp(case["from"]).replace(year=year)
            some = where.days.loc[first : first + pd.Timedelta(days=ahead - 1)]
            eto = some["eto_mm"].to_numpy()
            ends[year] = root_zone(
                start, effective_mm(some["water_mm"].to_numpy(), eto, SETTINGS),
                (1.0 if alone else pace) * kc[part] * eto, entering_mm=entering,
                available_mm=roots.available_mm[part], ready_mm=roots.ready_mm[part],
            ).end_mm[-1]  # fmt: skip
        assert case["own_weather_mm"] == pytest.approx(ends.pop(PLANTED.year))
        band = [case[name] for name in ("low_mm", "forecast_mm", "high_mm")]
        assert band == pytest.approx(np.quantile([*ends.values()], [0.1, 0.5, 0.9]).tolist())
    assert any(case["high_mm"] - case["low_mm"] > 5.0 for case in cases)


def test_a_grade_by_hand() -> None:
    rows = [(10.0, 8.0, 12.0, 11.0, 11.0), (20.0, 18.0, 22.0, 29.0, 23.0)]
    cases = pd.DataFrame(rows, columns=["forecast_mm", "low_mm", "high_mm", "happened_mm",
                                        "own_weather_mm"])  # fmt: skip
    cases = cases.assign(kind="corrected", site="s", planted_on=pd.Timestamp(2021, 5, 1))
    row = season_grade(cases).iloc[0]
    assert row["bias_mm"] == pytest.approx(-5.0)
    assert row["mean_abs_error_mm"] == pytest.approx(5.0)
    assert row["weather_coverage"] == 0.5
    assert row["balance_error_mm"] == pytest.approx(np.sqrt((0 + 36) / 2))
    assert row["coverage_80"] == pytest.approx(0.5)  # 1.28 x 4.24 = 5.4, and the weather's 2
    assert season_grade(cases.iloc[:0]).empty


def test_ahead_starts_where_the_probe_stands_and_leaves_the_year_itself_out() -> None:
    where = place(grown(), rain_mm=10.0)
    crop = standing(where, season(), NOW, SETTINGS)
    assert crop is not None
    assert crop.last == NOW
    assert crop.matures_on == PLANTED + timedelta(days=sum(CROP.stages_d))
    one_ = look_ahead(crop, where, OPEN, 5.0, SETTINGS)
    assert one_ is not None
    assert one_.today == NOW
    assert len(one_) == (crop.matures_on - NOW).days
    assert one_.depletion_mm == pytest.approx(crop.told["probe_mm"].iloc[-1])
    assert len(one_.crop_mm) == 16  # 2005 to 2020: 2021 is what is looked at
    back = look_ahead(crop, where, OPEN, 5.0, SETTINGS, back=3, most=5)
    assert back is not None
    assert (back.today, len(back)) == (NOW - timedelta(days=3), 5)


def test_stages_have_names() -> None:
    where = place(grown())
    for days, name in ((5, "initial"), (20, "development"), (50, "mid-season"),
                       (79, "late season")):  # fmt: skip
        crop = standing(where, season(), PLANTED + timedelta(days=days), SETTINGS)
        assert crop is not None
        assert crop.stage == name


def test_roots_stop_where_the_field_says_that_they_cannot_pass() -> None:
    made = grown()
    there = replace(place(made), root_limit_cm=50.0)
    (span,) = spans_of(
        there, (season(),), made.days[-1].astype("datetime64[D]").item(), SETTINGS
    )
    free, stopped = grown_of(span, place(made), SETTINGS), grown_of(span, there, SETTINGS)
    assert free is not None
    assert stopped is not None
    assert roots_of(free, SETTINGS).depth_cm[-1] == 80.0  # of the probe: sorghum goes deeper
    reached = roots_of(stopped, SETTINGS)
    assert reached.depth_cm[-1] == 50.0
    assert reached.available_mm[-1] == pytest.approx((0.32 - 0.14) * 500.0)
