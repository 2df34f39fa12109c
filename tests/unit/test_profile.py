"""Layers, thickness and zones, worked by hand."""

from datetime import date

import numpy as np
import pytest

from analytics.errors import InputRefused
from analytics.model import Layer
from analytics.soil.profile import (
    layer_water_mm,
    resolve_layers,
    thickness_mm,
    zone_sum,
    zone_sum_seen,
    zone_weights,
)

NAN = float("nan")


def layer(depth, top=NAN, bottom=NAN, **known) -> Layer:
    return Layer(site="p", depth_cm=depth, top_cm=top, bottom_cm=bottom, **known)


def bounds(layers):
    return [(one.top_cm, one.bottom_cm) for one in layers]


def test_layers_end_at_midpoints_and_half_a_spacing_below_the_last():
    layers = resolve_layers("p", np.array([10.0, 30.0, 60.0]), (), "clay loam")
    # (10+30)/2 = 20, (30+60)/2 = 45, 60 + (60-30)/2 = 75
    assert bounds(layers) == [(0.0, 20.0), (20.0, 45.0), (45.0, 75.0)]
    assert {one.texture for one in layers} == {"clay loam"}
    assert thickness_mm(layers).tolist() == [200.0, 250.0, 300.0]


def test_a_lone_sensor_speaks_to_twice_its_depth():
    assert bounds(resolve_layers("p", np.array([30.0]), (), None)) == [(0.0, 60.0)]


def test_the_layer_table_overrides_and_keeps_what_is_known():
    table = (
        layer(60.0, bottom=90.0, texture="sand", full=0.2, limits_from=date(2020, 1, 1)),
        Layer(site="other", depth_cm=10.0, top_cm=1.0, bottom_cm=2.0),
    )
    layers = resolve_layers("p", np.array([10.0, 30.0, 60.0]), table, "loam")
    assert bounds(layers) == [(0.0, 20.0), (20.0, 45.0), (45.0, 90.0)]
    assert [one.texture for one in layers] == ["loam", "loam", "sand"]
    assert layers[2].full == 0.2
    assert layers[2].limits_from == date(2020, 1, 1)


def test_a_layer_upside_down_is_refused_by_depth():
    with pytest.raises(InputRefused, match="30 cm"):
        resolve_layers("p", np.array([30.0]), (layer(30.0, 40.0, 20.0),), None)


def test_zones_share_a_cut_layer_by_thickness():
    layers = (layer(40.0, 0.0, 80.0), layer(100.0, 80.0, 120.0), layer(140.0, 120.0, 160.0))
    weights = zone_weights(layers, 90.0)
    assert weights["upper"].tolist() == [1.0, 0.25, 0.0]
    assert weights["deep"].tolist() == [0.0, 0.75, 1.0]
    assert weights["profile"].tolist() == [1.0, 1.0, 1.0]
    rooted = zone_weights(layers, 90.0, floor_cm=130.0)
    assert rooted["deep"].tolist() == [0.0, 0.75, 0.25]
    assert rooted["profile"].tolist() == [1.0, 1.0, 1.0]


def test_a_floor_below_the_probe_or_above_the_split_adds_nothing():
    layers = (layer(40.0, 0.0, 80.0), layer(100.0, 80.0, 120.0))
    assert zone_weights(layers, 90.0, 500.0)["deep"].tolist() == [0.0, 0.75]
    assert zone_weights(layers, 90.0, 60.0)["deep"].tolist() == [0.0, 0.0]


def test_every_zone_ends_where_roots_must():
    layers = (layer(40.0, 0.0, 80.0), layer(100.0, 80.0, 120.0), layer(140.0, 120.0, 160.0))
    cut = zone_weights(layers, 90.0, root_limit_cm=110.0)
    assert cut["upper"].tolist() == [1.0, 0.25, 0.0]
    assert cut["deep"].tolist() == [0.0, 0.5, 0.0]
    assert cut["profile"].tolist() == [1.0, 0.75, 0.0]
    shallow = zone_weights(layers, 90.0, 150.0, root_limit_cm=60.0)
    assert shallow["upper"].tolist() == shallow["profile"].tolist() == [0.75, 0.0, 0.0]
    assert not shallow["deep"].any()
    beneath = zone_weights(layers, 90.0, root_limit_cm=500.0)
    assert beneath["profile"].tolist() == [1.0, 1.0, 1.0]


def test_a_sum_is_unknown_as_soon_as_a_layer_of_the_zone_is():
    values = np.array([[1.0, NAN, 3.0], [1.0, 2.0, NAN]])
    assert zone_sum(values, np.array([1.0, 0.5, 0.0])).tolist() == pytest.approx(
        [NAN, 2.0], nan_ok=True
    )
    assert np.isnan(zone_sum(values, np.zeros(3))).all()


def test_a_partial_sum_tells_how_much_it_saw():
    layers = (layer(5.0, 0.0, 10.0), layer(20.0, 10.0, 40.0))
    values = np.array([[1.0, 2.0], [1.0, NAN], [NAN, NAN]])
    total, seen = zone_sum_seen(values, np.array([1.0, 1.0]), layers)
    assert total == pytest.approx([3.0, 1.0, NAN], nan_ok=True)
    assert seen == pytest.approx([1.0, 0.25, 0.0])
    total, seen = zone_sum_seen(values, np.zeros(2), layers)
    assert np.isnan(total).all()
    assert np.isnan(seen).all()


def test_water_is_content_times_thickness():
    layers = (layer(5.0, 0.0, 10.0), layer(20.0, 10.0, 40.0))
    water = layer_water_mm(np.array([[0.2, 0.3], [NAN, 0.1]]), layers)
    assert water == pytest.approx(np.array([[20.0, 90.0], [NAN, 30.0]]), nan_ok=True)
