"""Points learned from a little bucket of our own, whose drained upper limit is known."""

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analytics.contract import TABLES
from analytics.model import Daily, Layer, Placement, Season
from analytics.settings import Settings
from analytics.soil.layer_points import Point, lower_point
from analytics.soil.limits import all_evidence, all_points, learn_limits, points_of
from analytics.soil.points import latest_placement
from analytics.soil.texture import texture_points

K = 5
THICK_MM = 200.0
DEPTHS = np.arange(10.0, 10.0 + 20.0 * K, 20.0)
LAYERS = tuple(
    Layer(site="p", depth_cm=float(z), top_cm=float(z) - 10, bottom_cm=float(z) + 10,
          texture="silt loam")
    for z in DEPTHS
)  # fmt: skip
FIRST = np.datetime64("2018-01-01", "D")
PLACEMENT = Placement(
    site="p", field="f", number=1, latitude=39.0, longitude=-101.0,
    timezone="America/Chicago", installed_on=date(2018, 1, 1), removed_on=None,
)  # fmt: skip
SEASONS = tuple(
    Season(field="f", crop="sorghum", planted_on=date(y, 6, 1), harvested_on=date(y, 10, 10))
    for y in (2018, 2019, 2020)
)
NONE_SET = pd.DataFrame(columns=list(TABLES["limits"].names))
TRUE_FULL, TRUE_LOWER, START = 0.31, 0.14, 0.20


def bucket(storms, *, days=3 * 365, full: Any = TRUE_FULL, keep=0.6, noise=0.001, start=START):
    """Soil that lets ``1 - keep`` of what it holds above ``full`` go a day; roots in summer."""
    rng = np.random.default_rng(7)
    theta = np.full(K, start)
    full = np.broadcast_to(full, (K,))
    out = np.empty((days, K))
    for day in range(days):
        theta[0] += storms.get(day, 0.0) / THICK_MM
        for layer in range(K):
            over = max(theta[layer] - full[layer], 0.0) * (1.0 - keep)
            theta[layer] -= over
            if layer + 1 < K:
                theta[layer + 1] += over
        if 180 <= day % 365 < 275:
            theta -= 0.06 * np.clip(theta - TRUE_LOWER, 0.0, 0.05)
        out[day] = theta
    return out + rng.normal(0.0, noise, out.shape)


def winters(mm, *, each=(30, 70, 110), years=3):
    """Storms of ``mm`` on the same days of each year, before planting."""
    return {365 * year + day: mm for year in range(years) for day in each}


def a_daily(state, *, held=None, placement=None):
    held = np.zeros(state.shape, dtype=bool) if held is None else held
    return Daily(
        site="p", days=FIRST + np.arange(len(state)), depths_cm=DEPTHS, first=state, last=state,
        low=state, high=state, mean=state, predawn=state, state=state,
        temp_c=np.full(state.shape, 8.0), good=np.isfinite(state).astype(np.int32), frozen=held,
        held=held,
        placement=np.ones(len(state), dtype=np.int16) if placement is None else placement,
    )  # fmt: skip


def learned(state, *, layers=LAYERS, seasons=SEASONS, placements=(PLACEMENT,),
            set_limits=NONE_SET, **kw):  # fmt: skip
    daily = a_daily(state, **kw)
    return learn_limits(daily, layers, seasons, placements, set_limits, Settings())


def of(limits, point, depth=None, placement=1) -> Any:
    rows = limits[(limits["point"] == point) & (limits["placement"] == placement)]
    rows = rows.set_index("depth_cm")
    return rows if depth is None else rows.loc[depth]


def test_frame_is_the_contract():
    limits = learned(bucket({}))
    assert tuple(limits.columns) == TABLES["limits"].names
    assert len(limits) == 3 * K
    assert limits["valid_from"].dtype == "datetime64[us]"
    assert limits["ponded"].dtype == bool
    assert not limits.duplicated(list(TABLES["limits"].key)).any()


# Below a slow layer the flow from above still makes up for what goes: at Ratliff's rate it
# holds up to 0.012 more than in the end (0.7, where three tenths go in a day).
@pytest.mark.parametrize(
    ("keep", "noise", "off"), [(0.3, 0.0, 0.005), (0.6, 0.001, 0.01), (0.7, 0.003, 0.015)]
)
def test_the_drained_upper_limit_is_found(keep, noise, off):
    full = of(learned(bucket(winters(120.0), keep=keep, noise=noise)), "full")
    assert list(full["state"]) == ["learned"] * K
    assert full["value"].to_numpy() == pytest.approx(TRUE_FULL, abs=off)
    assert (full["wettings"] >= 3).all()
    assert (np.abs(full["value"] - TRUE_FULL) < 3 * full["sd"]).all()  # as sure as told


