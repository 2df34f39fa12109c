"""The outlook to planting, its own grade, and the farm's recharge relation."""

from dataclasses import replace
from datetime import date, timedelta
from time import perf_counter
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analytics.errors import InputRefused
from analytics.model import Daily, Layer, OffSeason, Points
from analytics.settings import Settings
from analytics.water.balance import Soil, Weather, bare_soil, soil_of
from analytics.water.errors import dressed, shown_outlook, widen
from analytics.water.hindcast import FROM_HARVEST, grade, hindcasts, past_cases
from analytics.water.outlook import check_known, look_ahead, outlook_columns
from analytics.water.recharge import fit_recharge
from analytics.water.years import Years, daily_weather, past_years

SETTINGS = Settings()
LAYERS = tuple(
    Layer(site="S", depth_cm=10 + 20 * j, top_cm=20 * j, bottom_cm=20 + 20 * j, texture="loam")
    for j in range(6)
)
FULL, LOWER = np.full(6, 0.30), np.full(6, 0.14)
SOIL = soil_of(LAYERS, FULL, LOWER, SETTINGS)


def station(years=range(1990, 2021), seed=1, wet=0.25):
    draw = np.random.default_rng(seed)
    dates = pd.date_range(f"{years[0]}-01-01", f"{years[-1]}-12-31", unit="us")
    n = len(dates)
    mean = (
        11 - 14 * np.cos(2 * np.pi * dates.day_of_year.to_numpy() / 365) + draw.normal(0, 4, n)
    )
    weather = pd.DataFrame({
        "date": dates, "tmin_c": mean - 7, "tmax_c": mean + 7,
        "rain_mm": draw.exponential(7, n) * (draw.random(n) < wet),
    })  # fmt: skip
    eto = pd.DataFrame({"eto_mm": np.clip(0.25 * (mean + 5), 0.3, None)})
    return daily_weather(weather, eto, SETTINGS)


def dry(years, days):
    starts = np.datetime64("2000-01-01") + 366 * np.arange(years)
    nothing = Weather(
        np.zeros((years, days)), np.zeros((years, days)), np.zeros((years, days), bool)
    )
    return Years(starts=starts, weather=nothing, missing_days=np.zeros(years, np.int64))


def ahead(start, soil, years):
    return look_ahead([start], [soil], years, SETTINGS)[0]


def test_without_weather_nothing_changes():
    start = SOIL.lower_mm + 10.0
    found = ahead(start, SOIL, dry(10, 30))
    assert found.end_mm == pytest.approx(np.tile(start, (10, 1)))
    assert found.filled.sum() == 0


def test_each_past_year_is_one_row_and_its_rain_fills_from_the_top():
    years = dry(10, 5)
    years.weather.water_mm[3, 0] = 50.0
    found = ahead(SOIL.full_mm - 20.0, SOIL, years)
    assert found.deficit_mm[3] == pytest.approx([0, 0, 10, 20, 20, 20])
    frame = pd.DataFrame(outlook_columns(found, LAYERS, SETTINGS))
    chance = frame[frame["zone"] == "layer"]["chance_full"].to_numpy()
    assert chance == pytest.approx([0.1, 0.1, 0, 0, 0, 0])
    profile = frame[frame["zone"] == "profile"].iloc[0]
    assert profile["now_mm"] == pytest.approx(120.0)
    assert profile["mean_mm"] == pytest.approx(115.0)


def test_a_zone_foresees_no_water_that_roots_cannot_reach():
    found = ahead(SOIL.full_mm - 20.0, SOIL, dry(10, 5))
    limit = LAYERS[3].bottom_cm
    frame = pd.DataFrame(outlook_columns(found, LAYERS, SETTINGS, limit)).set_index("zone")
    assert frame.loc["profile", "mean_mm"] == pytest.approx(4 * 20.0)
    assert frame.loc["profile", "now_mm"] == pytest.approx(4 * 20.0)
    assert len(frame.loc["layer"]) == len(LAYERS)
    beneath = SETTINGS.zone_split_cm - 10.0
    assert "deep" not in outlook_columns(found, LAYERS, SETTINGS, beneath)["zone"]


