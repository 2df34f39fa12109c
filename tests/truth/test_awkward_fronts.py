"""Slow and overlapping fronts in a column of buckets written for this test alone.

Twenty slices of 5 cm; what lies above a slice's limit of 0.30 leaves it downwards at a fixed
share an hour. Four sensors, each in the middle of 25 cm; nothing evaporates.
"""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from analytics.model import Layer, Placement, Record
from analytics.settings import Settings
from analytics.soil.calendar import daily_values
from analytics.soil.hours import hours_of
from analytics.soil.wetting import find_wettings

SLICES, SLICE_MM, LIMIT = 20, 50.0, 0.30
DEPTHS = np.array([12.5, 37.5, 62.5, 87.5])
LAYERS = tuple(
    Layer(site="b", depth_cm=float(z), top_cm=float(z) - 12.5, bottom_cm=float(z) + 12.5)
    for z in DEPTHS
)
PLACED = (
    Placement(site="b", field="f", number=1, latitude=37.0, longitude=-101.0, timezone="UTC",
              installed_on=date(2019, 1, 1), removed_on=None),
)  # fmt: skip
FIRST = np.datetime64("2021-10-01", "us")
DAYS = 60
SETTINGS = Settings()


def column(storms, share_an_hour):
    """March the column by the hour; storms are (day, hour, mm). Gives (hours, 4) mm."""
    water = np.full(SLICES, 0.16 * SLICE_MM)
    held = np.empty((DAYS * 24, len(DEPTHS)))
    falls = {24 * day + hour: mm for day, hour, mm in storms}
    for step in range(DAYS * 24):
        water[0] += falls.get(step, 0.0)
        out = share_an_hour * np.maximum(water - LIMIT * SLICE_MM, 0.0)
        water -= out
        water[1:] += out[:-1]
        held[step] = water.reshape(len(DEPTHS), -1).sum(axis=1)
    return held


def told(held, storms):
    noise = np.random.default_rng(3).normal(0.0, 0.0008, held.shape)
    record = Record(
        site="b", times=FIRST + np.arange(len(held)) * np.timedelta64(1, "h"), depths_cm=DEPTHS,
        theta=held / 250.0 + noise, temp_c=np.full(held.shape, 9.0),
    )  # fmt: skip
    flags = np.zeros(held.shape, np.uint16)
    days = [pd.Timestamp(FIRST + np.timedelta64(day, "D")) for day, _, _ in storms]
    rain = pd.DataFrame({"date": pd.Series(days, dtype="datetime64[us]"), "kind": "rain",
                         "mm": [float(mm) for _, _, mm in storms]})  # fmt: skip
    daily = daily_values(record, flags, PLACED, SETTINGS)
    hours = hours_of(record, flags, PLACED, SETTINGS)
    return find_wettings(daily, LAYERS, rain, SETTINGS, hours)


@pytest.mark.parametrize("share_an_hour", [0.5, 0.1, 0.04])
def test_a_slow_front_is_one_wetting_however_long_it_moves(share_an_hour):
    storms = ((20, 10, 60.0),)
    held = column(storms, share_an_hour)
    wettings, parts = told(held, storms)
    (event,) = wettings.to_dict("records")
    assert event["stored_mm"] == pytest.approx(60.0, abs=3.0)
    assert event["storage_efficiency"] == pytest.approx(1.0, abs=0.05)
    assert not event["bypass"]
    within = held[: (21 + 7) * 24 + 6]
    reached = (within[-1] - held[0] > 1.25).sum()  # 0.005 of 250 mm
    assert event["depth_reached_cm"] == DEPTHS[reached - 1]
    assert parts["arrival_at"].is_monotonic_increasing


@pytest.mark.parametrize("days_apart", [1, 3, 5])
def test_a_second_front_on_the_heels_of_the_first_counts_no_water_twice(days_apart):
    storms = ((20, 10, 50.0), (20 + days_apart, 15, 50.0))
    wettings, _ = told(column(storms, 0.1), storms)
    assert len(wettings) == 2
    assert list(wettings["applied_mm"]) == [50.0, 50.0]
    assert wettings["stored_mm"].sum() == pytest.approx(100.0, abs=4.0)
    assert list(wettings["cause"]) == ["rain", "rain"]
    assert not wettings["bypass"].any()


def test_the_hour_of_arrival_is_the_columns_own():
    storms = ((20, 10, 90.0),)
    held = column(storms, 0.2)
    _, parts = told(held, storms)
    for depth, at in zip(parts["depth_cm"], parts["arrival_at"], strict=True):
        layer = int(np.flatnonzero(depth == DEPTHS)[0])
        true = int(np.argmax(held[:, layer] - held[0, layer] > 0.005 * 250.0))
        off = (at - pd.Timestamp(FIRST)) / pd.Timedelta(hours=1) - true
        assert abs(off) <= 6
