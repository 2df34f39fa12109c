"""Water that stands in for silent sensors, by hand."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.model import Layer
from analytics.water.silent import stood_in

FULL, LOWER = np.full(4, 120.0), np.full(4, 40.0)


def layers(*edges_cm: float) -> tuple[Layer, ...]:
    return tuple(
        Layer(site="s", depth_cm=(top + bottom) / 2, top_cm=top, bottom_cm=bottom)
        for top, bottom in itertools.pairwise(edges_cm)
    )


EVEN = layers(0.0, 40.0, 80.0, 120.0, 160.0)


def stood(water, recent, least_share=0.5, full=FULL, lower=LOWER):
    return stood_in(
        np.array(water), full, lower, EVEN,
        recent=np.array(recent), least_share=least_share,
    ).tolist()  # fmt: skip


def test_a_silent_layer_is_as_full_as_the_nearest_that_reads():
    full = np.array([120.0, 120.0, 120.0, 60.0])
    lower = np.array([40.0, 40.0, 40.0, 20.0])
    # the third is half full: (80 - 40) / 80; of the fourth's own 40 mm that is 20 above 20
    found = stood([100.0, 60.0, 80.0, 59.0], [True, True, True, False], full=full, lower=lower)
    assert found == [100.0, 60.0, 80.0, 40.0]


def test_of_two_as_near_the_upper_speaks():
    assert stood([100.0, 99.0, 60.0, 50.0], [True, False, True, True])[1] == 100.0


def test_too_little_that_reads_says_nothing_of_the_rest():
    found = stood([100.0, 60.0, 80.0, 50.0], [True, True, False, False], least_share=0.75)
    assert found[:2] == [100.0, 60.0]
    assert np.isnan(found[2:]).all()
    assert np.isnan(stood([100.0, 60.0, 80.0, 50.0], [False] * 4, least_share=0.0)).all()


def test_what_reads_stays_as_it_is():
    water = [100.0, 60.0, 80.0, 50.0]
    assert stood(water, [True] * 4) == water
    assert stood([np.nan, 60.0, 80.0, 50.0], [True] * 4)[0] == 60.0, "never read is silent, too"


@given(
    st.lists(st.floats(40.0, 120.0), min_size=4, max_size=4),
    st.lists(st.booleans(), min_size=4, max_size=4).filter(any),
)
def test_nothing_stands_outside_what_was_read(water, recent):
    found = np.array(stood(water, recent, least_share=0.0))
    read = np.array(water)[np.array(recent)]
    assert read.min() - 1e-9 <= found.min() <= found.max() <= read.max() + 1e-9
    assert found[np.array(recent)] == pytest.approx(read)
