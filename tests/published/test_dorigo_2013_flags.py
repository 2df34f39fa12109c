"""Range, spike and frozen-soil rules of Dorigo et al. 2013.

Global automated quality control of in situ soil moisture data, Vadose Zone Journal 12(3),
doi:10.2136/vzj2012.0097: C01 below 0, C02 above 0.60 m3/m3, D01 soil at or below freezing
(theirs: below; ours holds at 0 too), D06 spike: change over 15 %, balanced bends (0.8 to 1.2),
variance over mean within 12 hours below 1 in per cent by volume. The paper prints no series;
those below are constructed so that exactly one condition fails at a time.
"""

import numpy as np
import pytest

from analytics.model import Record
from analytics.settings import Settings
from analytics.soil.repeats import spikes

AT = 20


def hourly(theta) -> Record:
    theta = np.asarray(theta, np.float64)[:, None]
    times = np.datetime64("2024-06-01", "us") + np.arange(len(theta)) * np.timedelta64(
        3600, "s"
    )
    return Record(site="p", times=times, depths_cm=np.array([10.0]), theta=theta,
                  temp_c=np.full(theta.shape, 15.0))  # fmt: skip


def spiked(theta) -> list[int]:
    return np.flatnonzero(spikes(hourly(theta), Settings())[:, 0]).tolist()


@pytest.mark.parametrize(
    ("share", "found"), [(1.16, True), (1.14, False), (0.84, True), (0.86, False)]
)
def test_fifteen_percent_is_the_least_leap(share, found):
    theta = np.full(41, 0.20)
    theta[AT] *= share
    assert spiked(theta) == ([AT] if found else [])


def test_bends_must_balance():
    """x''(t-1) = x(t-2) - 2 x(t-1) + x(t) = +0.10; x''(t+1) = x(t) - 2 x(t+1) + x(t+2)."""
    theta = np.full(41, 0.20)
    theta[AT] = 0.30
    theta[AT + 1 :] = 0.205  # x''(t+1) = 0.30 - 0.41 + 0.205 = 0.095; ratio 1.05
    assert spiked(theta) == [AT]
    theta[AT + 1 :] = 0.22  # x''(t+1) = 0.30 - 0.44 + 0.22 = 0.08; ratio 1.25
    assert spiked(theta) == []


def test_the_record_around_must_be_quiet():
    """Alternating 0.20 +- d has variance d^2 over mean 0.20: the limit 0.01 is d = 0.0447."""
    for spread, found in ((0.03, True), (0.06, False)):
        theta = np.full(41, 0.20)
        theta[AT - 12 : AT - 2 : 2] -= spread * np.sqrt(2.4)
        theta[AT + 4 : AT + 13 : 2] += spread * np.sqrt(2.4)
        theta[AT] = 0.30
        assert (AT in spiked(theta)) is found


def test_a_spike_beside_a_hole_is_not_judged():
    theta = np.full(41, 0.20)
    theta[AT], theta[AT + 1] = 0.30, np.nan
    assert spiked(theta) == []


def test_readings_days_apart_make_no_spike():
    theta = np.full(41, 0.20)
    theta[AT] = 0.30
    whole = hourly(theta)
    times = whole.times.copy()
    times[AT + 1 :] += np.timedelta64(5 * 86400, "s")
    holed = Record(site="p", times=times, depths_cm=whole.depths_cm, theta=whole.theta,
                   temp_c=whole.temp_c)  # fmt: skip
    assert not spikes(holed, Settings()).any()
