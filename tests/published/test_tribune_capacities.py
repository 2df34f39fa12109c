"""Schlegel's Tribune study, as told by UNL CropWatch (22 March 2013): three well capacities."""

import pytest

from analytics.units import HECTARES_PER_ACRE, LITRES_PER_GALLON
from analytics.water.pumping import depth_mm

ACRES = 130.0  # inferred: a quarter-section pivot


@pytest.mark.parametrize(
    ("gpm", "gpm_an_acre", "inches_a_day", "mm_a_day"),
    [(245, 1.9, 0.10, 2.5), (368, 2.8, 0.15, 3.8), (490, 3.7, 0.20, 5.0)],
)
def test_capacity_as_depth_a_day(gpm, gpm_an_acre, inches_a_day, mm_a_day):
    assert gpm / ACRES == pytest.approx(gpm_an_acre, abs=0.075)
    got = depth_mm(gpm * LITRES_PER_GALLON / 60, 24.0, ACRES * HECTARES_PER_ACRE)
    assert got / 25.4 == pytest.approx(inches_a_day, abs=0.005)
    assert got == pytest.approx(mm_a_day, abs=0.1)
