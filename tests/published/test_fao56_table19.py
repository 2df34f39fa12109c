"""FAO-56 (Allen, Pereira, Raes & Smith 1998), Table 19, p. 144: points by texture."""

import math

import pytest

from analytics.soil.texture import texture_points

# soil, field capacity from, to, wilting point from, to: as printed, m3/m3
TABLE_19 = [
    ("Sand", 0.07, 0.17, 0.02, 0.07),
    ("Loamy sand", 0.11, 0.19, 0.03, 0.10),
    ("Sandy loam", 0.18, 0.28, 0.06, 0.16),
    ("Loam", 0.20, 0.30, 0.07, 0.17),
    ("Silt loam", 0.22, 0.36, 0.09, 0.21),
    ("Silt", 0.28, 0.36, 0.12, 0.22),
    ("Silt clay loam", 0.30, 0.37, 0.17, 0.24),
    ("Silty clay", 0.30, 0.42, 0.17, 0.29),
    ("Clay", 0.32, 0.40, 0.20, 0.24),
]


@pytest.mark.parametrize("row", TABLE_19, ids=lambda row: row[0])
def test_points_are_the_middle_of_the_printed_range(row):
    soil, full_from, full_to, lower_from, lower_to = row
    points = texture_points(soil)
    assert points.full == pytest.approx((full_from + full_to) / 2, abs=1e-12)
    assert points.lower == pytest.approx((lower_from + lower_to) / 2, abs=1e-12)
    # uniform over the range: ours, not FAO's
    assert points.full_sd == pytest.approx((full_to - full_from) / math.sqrt(12))
    assert points.lower_sd == pytest.approx((lower_to - lower_from) / math.sqrt(12))
