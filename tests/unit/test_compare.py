"""Probes are compared on the soil they share, and unlike figures are not ranked."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.water.compare import difference, footing, laid_onto, zone_sum

EDGES = [[0.0, 30.0], [30.0, 60.0], [60.0, 120.0]]


@given(st.lists(st.floats(0, 100), min_size=3, max_size=3), st.floats(1, 119))
def test_water_is_neither_made_nor_lost_by_laying_it_onto_other_layers(held, cut):
    laid = laid_onto(EDGES, held, [[0.0, cut], [cut, 120.0]])
    assert laid.sum() == pytest.approx(sum(held), abs=1e-9)


def test_half_a_layer_gives_half_its_water_and_beyond_the_probe_nothing_is_known():
    laid = laid_onto(EDGES, [10.0, 20.0, 40.0], [[15.0, 45.0], [90.0, 120.0], [100.0, 130.0]])
    assert laid[:2] == pytest.approx([15.0, 20.0])
    assert np.isnan(laid[2])


def test_a_silent_layer_is_not_taken_for_dry():
    laid = laid_onto(EDGES, [10.0, np.nan, 40.0], [[0.0, 30.0], [0.0, 60.0]])
    assert laid[0] == pytest.approx(10.0)
    assert np.isnan(laid[1])


def test_errors_seen_in_place_add_in_quadrature_and_those_of_a_table_as_they_are():
    short, sd = [5.0, 5.0, 5.0], [3.0, 4.0, 7.0]
    assert zone_sum(EDGES, short, sd, ["learned", "set", "set"], (0, 60)) == (10.0, 5.0)
    assert zone_sum(EDGES, short, sd, ["texture"] * 3, (0, 60)) == (10.0, 7.0)
    mixed = zone_sum(EDGES, short, sd, ["learned", "texture", "texture"], (0, 60))
    assert mixed == (10.0, pytest.approx(5.0))  # hypot(3, 4)
    assert zone_sum(EDGES, short, sd, ["learned"] * 3, (60, 90)) == (2.5, 3.5)


def test_a_difference_is_told_only_beyond_its_own_interval():
    # MEMORY: normal deviate of 8 in 10, 1.2816 (any table of the normal distribution)
    wide = difference((50.0, 3.0, "in place"), (44.0, 4.0, "in place"))
    assert (wide.sd_mm, wide.verdict) == (5.0, "not told apart")  # 6 < 1.2816 x 5 = 6.4
    assert difference((51.0, 3.0, "in place"), (44.0, 4.0, "in place")).verdict == "shorter"
    assert difference((44.0, 4.0, "table"), (51.0, 3.0, "table")).verdict == "less short"


def test_unlike_figures_are_never_ranked_however_far_apart():
    apart = difference((150.0, 1.0, "in place"), (10.0, 1.0, "table"))
    assert apart.verdict == "unlike"
    assert apart.difference_mm == 140.0
    assert difference((np.nan, 1.0, "table"), (1.0, 1.0, "table")).verdict == "not known"


def test_what_several_layers_rest_on():
    assert footing(["learned", "set", "provisional"]) == "in place"
    assert footing(["texture", "not_yet_seen"]) == "table"
    assert footing(["learned", "texture"]) == "mixed"
    assert footing([]) == "not known"