def test_each_layer_has_its_own():
    truth = np.array([0.27, 0.33, 0.29, 0.35, 0.31])
    full = of(learned(bucket(winters(150.0), full=truth)), "full")
    assert full["value"].to_numpy() == pytest.approx(truth, abs=0.01)


def test_one_year_is_provisional():
    storms = winters(120.0, years=1)
    full = of(learned(bucket(storms, days=300)), "full")
    assert set(full["state"]) == {"provisional"}
    assert (full["sd"] > 0.015).all()


def test_two_wettings_are_provisional():
    storms = {50: 150.0, 365 + 50: 150.0}
    assert of(learned(bucket(storms)), "full", 10.0)["state"] == "provisional"


def test_a_layer_wetted_part_of_the_way_is_never_learned():
    # 6 mm on 200 mm at 0.20: 0.23, far from 0.31, then drying on at a falling rate
    storms = winters(6.0)
    state = bucket(storms, noise=0.0005)
    for day in storms:
        state[day : day + 25, 0] += 0.012 * np.exp(-np.arange(25) / 2.0)  # not yet spread
    full = of(learned(state), "full")
    assert set(full["state"]) == {"not_yet_seen"}
    assert set(full["wettings"]) == {0}


def test_the_deepest_layer_reached_is_not_learned_from_what_it_caught():
    # 22 mm fill a layer from 0.20 to 0.31: 50 mm fill two and leave 6 mm in the third
    full = of(learned(bucket({30: 50.0}, days=200), seasons=()), "full")
    assert full.loc[10.0, "state"] == "provisional"
    assert full.loc[30.0, "state"] == "provisional"
    assert set(full.loc[50.0:, "state"]) == {"not_yet_seen"}


def test_not_yet_seen_full_stands_on_the_texture_with_its_spread():
    texture = texture_points("silt loam")
    full = of(learned(bucket({})), "full")
    assert set(full["state"]) == {"not_yet_seen"}
    assert full["value"].to_numpy() == pytest.approx(texture.full)
    assert full["sd"].to_numpy() == pytest.approx(texture.full_sd)


def test_the_highest_value_kept_is_a_lower_bound():
    full = of(learned(bucket({}, start=0.34, full=0.40, noise=0.0)), "full")
    assert set(full["state"]) == {"not_yet_seen"}
    assert full["value"].to_numpy() == pytest.approx(0.34 - 0.004, abs=0.002)


def test_a_placement_without_readings_rests_on_the_texture():
    full = of(learned(np.full((40, K), np.nan)), "full")
    assert set(full["state"]) == {"texture"}
    later = replace(PLACEMENT, number=2, installed_on=date(2030, 1, 1))
    limits = learned(bucket(winters(120.0)), placements=(PLACEMENT, later))
    assert set(of(limits, "full", placement=2)["state"]) == {"texture"}


def test_a_ponded_plateau_is_no_full_point():
    state = bucket(winters(120.0))
    for year in range(3):
        start = 365 * year + 60
        state[start : start + 60, 4] = 0.55 + np.linspace(0, 0.01, 60)
    full = of(learned(state), "full")
    assert list(full["ponded"]) == [False] * (K - 1) + [True]
    assert full.loc[90.0, "value"] < 0.47
    always = state.copy()
    always[:, 4] = 0.2
    always[40:120, 4] = always[400:500, 4] = 0.56
    row = of(learned(always), "full", 90.0)
    assert (row["state"], bool(row["ponded"])) == ("not_yet_seen", True)
    assert row["value"] == pytest.approx(texture_points("silt loam").full)


def test_a_steep_peak_is_not_ponded():
    state = bucket(winters(120.0))
    state[30:45, 2] = 0.50
    assert not of(learned(state), "full", 50.0)["ponded"]


def test_frozen_and_settling_days_teach_nothing():
    state = bucket(winters(120.0))
    held = np.zeros(state.shape, dtype=bool)
    held[:, 1] = True
    assert of(learned(state, held=held), "full", 30.0)["state"] == "texture"
    early = {3: 150.0}
    full = of(learned(bucket(early, days=90), seasons=()), "full", 10.0)
    assert full["wettings"] == 0  # drained within the 30 days a new hole settles
    old = replace(PLACEMENT, installed_on=date(2017, 1, 1))
    full = of(learned(bucket(early, days=90), seasons=(), placements=(old,)), "full", 10.0)
    assert full["wettings"] == 1


def test_wettings_under_a_grown_crop_teach_no_full_point():
    storms = {365 * year + day: 120.0 for year in range(3) for day in (190, 220, 250)}
    all_summer = tuple(
        Season(field="f", crop="corn", planted_on=date(y, 5, 1), harvested_on=date(y, 12, 1))
        for y in (2018, 2019, 2020)
    )
    assert (of(learned(bucket(storms), seasons=all_summer), "full")["wettings"] == 0).all()
    assert (of(learned(bucket(storms), seasons=()), "full")["wettings"] > 0).any()


