"""Frost by day and by winter, against lines worked by hand."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.model import Daily
from analytics.soil.frost import air_of, frost_zones, winters_frost

DEPTHS = np.array([10.0, 20.0, 40.0, 60.0])


def daily(temps, *, held=None, first="2020-12-01"):
    temp_c = np.asarray(temps, float)
    held = np.zeros(temp_c.shape, bool) if held is None else np.asarray(held, bool)
    theta = np.full(temp_c.shape, 0.25)
    return Daily(
        site="S1", days=np.datetime64(first, "D") + np.arange(len(temp_c)), depths_cm=DEPTHS,
        first=theta, last=theta, low=theta, high=theta, mean=theta, predawn=theta, state=theta,
        temp_c=temp_c, good=np.ones(temp_c.shape, np.int32), frozen=temp_c <= 0.0, held=held,
        placement=np.ones(len(temp_c), np.int16),
    )  # fmt: skip


def zones(temps, air=None, **kw):
    air_c = None if air is None else np.array([air], float)
    frame = frost_zones(daily([temps]), air_c, **kw)
    return [tuple(one) for one in frame[["top_cm", "bottom_cm"]].to_numpy()]


def test_frost_from_the_surface_down_to_the_line():
    assert zones([-2.0, -1.0, 1.0, 3.0]) == [(0.0, 30.0)]


def test_thaw_from_both_sides_leaves_a_zone_between():
    # above: 20 at 10 cm +1, 20 cm -1 -> 15 cm; below: 20 cm -1, 40 cm +1 -> 30 cm
    assert zones([1.0, -1.0, 1.0, 3.0]) == [(15.0, 30.0)]


def test_warm_air_shows_the_thaw_above_the_first_sensor():
    # air +6, 10 cm -2: the line crosses nought at 10 x 6/8 = 7.5 cm
    assert zones([-2.0, -1.0, 1.0, 3.0], air=6.0) == [(7.5, 30.0)]
    assert zones([-2.0, -1.0, 1.0, 3.0], air=-6.0) == [(0.0, 30.0)]
    assert zones([-2.0, -1.0, 1.0, 3.0], air=np.nan) == [(0.0, 30.0)]


def test_soil_and_air_are_judged_by_the_same_isotherm():
    # all of the case above one degree colder, and so is the isotherm
    assert zones([-3.0, -2.0, 0.0, 2.0], air=5.0, freezing_c=-1.0, curtain_c=0.0) == [
        (7.5, 30.0)
    ]


def test_cold_air_alone_freezes_no_ground():
    assert zones([1.0, 2.0, 3.0, 4.0], air=-15.0) == []


def test_two_frozen_zones_of_one_day():
    assert zones([-1.0, 1.0, -1.0, 1.0]) == [(0.0, 15.0), (30.0, 50.0)]


def test_a_frozen_last_sensor_is_a_lower_bound():
    assert zones([-3.0, -2.0, -1.0, -0.5]) == [(0.0, 60.0)]


def test_ice_still_held_within_the_curtain_counts_as_frozen():
    temps, held = [[0.1, 0.1, 1.0, 3.0]], [[True, True, False, False]]
    frozen = frost_zones(daily(temps, held=held), curtain_c=0.75)
    # 20 cm counts as -0.1: nought lies at 20 + 20 x 0.1/1.1 = 21.8 cm
    assert frozen["bottom_cm"].tolist() == pytest.approx([21.818], abs=1e-3)
    assert len(frost_zones(daily(temps), curtain_c=0.75)) == 0
    assert len(frost_zones(daily(temps, held=held))) == 0
    warm = [[1.0, 1.0, 1.0, 3.0]]
    assert len(frost_zones(daily(warm, held=held), curtain_c=0.75)) == 0


def test_air_is_the_mean_of_the_days_extremes():
    weather = pd.DataFrame({
        "date": pd.to_datetime(["2020-11-30", "2020-12-02"]), "tmin_c": [-9.0, -4.0],
        "tmax_c": [1.0, 10.0],
    })  # fmt: skip
    air = air_of(daily([[1.0] * 4] * 3), weather)
    assert np.isnan(air).tolist() == [True, False, True]
    assert air[1] == 3.0
    assert np.isnan(air_of(daily([[1.0] * 4]), weather.head(0))).all()


def test_each_winter_keeps_its_deepest_frost_across_the_new_year():
    temps = np.full((500, 4), 5.0)
    temps[20:25, 0] = -1.0
    temps[40, :2] = -1.0  # 10 January: line at 20 + 20/6 = 23.3 cm
    temps[380:382, 0] = -2.0  # the winter after
    (one, two) = winters_frost(frost_zones(daily(temps)), month=7).to_dict("records")
    assert (one["winter"], one["days"]) == (2020, 6)
    assert one["deepest_cm"] == pytest.approx(20 + 20 / 6)
    assert one["deepest_on"] == one["last"] == pd.Timestamp("2021-01-10")
    assert one["first"] == pd.Timestamp("2020-12-21")
    assert (two["winter"], two["days"]) == (2021, 2)


def test_south_of_the_equator_a_winter_lies_within_a_year():
    temps = np.full((800, 4), 5.0)  # from 1 December 2020
    temps[200:240, 0] = -1.0  # 19 June to 28 July 2021
    (one,) = winters_frost(frost_zones(daily(temps)), month=1).to_dict("records")
    assert (one["winter"], one["days"]) == (2021, 40)
    assert len(winters_frost(frost_zones(daily(temps)), month=7)) == 2  # as parted in July


def test_no_frost_no_winters():
    none = winters_frost(frost_zones(daily([[5.0] * 4])), month=7)
    assert list(none.columns) == [
        "site", "winter", "deepest_cm", "deepest_on", "days", "first", "last",
    ]  # fmt: skip
    assert none.empty


@settings(max_examples=50, deadline=None)
@given(st.lists(st.floats(-8.0, 8.0), min_size=4, max_size=4), st.floats(-20.0, 20.0))
def test_zones_are_ordered_within_the_probe_and_hold_every_frozen_sensor(temps, air):
    found = zones(temps, air=air)
    edges = [edge for zone in found for edge in zone]
    assert edges == sorted(edges)
    assert all(0.0 <= edge <= 60.0 for edge in edges)
    for temp, depth in zip(temps, DEPTHS, strict=True):
        inside = any(top <= depth + 1e-9 and depth - 1e-9 <= bottom for top, bottom in found)
        assert inside or temp > -1e-6
