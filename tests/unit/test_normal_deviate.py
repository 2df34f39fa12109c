"""The width of every eight-in-ten interval, against scipy's normal distribution."""

import pytest
from scipy.special import ndtr

from analytics.units import EIGHT_IN_TEN


def test_eight_tenths_of_a_normal_spread_lie_within() -> None:
    assert ndtr(EIGHT_IN_TEN) - ndtr(-EIGHT_IN_TEN) == pytest.approx(0.8, abs=1e-15)
