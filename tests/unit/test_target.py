"""How much is worth putting on: hand-worked cases and the published signs."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from analytics.settings import Settings
from analytics.water.balance import Soil, Weather
from analytics.water.demand import CROPS
from analytics.water.outlook import look_ahead
from analytics.water.target import (
    bank_needed,
    need_curve,
    season_demand,
    storage_efficiency,
    value_steps,
    wetted_depth_cm,
    worth_storing,
)
from analytics.water.years import Years

SETTINGS = Settings()
SOIL = Soil(full_mm=np.full(4, 90.0), lower_mm=np.full(4, 40.0), thick_mm=np.full(4, 300.0),
            rew_mm=9.0, tew_mm=22.0)  # fmt: skip
REFILL = np.full(4, 62.5)  # full - 0.55 of the range


def dry_outlook(start, rain=0.0, years=10):
    water = np.zeros((years, 20))
    water[:, 0] = rain
    starts = np.datetime64("2000-01-01") + 366 * np.arange(years)
    weather = Weather(water, np.zeros(water.shape), np.zeros(water.shape, bool))
    stretch = Years(starts=starts, weather=weather, missing_days=np.zeros(years, np.int64))
    return look_ahead([np.asarray(start, float)], [SOIL], stretch, SETTINGS)[0]


def worth(start, bank, rain=0.0):
    return worth_storing(dry_outlook(start, rain), np.ones(4), REFILL, np.asarray(bank),
                         SETTINGS)  # fmt: skip


def test_need_cumulates_from_the_top_and_reads_back_as_depth():
    deficit = np.array([10.0, -5.0, 20.0, 30.0])
    assert need_curve(deficit) == pytest.approx([10, 10, 30, 60])
    bottoms = np.array([30.0, 60.0, 90.0, 120.0])
    assert wetted_depth_cm(20.0, deficit, bottoms) == pytest.approx(75.0)
    assert wetted_depth_cm(10.0, deficit, bottoms) == pytest.approx(60.0)  # a full layer passes
    assert wetted_depth_cm(99.0, deficit, bottoms) == pytest.approx(120.0)
    assert wetted_depth_cm(0.0, deficit, bottoms) == pytest.approx(0.0)


def test_bank_is_the_largest_running_shortfall():
    crop = np.array([[2.0, 8.0, 9.0, 3.0, 8.0, 2.0]])
    rain = np.array([[20.0, 0, 0, 5.0, 0, 0]])
    # day by day with 5 mm/d: -23, 3, 4, -7, 3, -3: the shortfall grows to 7 and is made good
    assert bank_needed(crop, rain, 5.0) == pytest.approx([7.0])
    assert bank_needed(crop, rain, 9.0) == pytest.approx([0.0])  # capacity meets peak demand
    assert bank_needed(crop, rain, np.full(crop.shape[1], 5.0)) == pytest.approx([7.0])


@pytest.mark.parametrize(
    ("fill", "spring", "autumn"),
    [(0.3, 0.925, 0.825), (0.60, 0.925, 0.825 * 0.4 / 0.45), (0.8, 0.4625, 0.825 * 0.2 / 0.45),
     (1.0, 0.0, 0.0), (1.1, 0.0, 0.0)],
)  # fmt: skip
def test_stored_share_of_stone_2008(fill, spring, autumn):
    # 0.90-0.95 and 0.80-0.85 while dry, declining above 0.60 and 0.55, nought at full
    assert storage_efficiency(fill, 0.925, 0.60) == pytest.approx(spring)
    assert storage_efficiency(fill, 0.825, 0.55) == pytest.approx(autumn)


def test_ceiling_leaves_room_for_rain():
    found = worth(SOIL.lower_mm, [])
    assert found.need_mm == pytest.approx(200.0)
    assert found.target_mm == pytest.approx(150.0)  # 75 % of 200 mm (Orr 2004)
    assert np.isnan(found.bank_mm)


def test_what_the_season_cannot_ask_for_earns_nothing():
    assert worth(SOIL.lower_mm, np.full(9, 35.0)).target_mm == pytest.approx(35.0)
    assert worth(SOIL.lower_mm, np.zeros(9)).target_mm == 0.0
    # 20 mm above the refill point is already banked
    held = REFILL + np.array([5.0, 5.0, 5.0, 5.0])
    assert worth(held, np.full(9, 35.0)).target_mm == pytest.approx(15.0)


def test_what_the_outlook_brings_is_taken_off():
    assert worth(SOIL.lower_mm, [], rain=60.0).target_mm == pytest.approx(90.0)


def test_target_suffices_in_eight_years_of_ten():
    banks = np.linspace(10.0, 110.0, 101)
    assert worth(SOIL.lower_mm, banks).target_mm == pytest.approx(90.0, abs=0.5)


def test_wet_profiles_keep_less_of_their_water():
    dry, wet = worth(SOIL.lower_mm + 2, np.full(9, 40.0)), worth(SOIL.full_mm - 3, [])
    assert dry.stored_spring == pytest.approx(0.925)
    assert wet.stored_spring < 0.2
    assert wet.stored_autumn < wet.stored_spring


def test_steps_carry_the_chance_that_their_water_is_missed():
    steps = value_steps(np.sort(np.array([0.0, 10.0, 20.0, 30.0, 40.0])), 40.0, 4)
    assert steps == ((10.0, 0.8), (10.0, pytest.approx(0.6)), (10.0, pytest.approx(0.4)),
                     (10.0, pytest.approx(0.2)))  # fmt: skip
    assert value_steps(np.zeros(5), 0.0, 4) == ()


def test_demand_takes_light_rain_off():
    dates = pd.date_range("2000-01-01", "2009-12-31")
    days = pd.DataFrame({"water_mm": 1.0, "eto_mm": 6.0, "mean_c": 15.0}, index=dates)
    crop, rain = season_demand(days, CROPS["cotton"], date(2010, 5, 15), SETTINGS)
    assert crop.shape == rain.shape == (10, 180)
    assert rain.sum() == 0.0  # 1 mm is less than 0.2 of 6 mm
    assert crop[0, 100] == pytest.approx(1.175 * 6.0)
