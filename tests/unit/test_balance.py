"""The bare-soil balance: nothing is made or lost, and water finds its way from the top."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as how
from hypothesis import strategies as st

from analytics.model import Layer
from analytics.settings import Settings
from analytics.water.balance import Soil, Weather, abreast, bare_soil, cascade, soil_of

SETTINGS = Settings()
SOIL = Soil(full_mm=np.full(4, 90.0), lower_mm=np.full(4, 45.0), thick_mm=np.full(4, 300.0),
            rew_mm=9.0, tew_mm=22.0)  # fmt: skip


def weather(water, eto, frozen=None):
    water = np.atleast_2d(np.asarray(water, float))
    frozen = np.zeros(water.shape, bool) if frozen is None else np.atleast_2d(frozen)
    return Weather(water, np.broadcast_to(np.asarray(eto, float), water.shape), frozen)


def test_each_layer_fills_before_any_water_passes():
    water, out = cascade(np.array([[80.0, 60.0, 50.0, 90.0]]), SOIL.full_mm, np.array([45.0]))
    assert water == pytest.approx(np.array([[90.0, 90.0, 55.0, 90.0]]))
    assert out == pytest.approx([0.0])


def test_what_is_above_full_drains_down():
    water, out = cascade(np.array([[95.0, 90.0, 90.0, 90.0]]), SOIL.full_mm, np.zeros(1))
    assert water == pytest.approx(np.full((1, 4), 90.0))
    assert out == pytest.approx([5.0])


def test_frozen_days_keep_their_water_until_thaw():
    frozen = np.array([True, True, False])
    run = bare_soil(np.full(4, 60.0), SOIL, weather([10.0, 0.0, 0.0], 0.0, frozen), SETTINGS)
    assert run.layers_mm[0, 1] == pytest.approx(np.full(4, 60.0))
    assert run.layers_mm[0, 2, 0] == pytest.approx(70.0)


def test_only_the_surface_dries():
    run = bare_soil(np.full(4, 90.0), SOIL, weather(np.zeros(60), 6.0), SETTINGS)
    lost = 90.0 - run.layers_mm[0, -1]
    assert lost[0] == pytest.approx(22.0, abs=0.05)  # all that can evaporate
    assert lost[1:] == pytest.approx(np.zeros(3))


def test_points_become_water_and_evaporable_water():
    layers = (
        Layer(site="a", depth_cm=10, top_cm=0, bottom_cm=20, texture="sandy loam"),
        Layer(site="a", depth_cm=30, top_cm=20, bottom_cm=40, texture="sandy loam"),
    )
    soil = soil_of(layers, np.array([0.23, 0.23]), np.array([0.10, 0.10]), SETTINGS)
    assert soil.tew_mm == pytest.approx(18.0)  # FAO-56 Example 35: 1000 (0.23 - 0.05) 0.1
    assert soil.rew_mm == 8.0  # FAO-56 Example 35
    assert soil.full_mm == pytest.approx([46.0, 46.0])


@how(max_examples=40, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), years=st.integers(1, 4), days=st.integers(1, 40),
       k=st.integers(1, 6))  # fmt: skip
def test_water_is_neither_made_nor_lost(seed, years, days, k):
    draw = np.random.default_rng(seed)
    thick = draw.uniform(30, 400, k)
    lower = draw.uniform(0.05, 0.15, k) * thick
    full = lower + draw.uniform(0.05, 0.2, k) * thick
    soil = Soil(full_mm=full, lower_mm=lower, thick_mm=thick, rew_mm=8.0, tew_mm=20.0)
    start = draw.uniform(lower, full * 1.1)
    rain = draw.uniform(0, 30, (years, days)) * (draw.random((years, days)) < 0.3)
    frozen = draw.random((years, days)) < 0.3
    run = bare_soil(start, soil, weather(rain, draw.uniform(0, 8, (years, days)), frozen),
                    SETTINGS)  # fmt: skip
    end = run.layers_mm[:, -1].sum(axis=1) + run.surface_mm
    assert end + run.evaporated_mm + run.drained_mm == pytest.approx(
        start.sum() + rain.sum(axis=1)
    )
    assert (run.layers_mm <= full + 1e-9).all()
    assert (run.evaporated_mm >= 0).all()
    assert (run.drained_mm >= -1e-9).all()


@how(max_examples=40, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), sites=st.integers(1, 5), k=st.integers(1, 6))
def test_sites_abreast_go_as_each_goes_alone(seed, sites, k):
    draw = np.random.default_rng(seed)
    thick = draw.uniform(30, 400, (sites, k))  # the surface reaches one layer here, three there
    lower = draw.uniform(0.05, 0.15, (sites, k)) * thick
    full = lower + draw.uniform(0.05, 0.2, (sites, k)) * thick
    soils = [
        Soil(full_mm=full[at], lower_mm=lower[at], thick_mm=thick[at],
             rew_mm=draw.uniform(4, 10), tew_mm=draw.uniform(20, 80))
        for at in range(sites)
    ]  # fmt: skip
    start = draw.uniform(lower, full)
    rain = draw.uniform(0, 30, (3, 25)) * (draw.random((3, 25)) < 0.3)
    days = weather(rain, draw.uniform(0, 8, (3, 25)), draw.random((3, 25)) < 0.3)
    together = bare_soil(start[:, None], abreast(soils), days, SETTINGS)
    for at, soil in enumerate(soils):
        alone = bare_soil(start[at], soil, days, SETTINGS)
        assert np.array_equal(together.layers_mm[at], alone.layers_mm)
        assert np.array_equal(together.evaporated_mm[at], alone.evaporated_mm)
        assert np.array_equal(together.drained_mm[at], alone.drained_mm)
        assert np.array_equal(together.surface_mm, alone.surface_mm)
