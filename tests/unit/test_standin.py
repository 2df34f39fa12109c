"""What stands in for an unseen point, by sand, silt and clay or by the class alone."""

from dataclasses import replace

import pytest

from analytics.model import Layer
from analytics.soil.standin import soil_words, stand_in
from analytics.soil.texture import texture_points

LAYER = Layer(site="s", depth_cm=20.0, top_cm=0.0, bottom_cm=40.0, texture="silt loam")


def mixed(sand, silt, clay):
    return replace(LAYER, sand=sand, silt=silt, clay=clay)


def test_the_class_serves_where_the_shares_are_not_there():
    assert stand_in(LAYER) == texture_points("silt loam")
    assert stand_in(mixed(30.0, None, 30.0)) == texture_points("silt loam")
    assert soil_words(LAYER) == "silt loam, FAO-56 Table 19"


def test_shares_that_make_no_whole_are_not_used():
    assert stand_in(mixed(30.0, 30.0, 20.0)) == texture_points("silt loam")
    assert stand_in(mixed(30.0, 40.0, float("nan"))) == texture_points("silt loam")


def test_shares_are_brought_to_a_hundred():
    assert stand_in(mixed(30.3, 40.4, 30.3)) == stand_in(mixed(30.0, 40.0, 30.0))


def test_heavier_soil_holds_more_water():
    sand, loam, clay = (
        stand_in(mixed(*shares)) for shares in ((90, 5, 5), (40, 40, 20), (20, 20, 60))
    )
    assert sand.full < loam.full < clay.full
    assert sand.lower < loam.lower < clay.lower
    assert all(one.lower < one.full for one in (sand, loam, clay))


# The library's own parameters for 30 % sand, 40 % silt, 30 % clay, and the curve by hand:
# 0.1077 + 0.3161 (1 + (0.0063 x 330)^1.3828)^(1/1.3828 - 1) = 0.327; at 15 000 cm 0.163
def test_the_curve_is_read_at_a_third_and_at_fifteen_bar():
    told = stand_in(mixed(30.0, 40.0, 30.0))
    assert told.full == pytest.approx(0.327, abs=0.003)
    assert told.lower == pytest.approx(0.163, abs=0.003)
    assert soil_words(mixed(30.0, 40.0, 30.0)) == "30 % sand, 40 % silt, 30 % clay, Rosetta"
