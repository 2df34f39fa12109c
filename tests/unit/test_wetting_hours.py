"""Wettings followed by the hour: arrival, pauses, and what happens where hours are missing."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from analytics.contract import TABLES
from analytics.model import Layer, Placement, Record
from analytics.settings import Settings
from analytics.soil.calendar import daily_values
from analytics.soil.hours import first_above, hours_of, rise_hours
from analytics.soil.wetting import find_wettings

DEPTHS = np.array([10.0, 30.0, 50.0])
LAYERS = tuple(
    Layer(site="h", depth_cm=float(z), top_cm=float(z) - 10, bottom_cm=float(z) + 10)
    for z in DEPTHS
)
PLACED = (
    Placement(site="h", field="f", number=1, latitude=37.0, longitude=-101.0, timezone="UTC",
              installed_on=date(2019, 1, 1), removed_on=None),
)  # fmt: skip
FIRST = np.datetime64("2020-03-01T00:00", "us")
DAYS = 40
SETTINGS = Settings()


def flat(step_h=1):
    return np.full((DAYS * 24 // step_h, 3), 0.20)


def instant(day, hour):
    return pd.Timestamp(FIRST + np.timedelta64(24 * day + hour, "h"))


def found(theta, *, step_h=1, rain=(), keep=None):
    times = FIRST + np.arange(len(theta)) * np.timedelta64(step_h, "h")
    keep = np.ones(len(theta), bool) if keep is None else keep
    record = Record(site="h", times=times[keep], depths_cm=DEPTHS, theta=theta[keep],
                    temp_c=np.full(theta[keep].shape, 9.0))  # fmt: skip
    flags = np.zeros(record.theta.shape, np.uint16)
    daily = daily_values(record, flags, PLACED, SETTINGS)
    came = pd.DataFrame({
        "date": pd.Series([instant(day, 0) for day, _ in rain], dtype="datetime64[us]"),
        "kind": pd.Series(["rain"] * len(rain), dtype="str"),
        "mm": np.array([mm for _, mm in rain], float),
    })  # fmt: skip
    hours = hours_of(record, flags, PLACED, SETTINGS)
    return find_wettings(daily, LAYERS, came, SETTINGS, hours)


def front():
    theta = flat()
    theta[20 * 24 + 14 :, 0] += 0.06  # at 14 h of day 20
    theta[21 * 24 + 2 :, 1] += 0.03  # at 2 h of day 21
    theta[22 * 24 + 20 :, 2] += 0.02  # at 20 h of day 22
    return theta


def test_each_layer_is_reached_at_its_hour():
    wettings, parts = found(front(), rain=((20, 30.0),))
    (event,) = wettings.to_dict("records")
    assert (event["depth_reached_cm"], event["bypass"]) == (50.0, False)
    assert list(parts["arrival_at"]) == [instant(20, 14), instant(21, 2), instant(22, 20)]
    assert list(parts["arrival"]) == [instant(day, 0) for day in (21, 21, 23)]  # its dawn
    assert event["stored_mm"] == pytest.approx(22.0)
    assert event["storage_efficiency"] == pytest.approx(22.0 / 30.0)


def test_the_frames_are_the_contract():
    for table, name in zip(found(front()), ("wettings", "wetting_layers"), strict=True):
        assert tuple(table.columns) == TABLES[name].names


def test_a_daily_record_names_no_hour():
    wettings, parts = found(front()[::24], step_h=24)
    assert len(wettings) == 1
    assert parts["arrival_at"].isna().all()
    assert np.isnan(wettings["storage_efficiency"]).all()  # nothing was recorded to arrive


def test_a_record_that_turns_daily_names_hours_where_it_has_them():
    early = front()
    early[5 * 24 + 9 :, 0] += 0.05
    keep = np.ones(len(early), bool)
    keep[10 * 24 :] = np.arange(len(early) - 240) % 24 == 0  # one reading a day from day 10
    _, parts = found(early, keep=keep)
    hourly = parts["arrival_at"].notna()
    assert list(parts.loc[hourly, "arrival_at"]) == [instant(5, 9)]
    assert (parts.loc[~hourly, "start"] > instant(15, 0)).all()


def two_storms(pause_h):
    theta = flat()
    theta[20 * 24 + 1 :, 0] += 0.03
    theta[20 * 24 + 1 + pause_h :, 0] += 0.03
    return theta


@pytest.mark.parametrize(("pause_h", "events"), [(8, 1), (30, 2)])
def test_rises_less_than_twelve_hours_apart_are_one(pause_h, events):
    rain = ((20, 8.0), (21, 8.0)) if pause_h > 20 else ((20, 16.0),)
    wettings, _ = found(two_storms(pause_h), rain=rain)
    assert len(wettings) == events
    assert wettings["applied_mm"].sum() == pytest.approx(16.0)  # each day's water once
    assert wettings["stored_mm"].sum() == pytest.approx(12.0)


@pytest.mark.parametrize(("begins", "ends"), [(2, 8), (4, 7), (5, 12), (1, 5), (3, 4)])
def test_rain_across_dawn_is_one_wetting_and_its_water_is_credited(begins, ends):
    theta = flat()
    rise = np.clip((np.arange(DAYS * 24) - 20 * 24 - begins) / (ends - begins), 0.0, 1.0)
    theta[:, 0] += 0.12 * rise
    wettings, _ = found(theta, rain=((20, 26.0),))
    (event,) = wettings.to_dict("records")
    assert (event["cause"], event["applied_mm"]) == ("rain", 26.0)
    assert event["stored_mm"] == pytest.approx(24.0)


def test_a_second_rise_without_new_water_is_the_rest_of_the_first():
    wettings, _ = found(two_storms(30), rain=((19, 16.0),))
    assert len(wettings) == 1


def test_an_answer_gone_by_dawn_is_seen():
    theta = flat()
    theta[20 * 24 + 8 :, 0] += 0.06
    theta[20 * 24 + 10 : 20 * 24 + 20, 1] += 0.04  # passes through
    theta[20 * 24 + 18 :, 2] += 0.03
    wettings, parts = found(theta, rain=((20, 25.0),))
    assert list(parts["depth_cm"]) == [10.0, 30.0, 50.0]
    assert not wettings["bypass"].iloc[0]
    assert wettings["depth_reached_cm"].iloc[0] == 50.0


def test_water_moving_down_days_later_starts_nothing():
    theta = flat()
    theta[20 * 24 :, 0] += 0.08
    for step in range(24 * 6):
        theta[24 * 24 + step :, 0] -= 0.04 / 144
        theta[24 * 24 + step :, 1] += 0.04 / 144
    wettings, _ = found(theta, rain=((19, 20.0),))
    assert len(wettings) == 1


def test_one_stray_reading_is_no_answer():
    theta = np.full((10, 2), 0.2)
    theta[4, 0] = 0.5
    theta[6:, 1] = 0.3
    assert list(first_above(theta, np.array([0.25, 0.25]))) == [-1, 6]
    assert list(first_above(theta[:2], np.array([0.25, 0.25]))) == [-1, -1]


def test_the_middle_of_a_rise_is_found():
    water = np.r_[np.full(8, 100.0), np.linspace(100, 110, 5), np.full(8, 110.0)]
    first, last = rise_hours(water, 10.0)
    assert 7 <= first <= 9
    assert 11 <= last <= 13


def test_a_rise_that_began_before_the_window_is_measured_from_what_it_began_on():
    # 24 mm from 100 on; the state before dawn stood at 112, the window opens at 116
    water = np.r_[116.0, 120.0, 124.0, np.full(20, 124.0)]
    first, last = rise_hours(water, 12.0)
    assert (first, last) == (1, 2)
