"""Water is conserved however the profile is cut."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.model import Layer
from analytics.soil.profile import (
    layer_water_mm,
    resolve_layers,
    thickness_mm,
    zone_sum,
    zone_sum_seen,
    zone_weights,
)

TOLERANCE_MM = 1e-9


@st.composite
def profiles(draw):
    gaps = draw(st.lists(st.floats(2.0, 40.0), min_size=1, max_size=12))
    depths = np.cumsum(np.array(gaps))
    theta = np.array([draw(st.floats(0.0, 0.6)) for _ in gaps])
    return resolve_layers("p", depths, (), None), theta


@given(profiles())
@settings(max_examples=50, deadline=None)
def test_layers_cover_the_profile_without_hole_or_overlap(profile):
    layers, _ = profile
    assert layers[0].top_cm == 0.0
    for upper, lower in pairwise(layers):
        assert upper.bottom_cm == lower.top_cm
    for one in layers:
        assert one.top_cm < one.depth_cm < one.bottom_cm
    total = thickness_mm(layers).sum()
    assert total == pytest.approx(10 * layers[-1].bottom_cm, abs=TOLERANCE_MM)


@given(profiles(), st.floats(0.0, 400.0))
@settings(max_examples=50, deadline=None)
def test_upper_and_deep_make_the_profile(profile, split_cm):
    layers, theta = profile
    water = layer_water_mm(theta, layers)
    weights = zone_weights(layers, split_cm)
    np.testing.assert_allclose(weights["upper"] + weights["deep"], 1.0, atol=1e-12)
    whole = water.sum()
    upper, _ = zone_sum_seen(water, weights["upper"], layers)
    deep, _ = zone_sum_seen(water, weights["deep"], layers)
    assert np.nan_to_num(upper) + np.nan_to_num(deep) == pytest.approx(whole, abs=TOLERANCE_MM)
    assert zone_sum(water, weights["profile"]) == pytest.approx(whole, abs=TOLERANCE_MM)


@given(profiles(), st.floats(0.0, 400.0), st.floats(1.0, 400.0))
@settings(max_examples=50, deadline=None)
def test_what_roots_cannot_reach_is_in_no_zone(profile, split_cm, limit_cm):
    layers, _ = profile
    cut = zone_weights(layers, split_cm, root_limit_cm=limit_cm)
    np.testing.assert_allclose(cut["upper"] + cut["deep"], cut["profile"], atol=1e-12)
    reached_mm = (cut["profile"] * thickness_mm(layers)).sum()
    least = min(layers[-1].bottom_cm, limit_cm)
    assert reached_mm == pytest.approx(10 * least, abs=TOLERANCE_MM)


@given(profiles(), st.data())
@settings(max_examples=50, deadline=None)
def test_cutting_a_layer_in_two_keeps_every_zone(profile, data):
    layers, theta = profile
    which = data.draw(st.integers(0, len(layers) - 1))
    share = data.draw(st.floats(0.1, 0.9))
    split_cm = data.draw(st.floats(0.0, 300.0))
    one = layers[which]
    cut = one.top_cm + share * one.thickness_cm
    halves = [
        Layer(site="p", depth_cm=(top + bottom) / 2, top_cm=top, bottom_cm=bottom)
        for top, bottom in ((one.top_cm, cut), (cut, one.bottom_cm))
    ]
    finer = (*layers[:which], *halves, *layers[which + 1 :])
    finer_theta = np.insert(theta, which, theta[which])
    for zone, weights in zone_weights(layers, split_cm).items():
        coarse, seen = zone_sum_seen(layer_water_mm(theta, layers), weights, layers)
        fine, finer_seen = zone_sum_seen(
            layer_water_mm(finer_theta, finer), zone_weights(finer, split_cm)[zone], finer
        )
        assert fine == pytest.approx(coarse, abs=TOLERANCE_MM, nan_ok=True)
        assert finer_seen == pytest.approx(seen, nan_ok=True)
