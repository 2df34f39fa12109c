"""A crop's root zone by day: what the probe reads, the balance beside it, where they part."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from analytics.water.balance import root_zone
from analytics.water.depletion import (
    account,
    effective_mm,
    entering_mm,
    measured_mm,
    paces,
    parted_layer,
)
from tests.unit.grown import LAYERS, PLANTED, POINTS, SETTINGS, grown

DAYS = 25
MM = arrays(float, DAYS, elements=st.floats(0, 40))
ROOM = arrays(float, DAYS, elements=st.floats(60, 200))


@given(st.floats(0, 60), MM, MM, ROOM, MM)
def test_the_balance_closes_every_day(start: float, water, crop, taw, offered) -> None:
    run = root_zone(start, water, crop, available_mm=taw, ready_mm=taw / 2,
                    entering_mm=water[::-1] / 10, offered_mm=offered)  # fmt: skip
    before = np.concatenate([[start], run.end_mm[:-1]])
    came = water + run.given_mm
    change = run.taken_mm + run.drained_mm + water[::-1] / 10 - came
    assert run.end_mm - before == pytest.approx(change, abs=0.01)
    assert (run.given_mm <= offered + 1e-9).all()
    assert (run.start_mm >= -1e-9).all()


@given(st.lists(st.floats(0, 60), min_size=2, max_size=4), MM, MM, ROOM)
def test_many_years_at_once_are_each_run_alone(starts: list[float], water, crop, taw) -> None:
    many = root_zone(np.array(starts), np.tile(water, (len(starts), 1)), crop,
                     available_mm=taw, ready_mm=taw / 2)  # fmt: skip
    for row, start in enumerate(starts):
        one = root_zone(start, water, crop, available_mm=taw, ready_mm=taw / 2)
        assert many.end_mm[row] == pytest.approx(one.end_mm)


def told(one):
    return account(one, "s", np.datetime64(PLANTED), SETTINGS)


def test_a_crop_that_goes_as_reckoned_parts_from_nothing() -> None:
    water = np.zeros(80)
    water[30] = 25.0
    days = told(grown(water=water))
    assert days["balance_mm"].iloc[1:].to_numpy() == pytest.approx(
        days["probe_mm"].iloc[1:].to_numpy(), abs=1e-6
    )
    assert days["pace"].to_numpy() == pytest.approx(1.0, abs=0.1)  # but for the first day
    assert days["apart_mm"].abs().max() < 5.0


def test_depletion_counts_only_what_is_within_the_roots_and_only_when_all_is_read() -> None:
    state = np.array([[0.22, 0.30, 0.32, 0.10], [0.22, np.nan, 0.32, 0.10]])
    inside = np.array([[200.0, 100.0, 0.0, 0.0]] * 2)
    got = measured_mm(state, POINTS.full, inside)
    assert got[0] == pytest.approx(0.10 * 200 + 0.02 * 100)
    assert np.isnan(got[1])
    assert measured_mm(np.array([[0.40, 0.32, 0.32, 0.32]]), POINTS.full, inside[:1]) == 0.0


def test_dry_subsoil_enters_as_roots_reach_it() -> None:
    state = np.full((3, 4), 0.32)
    state[:, 1] = 0.27
    inside = np.array([[200.0, 0, 0, 0], [200.0, 50, 0, 0], [200.0, 80, 0, 0]])
    got = entering_mm(state, POINTS.full, inside)
    assert got == pytest.approx([0.0, 0.05 * 50, 0.05 * 30])


def test_light_rain_is_left_out() -> None:
    # FAO-56 p. 170: less than about 0.2 ETo
    assert effective_mm(np.array([0.9, 1.1]), np.array([5.0, 5.0]), SETTINGS).tolist() == [
        0.0, 1.1,
    ]  # fmt: skip


def test_a_hole_in_the_record_is_bridged_by_the_balance() -> None:
    one = grown()
    state = one.state.copy()
    state[40:50] = np.nan
    days = told(replace(one, state=state))
    assert days["probe_mm"].iloc[40:50].isna().all()
    assert days["balance_mm"].notna().all()
    whole = told(one)["balance_mm"]
    assert days["balance_mm"].iloc[50] == pytest.approx(whole.iloc[50], abs=3.0)


@pytest.mark.parametrize(("layer", "mm"), [(0, 30.0), (2, 30.0), (1, -28.0)])
def test_where_balance_and_probe_part_the_layer_is_named(layer: int, mm: float) -> None:
    """Water that is in no record reaches one layer, or goes from it."""
    one = grown()
    state = one.state.copy()
    last = len(state) - 1
    state[last - 3 :, layer] -= mm / 200.0
    changed = replace(one, state=state)
    days = told(changed)
    assert days["apart_mm"].iloc[-1] == pytest.approx(mm, abs=6.0)
    found = parted_layer(changed, last, SETTINGS)
    assert found is not None
    assert found.depth_cm == LAYERS[layer].depth_cm
    assert np.sign(found.drier_mm) == np.sign(mm)


def test_nothing_is_named_where_nothing_is_read() -> None:
    one = grown()
    state = one.state.copy()
    state[-1] = np.nan
    assert parted_layer(replace(one, state=state), len(state) - 1, SETTINGS) is None
    assert parted_layer(one, 3, SETTINGS) is None


def test_the_pace_is_what_went_over_what_was_reckoned() -> None:
    taken = np.full(40, 5.0)
    probe = np.cumsum(np.full(40, 4.0))
    balance = np.concatenate([[4.0], probe[:-1] + 5.0])  # reckoned from the reading before
    pace = paces(probe, balance, taken, SETTINGS)
    n, prior = int(SETTINGS.pace_days), SETTINGS.pace_prior_mm
    assert pace[-1] == pytest.approx((4.0 * n + prior) / (5.0 * n + prior))
    assert paces(probe * np.nan, balance, taken, SETTINGS) == pytest.approx(1.0)
    assert paces(probe, balance + 100, taken, SETTINGS).min() == 0.5