def test_the_lower_point_is_the_low_end_of_dry_downs():
    limits = learned(bucket(winters(120.0)))
    lower = of(limits, "lower")
    assert set(lower["state"]) == {"learned"}
    assert lower["value"].to_numpy() == pytest.approx(TRUE_LOWER, abs=0.02)
    one = of(learned(bucket(winters(120.0)), seasons=SEASONS[:1]), "lower")
    assert set(one["state"]) == {"provisional"}
    none = of(learned(bucket(winters(120.0)), seasons=()), "lower")
    assert set(none["state"]) == {"texture"}


def test_a_crop_with_water_enough_shows_no_lower_point():
    watered = winters(120.0) | {365 * y + d: 25.0 for y in range(3) for d in range(180, 275, 5)}
    lower = of(learned(bucket(watered)), "lower", 10.0)
    assert lower["state"] == "texture"
    assert lower["value"] == pytest.approx(texture_points("silt loam").lower)


def test_the_lower_point_is_never_above_what_a_layer_dried_to():
    watered = winters(120.0) | {365 * y + d: 25.0 for y in range(3) for d in range(180, 275, 5)}
    state = bucket(watered)
    state[200:230, 2] = 0.06  # drier for a month, in mid season, than silt loam's lower point
    lower = of(learned(state), "lower").loc[LAYERS[2].depth_cm]
    assert lower["value"] == pytest.approx(0.06)
    assert lower["state"] == "provisional"


def test_a_passing_low_is_no_lower_point():
    state = np.full((3 * 365, K), 0.30)
    for year in range(3):
        end = 365 * year + 282  # falls until the harvest on 10 October and never rests
        state[end - 40 : end, :] -= np.linspace(0.0, 0.15, 40)[:, None]
    assert set(of(learned(state), "lower")["state"]) == {"texture"}


def test_the_top_layer_owns_what_evaporation_may_have_taken():
    full = of(learned(bucket(winters(120.0))), "full")
    assert full.loc[10.0, "sd"] >= 0.015
    assert full.loc[30.0, "sd"] < 0.015


@pytest.mark.parametrize("value", [0.36, 0.25, 0.24, 0.235, 0.22, 0.18])
def test_a_lower_point_by_texture_stays_below_the_full_one(value: float) -> None:
    # clay by FAO-56, Table 19: from 0.22 to 0.36; scaled where that leaves under 0.02
    clay, texture = replace(LAYERS[1], texture="clay"), texture_points("clay")
    full = Point(value=value, sd=0.01, state="learned", reason="seen to drain")
    lower = lower_point(clay, [], np.inf, full, Settings())
    assert lower.state == "texture"
    share = texture.lower / texture.full
    expected = texture.lower if value >= 0.24 else value * share
    assert lower.value == pytest.approx(expected)
    assert lower.value <= value - 0.02


def test_refill_follows_fao_56():
    limits = learned(bucket(winters(120.0)))
    full, lower, refill = (of(limits, point) for point in ("full", "lower", "refill"))
    by_hand = full["value"] - 0.55 * (full["value"] - lower["value"])  # sorghum, Table 22
    assert refill["value"].to_numpy() == pytest.approx(by_hand.to_numpy())
    assert list(refill["state"]) == list(full["state"])


def test_nothing_crosses_a_placement():
    first = bucket(winters(120.0))
    second = bucket({}, days=200)
    placement = np.r_[np.ones(len(first)), np.full(200, 2)].astype(np.int16)
    later = replace(PLACEMENT, number=2, installed_on=date(2020, 12, 31))
    limits = learned(np.vstack([first, second]), placement=placement,
                     placements=(PLACEMENT, later))  # fmt: skip
    assert set(of(limits, "full", placement=1)["state"]) == {"learned"}
    assert set(of(limits, "full", placement=2)["state"]) == {"not_yet_seen"}
    alone = learned(first)
    pd.testing.assert_frame_equal(
        limits[limits["placement"] == 1].reset_index(drop=True), alone
    )


def test_given_points_win_from_their_date_in_their_placement():
    given = replace(LAYERS[0], full=0.29, limits_from=date(2019, 3, 1), limits_by="lab")
    limits = learned(bucket(winters(120.0)), layers=(given, *LAYERS[1:]))
    before = points_of(limits, LAYERS, 1, on=date(2019, 2, 28))
    after = points_of(limits, LAYERS, 1, on=date(2019, 3, 1))
    assert before.state[0] == "learned"
    assert (after.full[0], after.state[0]) == (0.29, "set")
    assert after.refill[0] == pytest.approx(0.29 - 0.55 * (0.29 - after.lower[0]))
    row = limits[limits["state"] == "set"].iloc[0]
    assert (row["set_by"], row["reason"]) == ("lab", "given with the layers")
    later = replace(PLACEMENT, number=2, installed_on=date(2020, 1, 1))
    moved = replace(PLACEMENT, removed_on=date(2020, 1, 1))
    limits = learned(bucket({}), layers=(given, *LAYERS[1:]), placements=(moved, later))
    assert points_of(limits, LAYERS, 1).state[0] == "set"
    assert points_of(limits, LAYERS, 2).state[0] != "set"