def test_too_few_years_or_an_unknown_layer_are_refused():
    with pytest.raises(InputRefused, match="past years"):
        check_known(SOIL.full_mm, dry(7, 5), SETTINGS)
    with pytest.raises(InputRefused, match="1 of 6 layers"):
        check_known(np.r_[np.nan, SOIL.full_mm[1:]], dry(10, 5), SETTINGS)


def test_years_with_holes_are_left_out_and_small_holes_counted():
    days = station(range(2000, 2006))
    days.loc["2001-03-01":"2001-03-02", "water_mm"] = np.nan
    days.loc["2003-03-01":"2003-03-09", "water_mm"] = np.nan
    found = past_years(days, date(2010, 2, 20), 60, SETTINGS)
    assert found.starts.astype(str).tolist() == [
        f"{year}-02-20" for year in (2000, 2001, 2002, 2004, 2005)
    ]
    assert found.missing_days.tolist() == [0, 2, 0, 0, 0]


def test_a_stretch_across_new_year_ends_within_the_record():
    found = past_years(station(range(2000, 2006)), date(2010, 11, 1), 150, SETTINGS)
    assert len(found) == 5
    leap = past_years(station(range(2000, 2002)), date(2004, 2, 29), 3, SETTINGS)
    assert leap.starts.tolist() == [date(2000, 2, 28), date(2001, 2, 28)]


def test_thirty_years_ninety_days_twelve_layers_are_quick():
    k = 12
    soil = Soil(full_mm=np.full(k, 60.0), lower_mm=np.full(k, 30.0), thick_mm=np.full(k, 200.0),
                rew_mm=9.0, tew_mm=20.0)  # fmt: skip
    years = past_years(station(), date(2020, 2, 1), 90, SETTINGS)
    took = []
    for _ in range(5):
        begun = perf_counter()
        ahead(np.full(k, 45.0), soil, years)
        took.append(perf_counter() - begun)
    assert min(took) < 0.06  # the budget is 0.03 s on a quiet machine


def made(days, start="2000-06-01", years=16, put_on=None):
    """Make a site whose layers really follow the balance, with a crop emptying it each year.

    ``put_on`` is the irrigation, mm by day, that it was given besides the weather of ``days``.
    """
    if put_on is not None:
        days = days.assign(water_mm=days["water_mm"].add(put_on, fill_value=0.0))
    dates = np.arange(np.datetime64(start), np.datetime64(start) + 365 * years)
    state = np.empty((len(dates), 6))
    water, seasons = SOIL.lower_mm + 15.0, []
    for year in range(years - 1):
        first = np.datetime64(f"{2000 + year}-10-01")
        weather = days.loc[str(first) : str(first + 199)]  # a state is of before dawn
        run = bare_soil(water, SOIL, Weather(weather["water_mm"].to_numpy()[None],
            weather["eto_mm"].to_numpy()[None], weather["mean_c"].to_numpy()[None] <= 0.0),
            SETTINGS)  # fmt: skip
        at = int((first - dates[0]).astype(int))
        state[at] = water / 200.0
        state[at + 1 : at + 201] = run.layers_mm[0] / 200.0
        begun, ended = pd.Timestamp(first).date(), pd.Timestamp(first + 200).date()
        seasons.append(OffSeason(field="F", start=begun, end=ended, crop_before="corn",
                                 crop_next="corn", open=False))  # fmt: skip
    frozen = np.zeros(state.shape, bool)
    daily = Daily(site="S", days=dates, depths_cm=np.array([one.depth_cm for one in LAYERS]),
                  first=state, last=state, low=state, high=state, mean=state, predawn=state,
                  state=state, temp_c=state, good=np.ones(state.shape, np.int32), frozen=frozen,
                  held=frozen, placement=np.ones(len(dates), np.int16))  # fmt: skip
    return daily, tuple(seasons)


def points():
    return Points(placement=1, full=FULL, refill=LOWER, lower=LOWER, full_sd=FULL * 0,
                  lower_sd=FULL * 0, state=("learned",) * 6, lower_state=("learned",) * 6,
                  ponded=np.zeros(6, bool))  # fmt: skip


NO_WATER = pd.DataFrame({"date": pd.to_datetime([]), "kind": [], "mm": []})


