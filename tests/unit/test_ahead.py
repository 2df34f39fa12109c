"""From today on: run, hold or start on a day; and the last irrigation, against brute force."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.settings import Settings
from analytics.water.ahead import Ahead, last_pass, offered, path, run, still_to_apply

SETTINGS = Settings()
TODAY = date(2025, 8, 1)
DAYS = 40


def ahead(depletion: float = 60.0, capacity: float = 4.0, seed: int = 1, **other) -> Ahead:
    rng = np.random.default_rng(seed)
    rain = np.where(rng.random((21, DAYS)) < 0.15, rng.gamma(1.0, 12.0, (21, DAYS)), 0.0)
    crop = np.linspace(7.0, 2.0, DAYS) * rng.normal(1.0, 0.1, (21, 1))
    known = {"today": TODAY, "depletion_mm": depletion, "crop_mm": crop, "rain_mm": rain,
             "available_mm": np.full(DAYS, 200.0), "ready_mm": np.full(DAYS, 110.0),
             "entering_mm": np.zeros(DAYS), "capacity_mm": np.full(DAYS, capacity),
             "efficiency": 0.85}  # fmt: skip
    return Ahead(**{**known, **other})


def test_holding_is_drier_than_starting_late_and_that_than_running() -> None:
    one = ahead()
    hold, late, now = (path(one, offered(one, first)) for first in (None, 10, 0))
    assert (hold.middle_mm >= late.middle_mm).all()
    assert (late.middle_mm >= now.middle_mm).all()
    assert hold.given_mm == 0.0
    assert now.given_mm > late.given_mm > 0.0


def test_the_refill_day_is_the_first_at_or_past_the_point() -> None:
    one = ahead(crop_mm=np.full((9, DAYS), 5.0), rain_mm=np.zeros((9, DAYS)))
    found = path(one, offered(one, None))
    assert found.refill_on == date(2025, 8, 11)  # 60 + 10 x 5 = 110, ten days on
    assert found.refill_sooner == found.refill_on  # every year is alike
    unsure = path(replace(one, error_mm=10.0), offered(one, None))
    assert unsure.refill_on == found.refill_on
    assert unsure.refill_sooner is not None
    assert unsure.refill_sooner < date(2025, 8, 11)
    assert path(replace(one, depletion_mm=0.0, crop_mm=np.zeros((9, DAYS))),
                offered(one, None)).refill_on is None  # fmt: skip


def test_the_band_is_the_weather_s_widened_by_the_balance_s_own_error() -> None:
    one = ahead(crop_mm=np.full((9, DAYS), 5.0), rain_mm=np.zeros((9, DAYS)), error_mm=10.0)
    found = path(one, offered(one, None))
    ten = found.high_mm[9] - found.middle_mm[9]
    assert ten == pytest.approx(1.2815515 * 10.0)
    assert found.high_mm[0] - found.middle_mm[0] == pytest.approx(ten / np.sqrt(10))


def test_a_field_without_a_source_can_only_hold() -> None:
    one = ahead(capacity=0.0)
    assert (offered(one, 0) == 0.0).all()
    assert one.water is None


def test_a_source_gives_nothing_on_days_without_water() -> None:
    rows = np.arange(DAYS)
    one = ahead(capacity_mm=np.where((rows >= 5) & (rows < 12), 4.0, 0.0))
    assert (offered(one, 0) == one.capacity_mm).all()
    assert one.water == (date(2025, 8, 7), date(2025, 8, 13))
    assert path(one, offered(one, 0)).given_mm <= 7 * 4.0


def test_a_source_is_not_shut_later_than_its_water_ends() -> None:
    rows = np.arange(DAYS)
    one = ahead(capacity_mm=np.where(rows < 12, 4.0, 0.0))
    left = last_pass(one, SETTINGS)
    assert left.on is None or left.on <= date(2025, 8, 13)
    always = last_pass(ahead(), SETTINGS)
    assert left.short_mm >= always.short_mm


@given(st.floats(0, 190), st.floats(0.5, 9.0), st.integers(1, 30))
def test_the_last_pass_is_the_earliest_day_that_suffices(
    depletion: float, capacity: float, seed: int
) -> None:
    one = ahead(depletion, capacity, seed)
    allowed = SETTINGS.maturity_depletion * 200.0

    def enough(days: int) -> bool:
        end = run(one, offered(one, 0, days)).end_mm[:, -1]
        return float(np.quantile(end, SETTINGS.reliability)) <= allowed

    left = last_pass(one, SETTINGS)
    fit = [days for days in range(DAYS + 1) if enough(days)]
    if not fit:
        assert left.on is None
        assert left.short_mm > 0.0
    elif fit[0] == 0:
        assert left.on is None
        assert left.short_mm == 0.0
    else:
        assert left.on == one.day(fit[0] - 1)


def test_the_sum_by_hand() -> None:
    # 10 days of 5 mm, no rain; 60 mm gone of 200, 120 may be: 60 may be drawn, 50 are asked
    few = {"available_mm": np.full(10, 200.0), "ready_mm": np.full(10, 110.0),
           "entering_mm": np.zeros(10), "capacity_mm": np.full(10, 4.0),
           "rain_mm": np.zeros((9, 10))}  # fmt: skip
    one = ahead(crop_mm=np.full((9, 10), 5.0), **few)
    left = last_pass(one, SETTINGS)
    assert (left.water_mm, left.rain_mm, left.soil_mm) == pytest.approx((50.0, 0.0, 60.0))
    assert left.net_mm == 0.0
    assert left.on is None
    assert left.harvest_mm == pytest.approx(110.0)
    dry = last_pass(replace(one, depletion_mm=90.0), SETTINGS)
    assert dry.net_mm == pytest.approx(20.0)  # 50 - 30
    assert dry.gross_mm == pytest.approx(20.0 / 0.85)
    assert dry.on == date(2025, 8, 6)  # 4 mm a day: five days give the 20
    assert dry.harvest_mm == pytest.approx(115.0 + 5.0 * 85 / 90)  # Ks on the last day


def test_roots_that_enter_dry_soil_take_from_what_may_be_drawn() -> None:
    plain = last_pass(ahead(), SETTINGS)
    dry = last_pass(ahead(entering_mm=np.full(DAYS, 0.5)), SETTINGS)
    assert plain.soil_mm - dry.soil_mm == pytest.approx(0.5 * DAYS)


@given(*(st.floats(-100, 300),) * 3)
def test_still_to_apply_is_never_below_nought(water: float, rain: float, soil: float) -> None:
    assert still_to_apply(water, rain, soil) == max(0.0, water - rain - soil)