def test_undated_points_hold_everywhere():
    given = replace(LAYERS[1], full=0.30, refill=0.22, lower=0.12)
    limits = learned(bucket({}), layers=(LAYERS[0], given, *LAYERS[2:]))
    points = points_of(limits, LAYERS, 1, on=date(2018, 1, 1))
    assert (points.full[1], points.refill[1], points.lower[1]) == (0.30, 0.22, 0.12)
    assert (points.state[1], points.lower_state[1]) == ("set", "set")
    assert not limits.duplicated(list(TABLES["limits"].key)).any()


def test_a_person_wins_over_all():
    given = replace(LAYERS[0], full=0.29, limits_by="lab")
    by_hand = pd.DataFrame({
        "site": ["p"], "placement": [1], "depth_cm": [10.0], "point": ["full"], "value": [0.33],
        "sd": [np.nan], "state": ["set"], "valid_from": [pd.Timestamp("2018-01-01")],
        "set_by": ["A. N. Other"], "reason": ["dug and looked"],
    })  # fmt: skip
    limits = learned(bucket(winters(120.0)), layers=(given, *LAYERS[1:]), set_limits=by_hand)
    points = points_of(limits, LAYERS, 1)
    assert points.full[0] == 0.33
    assert points.full_sd[0] > 0
    assert (limits["set_by"] == "A. N. Other").any()


def test_points_are_never_missing():
    points = all_points(learned(bucket({}, days=3)), LAYERS, (PLACEMENT,))[1]
    for values in (points.full, points.refill, points.lower, points.full_sd, points.lower_sd):
        assert np.isfinite(values).all()
    assert (points.lower < points.refill).all()
    assert (points.refill < points.full).all()
    nothing = points_of(learned(bucket({}))[:0], LAYERS, 1)
    assert nothing.state == ("texture",) * K


def one_wetting(top):
    """The top layer as given from day 60 on; the one beneath rises once and stays."""
    state = np.full((120, K), 0.20)
    state[60 : 60 + len(top), 0] = top
    state[60 + len(top) :, 0] = top[-1]
    state[61:, 1] = 0.25
    return state


def test_nothing_is_read_before_48_hours():
    top = np.r_[np.full(5, 0.40), 0.31 + 0.06 * np.exp(-np.arange(30) / 2.0)]
    full = of(learned(one_wetting(top), seasons=()), "full", 10.0)
    assert full["value"] == pytest.approx(0.31, abs=0.01)  # not the 0.40 it first stood at


def test_an_uptick_while_draining_is_no_new_wetting():
    top = 0.31 + 0.06 * np.exp(-np.arange(30) / 3.0)
    top[8] = top[7] + 0.001
    full = of(learned(one_wetting(top), seasons=()), "full", 10.0)
    assert full["wettings"] == 1
    assert full["value"] == pytest.approx(0.31, abs=0.015)


@pytest.mark.parametrize(("month", "turns"), [(7, ["07-01"] * 3), (1, ["01-01"] * 2)])
def test_without_crops_one_winter_and_the_next_are_parted_in_summer(
    month: int, turns: list[str]
) -> None:
    daily = a_daily(bucket({}))  # 1 January 2018 to 30 December 2020
    how = replace(Settings(), frost_month=float(month))
    (evidence,) = all_evidence(daily, LAYERS, (), (PLACEMENT,), how).values()
    new = np.flatnonzero(np.diff(evidence.years)) + 1
    assert [str(day)[5:] for day in evidence.days[new]] == turns


@pytest.mark.parametrize(
    ("on", "number"),
    [
        ("2017-06-01", 1),
        ("2019-01-01", 1),
        ("2020-05-01", 101),
        ("2021-04-01", 2),
        ("2024-01-01", 2),
    ],
)
def test_the_latest_hole_is_the_one_that_opened_last(on: str, number: int) -> None:
    # a hole parted by a move that nobody told of, a recorded one after it, and one planned
    opened = {1: "2018-04-01", 101: "2020-05-01", 2: "2021-04-01", 3: "2027-04-01"}
    rows = [(one, since) for one, since in opened.items() for _ in range(3)]
    rows.append((1, "2023-01-01"))  # a point set later for the first hole opens none
    limits = {
        "placement": np.array([one for one, _ in rows]),
        "valid_from": np.array([since for _, since in rows], "datetime64[us]"),
    }
    assert latest_placement(limits, date.fromisoformat(on)) == number