def test_a_soil_that_follows_the_balance_earns_a_good_grade():
    days = station()
    daily, seasons = made(days)
    cases = past_cases(daily, LAYERS, points(), seasons, NO_WATER, lead_d=90, settings=SETTINGS)
    assert len(cases) == 30
    found = hindcasts(cases, LAYERS, points(), days, SETTINGS)
    table = grade(dressed(found, SETTINGS)).set_index(["kind", "zone"]).to_dict("index")
    row: Any = table[FROM_HARVEST, "profile"]
    assert row["n"] == 15
    assert row["balance_bias_mm"] == pytest.approx(0.0, abs=1e-6)  # with the weather that came
    assert abs(row["bias_mm"]) < 20  # 15 winters of invented rain
    assert row["coverage"] >= 0.6


def test_cases_of_any_length_end_together_as_each_would_alone():
    days = station()
    daily, seasons = made(days)
    cases = past_cases(daily, LAYERS, points(), seasons, NO_WATER, lead_d=90, settings=SETTINGS)
    # Cut short in winter, when snow may lie that no later day is to let in.
    cases += [replace(one, irrigation_mm=one.irrigation_mm[:81]) for one in cases[::2]]
    alone = [hindcasts([one], LAYERS, points(), days, SETTINGS) for one in cases]
    together = hindcasts(cases, LAYERS, points(), days, SETTINGS)
    pd.testing.assert_frame_equal(together, pd.concat(alone, ignore_index=True))


def test_a_soil_that_holds_more_than_the_balance_says_shows_as_bias():
    days = station()
    daily, seasons = made(days)
    cases = past_cases(daily, LAYERS, points(), seasons, NO_WATER, lead_d=90, settings=SETTINGS)
    for case in cases:
        case.end_mm[:] = np.minimum(case.end_mm + 2.0, SOIL.full_mm)
    table = grade(dressed(hindcasts(cases, LAYERS, points(), days, SETTINGS), SETTINGS))
    assert (table[table["zone"] == "profile"]["balance_bias_mm"] > 0).all()


def test_irrigation_of_the_time_is_told_to_the_forecast():
    days = station()
    daily, seasons = made(days)
    put_on = pd.DataFrame({"date": [pd.Timestamp("2005-11-01")], "kind": ["irrigation"],
                           "mm": [40.0]})  # fmt: skip
    cases = past_cases(daily, LAYERS, points(), seasons, put_on, lead_d=90, settings=SETTINGS)
    told = [case for case in cases if case.irrigation_mm.any()]
    assert [(case.kind, case.start.year) for case in told] == [(FROM_HARVEST, 2005)]
    assert told[0].irrigation_mm[31] == 40.0  # from 1 October on, which is read before dawn


def test_irrigation_of_the_time_is_no_error_of_the_balance():
    days = station()
    given = pd.Series(
        40.0, index=pd.to_datetime([f"{year}-11-01" for year in range(2000, 2015)])
    )
    daily, seasons = made(days, put_on=given)
    put_on = pd.DataFrame({"date": given.index, "kind": "irrigation", "mm": given.to_numpy()})
    cases = past_cases(daily, LAYERS, points(), seasons, put_on, lead_d=90, settings=SETTINGS)
    table = grade(dressed(hindcasts(cases, LAYERS, points(), days, SETTINGS), SETTINGS))
    row: Any = table.set_index(["kind", "zone"]).to_dict("index")[FROM_HARVEST, "profile"]
    assert row["n"] == 15
    assert row["balance_bias_mm"] == pytest.approx(0.0, abs=1e-6)


def test_water_on_the_planting_day_is_no_error_of_the_balance():
    """An off-season ends with the dawn of the planting day, which read none of it yet."""
    days = station()
    daily, seasons = made(days)
    on = pd.DatetimeIndex([one.end for one in seasons])
    put_on = pd.DataFrame({"date": on, "kind": "irrigation", "mm": 40.0})
    cases = past_cases(daily, LAYERS, points(), seasons, put_on, lead_d=90, settings=SETTINGS)
    table = grade(dressed(hindcasts(cases, LAYERS, points(), days, SETTINGS), SETTINGS))
    row: Any = table.set_index(["kind", "zone"]).to_dict("index")[FROM_HARVEST, "profile"]
    assert row["balance_bias_mm"] == pytest.approx(0.0, abs=1e-6)


