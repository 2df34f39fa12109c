"""Frost depth as the 0 C isotherm between sensors.

Source of the reckoning: soil temperatures at 5, 10, 20, 50 and 100 cm against frost tubes,
Pohorelice 1971-2000, Contributions to Geophysics and Geodesy: z0 = z1 + (0 - T1)(z2 - z1) /
(T2 - T1). The numbers are constructed: -2.0 C at 5 cm and +1.0 C at 10 cm give
5 + 2 x 5 / 3 = 8.33 cm.
"""

import numpy as np
import pytest

from analytics.model import Daily
from analytics.soil.frost import frost_zones

NAN = float("nan")


def daily(temp_c, depths_cm) -> Daily:
    temp = np.array(temp_c, np.float64)
    empty = np.full(temp.shape, np.nan)
    none = np.zeros(temp.shape, bool)
    return Daily(
        site="p", days=np.datetime64("2024-01-01") + np.arange(len(temp)),
        depths_cm=np.array(depths_cm), first=empty, last=empty, low=empty, high=empty,
        mean=empty, predawn=empty, state=empty, temp_c=temp, good=none.astype(np.int32),
        frozen=none, held=none, placement=np.ones(len(temp), np.int16),
    )  # fmt: skip


def zones(temps, depths):
    frame = frost_zones(daily([temps], depths))
    return list(zip(frame["top_cm"], frame["bottom_cm"], strict=True))


def test_the_isotherm_lies_at_eight_centimetres_and_a_third():
    assert zones([-2.0, 1.0], [5.0, 10.0]) == [(0.0, pytest.approx(8.33, abs=0.005))]


def test_thaw_from_above_leaves_a_frozen_zone_below():
    # 10 + 1 x 10 / 2 = 15 cm; 20 + 1 x 30 / 3 = 30 cm
    assert zones([3.0, 1.0, -1.0, 2.0], [5.0, 10.0, 20.0, 50.0]) == [
        (pytest.approx(15.0), pytest.approx(30.0))
    ]


def test_two_frozen_zones_are_told_apart():
    assert zones([-1.0, 1.0, -1.0], [10.0, 20.0, 30.0]) == [
        (0.0, pytest.approx(15.0)),
        (pytest.approx(25.0), 30.0),
    ]


def test_below_the_last_sensor_nothing_is_claimed():
    assert zones([-4.0, -1.0], [5.0, 20.0]) == [(0.0, 20.0)]


def test_a_sensor_without_temperature_is_passed_over():
    assert zones([-2.0, NAN, 2.0], [5.0, 7.0, 15.0]) == [(0.0, pytest.approx(10.0))]


def test_exactly_nought_is_frozen_to_that_sensor():
    assert zones([0.0, 1.0], [5.0, 10.0]) == [(0.0, 5.0)]


def test_warm_and_unread_days_have_no_rows():
    frame = frost_zones(daily([[1.0, 2.0], [NAN, NAN], [-1.0, 1.0]], [5.0, 10.0]))
    assert list(frame.columns) == ["site", "date", "top_cm", "bottom_cm"]
    assert frame["date"].tolist() == [np.datetime64("2024-01-03")]
    assert len(frost_zones(daily([[1.0, 2.0]], [5.0, 10.0]))) == 0
