"""Volumes and depths: NRCS NEH 652 (QT = DA), MSU Cares F804; exact by definition."""

import pytest

from analytics.units import HECTARES_PER_ACRE, LITRES_PER_GALLON
from analytics.water.pumping import depth_mm, gross_mm, hours, volume_m3

GPM = LITRES_PER_GALLON / 60  # L/s


def test_one_acre_inch_is_27154_gallons():
    gallons = volume_m3(25.4, HECTARES_PER_ACRE) * 1000 / LITRES_PER_GALLON
    assert gallons == pytest.approx(27_154.286, abs=0.0005)
    assert volume_m3(25.4, HECTARES_PER_ACRE) == pytest.approx(102.790, abs=0.0005)


def test_one_mm_on_one_hectare_is_ten_cubic_metres():
    assert volume_m3(1.0, 1.0) == pytest.approx(10.0, abs=1e-12)


def test_452_571_gpm_for_an_hour_is_an_acre_inch():
    assert hours(25.4, HECTARES_PER_ACRE, 452.571 * GPM) == pytest.approx(1.0, abs=1e-5)


def test_18_857_gpm_an_acre_is_an_inch_a_day():
    assert depth_mm(18.857 * GPM, 24.0, HECTARES_PER_ACRE) == pytest.approx(25.4, abs=0.001)


@pytest.mark.parametrize(
    ("gpm", "acres", "inches"),
    [(400, 125, 0.170), (500, 125, 0.212), (800, 125, 0.339), (589, 125, 0.2499)],
)
def test_inches_a_day(gpm, acres, inches):
    # our arithmetic on Q t = d A, not published in this form
    a_day = depth_mm(gpm * GPM, 24.0, acres * HECTARES_PER_ACRE) / 25.4
    assert a_day == pytest.approx(inches, abs=0.0006)


@pytest.mark.parametrize(
    ("net", "efficiency", "gross"),
    [(0.40, 0.75, 0.533), (1.0, 0.85, 1.176), (1.0, 0.95, 1.053)],
)
def test_gross_is_net_over_efficiency(net, efficiency, gross):
    assert gross_mm(net, efficiency) == pytest.approx(gross, abs=0.0005)