def test_no_cases_give_an_empty_grade():
    assert grade(dressed(hindcasts([], LAYERS, points(), station(), SETTINGS), SETTINGS)).empty


def test_recharge_relation_is_found_again():
    draw = np.random.default_rng(3)
    start, water = draw.uniform(20, 150, 40), draw.uniform(60, 250, 40)
    spring = start + (0.7 - 0.003 * start) * water
    found = fit_recharge(start, spring, water, SETTINGS)
    assert (found.a, found.b, found.n) == (pytest.approx(0.7), pytest.approx(0.003), 40)
    assert found.r2 == pytest.approx(1.0)
    assert found.spring_mm(100.0, 200.0) == pytest.approx(100 + 0.4 * 200)


def test_recharge_is_refused_when_thin():
    few = np.linspace(20, 90, 11)
    with pytest.raises(InputRefused, match="11 winters"):
        fit_recharge(few, few + 10, few + 50, SETTINGS)


def test_off_season_dates_survive():
    daily, seasons = made(station())
    case = past_cases(daily, LAYERS, points(), seasons[:1], NO_WATER, lead_d=90,
                      settings=SETTINGS)[0]  # fmt: skip
    assert case.end - case.start == timedelta(days=200)


def invented_cases(n=400, bias=6.0, seed=7):
    """Weather sd 10 mm, the balance itself off by 6 mm and an sd of 15 mm."""
    draw = np.random.default_rng(seed)
    own = 100 + draw.normal(0, 10, n)
    half = 10 * 1.2816
    return pd.DataFrame({
        "site": [f"S{at % 20}" for at in range(n)], "kind": "now", "zone": "profile",
        "to": date(2024, 5, 1), "forecast_mm": 100.0,
        "low_mm": 100 - half, "high_mm": 100 + half,
        "happened_mm": own + bias + draw.normal(0, 15, n), "own_weather_mm": own,
    })  # fmt: skip


def test_the_balances_own_error_makes_the_interval_honest():
    row = grade(dressed(invented_cases(), SETTINGS)).iloc[0]
    assert row["weather_coverage"] < 0.6
    assert row["coverage"] == pytest.approx(0.8, abs=0.05)
    assert row["bias_mm"] == pytest.approx(0.0, abs=2.5)
    assert row["balance_bias_mm"] == pytest.approx(-6.0, abs=2.5)
    assert (row["n"], row["winters"]) == (400, 1)


def test_no_forecast_sees_its_own_outcome():
    cases = invented_cases()
    told = cases.copy()
    own = told["site"] == "S3"
    told.loc[own, "happened_mm"] += 500.0
    before, after = (dressed(one, SETTINGS).loc[own, "forecast_mm"] for one in (cases, told))
    assert after.to_numpy() == pytest.approx(before.to_numpy())


def test_few_errors_change_nothing():
    cases = invented_cases(7)
    out = dressed(cases, SETTINGS)
    assert out["low_mm"].to_numpy() == pytest.approx(cases["low_mm"].to_numpy())


def test_errors_add_in_quadrature_and_nothing_lacks_less_than_nought():
    got = widen(np.array([10.0, 13.0, 17.0]), np.array([-4.0, 0.0, 3.0]))
    assert got == pytest.approx([8.0, 13.0, 18.0])
    assert widen(np.array([0.0, 1.0, 2.0]), np.array([-9.0, -5.0, 0.0])).min() == 0.0


def test_outlook_shows_the_widened_interval_for_zones():
    found = ahead(SOIL.full_mm - 20.0, SOIL, dry(10, 5))
    frame = pd.DataFrame(outlook_columns(found, LAYERS, SETTINGS))
    shown = shown_outlook(frame, invented_cases(), SETTINGS)
    whole = shown[shown["zone"] == "profile"].iloc[0]
    assert whole["errors"] == 400
    assert whole["likely_mm"] == pytest.approx(126.0, abs=2.5)
    assert whole["high_mm"] - whole["low_mm"] > 30
    assert (shown[shown["zone"] == "layer"]["errors"] == 0).all()
