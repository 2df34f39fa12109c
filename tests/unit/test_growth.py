"""A crop as it grows: stages fitted to recorded dates, roots, shares of the root zone."""

from datetime import date

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.model import Layer, Season
from analytics.settings import Settings
from analytics.water.demand import CROPS, Crop
from analytics.water.growth import (
    Air,
    air_of,
    coefficient,
    crop_for,
    root_depths_cm,
    root_share,
    rooted_mm,
    stages_told,
    suited,
)

SETTINGS = Settings()
CORN = CROPS["maize"]
LAYERS = tuple(
    Layer(site="s", depth_cm=top + 10.0, top_cm=top, bottom_cm=top + 20.0)
    for top in np.arange(0.0, 160.0, 20.0)
)


def corn(**told: date) -> Season:
    return Season(field="f", crop="corn", planted_on=date(2025, 5, 1), **told)


def test_recorded_maturity_ends_the_late_season_on_its_day() -> None:
    for on in (date(2025, 9, 1), date(2025, 10, 20)):
        told = stages_told(CORN, corn(matured_on=on), SETTINGS)
        assert sum(told.stages_d) == (on - date(2025, 5, 1)).days
        assert told.stages_d[0] == CORN.stages_d[0]


def test_late_emergence_lengthens_the_initial_stage_only() -> None:
    told = stages_told(CORN, corn(emerged_on=date(2025, 5, 16)), SETTINGS)
    assert told.stages_d == (CORN.stages_d[0] + 5, *CORN.stages_d[1:])
    assert stages_told(CORN, corn(), SETTINGS) == CORN


@given(st.integers(1, 60), st.integers(20, 320))
def test_no_recorded_dates_make_a_stage_vanish(up: int, mature: int) -> None:
    first = date(2025, 1, 1)
    one = Season(field="f", crop="corn", planted_on=first,
                 emerged_on=date.fromordinal(first.toordinal() + up),
                 matured_on=date.fromordinal(first.toordinal() + mature))  # fmt: skip
    assert min(stages_told(CORN, one, SETTINGS).stages_d) >= 1


@given(st.floats(20, 160))
def test_shares_of_the_root_zone_are_whole_and_follow_the_quarters(roots_cm: float) -> None:
    share = root_share(LAYERS, roots_cm)
    assert share.sum() == pytest.approx(1.0)
    below = np.array([one.top_cm for one in LAYERS]) >= roots_cm
    assert (share[below] == 0).all()


def test_roots_above_the_first_sensors_layer_take_from_none() -> None:
    assert root_share(LAYERS[2:], 30.0).tolist() == [0.0] * len(LAYERS[2:])


def test_the_quarters_of_a_root_zone_that_ends_with_a_layer() -> None:
    share = root_share(LAYERS, 160.0)  # FAO-56 p. 180: two layers to a quarter here
    assert share.reshape(4, 2).sum(axis=1) == pytest.approx([0.4, 0.3, 0.2, 0.1])


def test_roots_grow_straight_until_mid_season_and_stay() -> None:
    crop = Crop(0.3, 1.0, 0.4, (10, 10, 30, 20))
    depth = root_depths_cm(crop, 120.0, 40, SETTINGS)
    assert np.diff(depth[:20]) == pytest.approx((120.0 - 20.0) / 20)
    assert depth[19:] == pytest.approx(120.0)
    inside = rooted_mm(LAYERS, depth)
    assert inside.sum(axis=1) == pytest.approx(depth * 10.0)


def test_the_curve_is_that_of_the_day_before_each_morning() -> None:
    crop = Crop(0.3, 1.0, 0.4, (2, 2, 2, 2))
    assert coefficient(crop, 9) == pytest.approx([0.3, 0.3, 0.3, 0.65, 1, 1, 1, 0.7, 0.4])
    assert coefficient(crop, 11)[-1] == 0.4


def test_a_field_s_own_coefficients_win_over_those_of_all_fields() -> None:
    all_, own = CORN._replace(kc_mid=1.1), CORN._replace(kc_mid=1.0)
    versions = {("maize", ""): all_, ("maize", "f"): own}
    assert crop_for("field corn", "f", versions) == own
    assert crop_for("corn", "g", versions) == all_
    assert crop_for("corn", "g", {}) == CORN
    assert crop_for("saffron", "f", versions) is None


def test_the_air_is_that_of_mid_season_and_what_is_not_measured_moves_nothing() -> None:
    days = pd.date_range("2010-01-01", "2019-12-31", freq="D")
    summer = days.month.isin([6, 7, 8])
    weather = pd.DataFrame({"wind_m_s": np.where(summer, 4.0, 9.0), "rh_min": np.nan},
                           index=days)  # fmt: skip
    crop = Crop(0.3, 1.2, 0.35, (30, 31, 31, 30))  # mid-season 1 to 31 July
    air = air_of(weather, pd.Timestamp("2025-05-01"), crop)
    assert air == Air(4.0, 45.0)
    assert suited(crop, 2.0, Air(2.0, 45.0)) == crop
