"""Kept dates, zone sums, errors and bases, against numbers worked by hand."""

import json
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from analytics.contract import TABLES
from analytics.model import Daily, Layer, Points, Season
from analytics.settings import Settings
from analytics.soil.offseason import last_full, off_seasons
from analytics.water.readiness import kept_dates, readiness

SETTINGS = Settings()
DAY0 = date(2020, 10, 1)  # a Thursday
STATES = ("learned", "learned", "texture", "not_yet_seen")


def on(number):
    return DAY0 + timedelta(days=number)


def daily(state, placement=None, held=None):
    state = np.asarray(state, float)
    days, k = state.shape
    held = np.zeros(state.shape, bool) if held is None else held
    return Daily(
        site="S1", days=np.arange(np.datetime64(DAY0), np.datetime64(DAY0) + days),
        depths_cm=20.0 + 40.0 * np.arange(k), first=state, last=state, low=state, high=state,
        mean=state, predawn=state, state=state, temp_c=np.full(state.shape, 5.0),
        good=np.isfinite(state).astype(np.int32), frozen=held, held=held,
        placement=np.ones(days, np.int16) if placement is None else placement,
    )  # fmt: skip


def layers(k=4):
    """Layers of 40 cm (400 mm): 0-40, 40-80, 80-120, 120-160; the split at 90 cm cuts one."""
    return tuple(
        Layer(site="S1", depth_cm=20.0 + 40.0 * j, top_cm=40.0 * j, bottom_cm=40.0 * (j + 1))
        for j in range(k)
    )


def points(states=STATES, placement=1):
    same = np.ones(len(states))
    return Points(
        placement=placement, full=0.30 * same, refill=0.2 * same, lower=0.10 * same,
        full_sd=0.02 * same, lower_sd=0.01 * same, state=states,
        lower_state=("learned",) * len(states), ponded=np.zeros(len(states), bool),
    )  # fmt: skip


NO_EVENTS = pd.DataFrame({"start": pd.to_datetime([]), "end": pd.to_datetime([]), "cause": []})
NO_FLAGS = pd.DataFrame({"depth_cm": [], "flag": [], "from": pd.to_datetime([]),
                         "to": pd.to_datetime([])})  # fmt: skip
NO_ANSWERS = pd.DataFrame({"start": pd.to_datetime([]), "depth_cm": [], "stored_mm": []})


def run(record, as_of, own=None, seasons=(), root_limit_cm=None):
    own = {1: points()} if own is None else own
    return readiness(
        record, layers(record.state.shape[1]), own, seasons,
        off_seasons("F1", seasons, DAY0, as_of), NO_EVENTS, NO_ANSWERS,
        last_full(record, own, SETTINGS), "F1", as_of, SETTINGS, flags=NO_FLAGS,
        root_limit_cm=root_limit_cm,
    )  # fmt: skip


def at(table, day, zone, depth=None):
    rows = table[(table["date"] == pd.Timestamp(day)) & (table["zone"] == zone)]
    rows = rows if depth is None else rows[rows["depth_cm"] == depth]
    (row,) = rows.to_dict("records")
    return row


@pytest.fixture
def flat():
    return np.tile([0.20, 0.25, 0.15, 0.32], (60, 1))


# ---- kept dates


def test_kept_are_mondays_turns_of_the_crops_and_the_last_thirty_days():
    crop = Season(field="F1", crop="corn", planted_on=on(-90), harvested_on=on(1))
    kept = kept_dates(daily(np.full((60, 1), 0.2)), (crop,), on(59))
    mondays = [on(4 + 7 * week) for week in range(4)]  # 5, 12, 19, 26 October
    expected = {on(1), *mondays, *(on(number) for number in range(30, 60))}
    assert kept.tolist() == sorted(expected)


def test_today_is_kept_even_after_the_record_ended_and_nothing_after_today():
    record = daily(np.full((60, 1), 0.2))
    assert kept_dates(record, (), on(100))[-2:].tolist() == [on(59), on(100)]
    assert kept_dates(record, (), on(20)).tolist() == [on(number) for number in range(21)]


# ---- sums


def test_zones_by_hand(flat):
    table = run(daily(flat), on(59))
    assert list(table.columns) == list(TABLES["readiness"].names)
    upper, deep = at(table, on(59), "upper"), at(table, on(59), "deep")
    # 80-120 cm is shared: 10 of its 40 cm are upper, 30 deep
    assert upper["water_mm"] == pytest.approx(80 + 100 + 0.25 * 60)
    assert deep["water_mm"] == pytest.approx(0.75 * 60 + 128)
    assert (upper["top_cm"], upper["bottom_cm"]) == (0.0, 90.0)
    assert (deep["top_cm"], deep["bottom_cm"]) == (90.0, 160.0)
    assert deep["full_mm"] == pytest.approx(0.75 * 120 + 120)
    assert deep["lower_mm"] == pytest.approx(0.75 * 40 + 40)
    # the lowest layer is 8 mm above full: that fills no other
    assert deep["deficit_mm"] == pytest.approx(0.75 * (120 - 60))
    assert deep["fill"] == pytest.approx((173 - 70) / (210 - 70))
    assert at(table, on(59), "profile")["water_mm"] == pytest.approx(80 + 100 + 60 + 128)
    assert at(table, on(59), "layer", 60.0)["deficit_mm"] == pytest.approx(20.0)


def test_errors_by_hand(flat):
    table = run(daily(flat), on(59))
    noise, full, lower = 0.004 * 400, 0.02 * 400, 0.01 * 400  # 1.6, 8, 4 mm a layer
    assert at(table, on(59), "layer", 20.0)["sd_mm"] == pytest.approx(np.hypot(noise, full))
    # deep: both full points are a texture's: 0.75 * 8 + 8 = 14 mm, straight
    deep = at(table, on(59), "deep")
    s_water = np.hypot(0.75 * noise, noise)
    assert deep["sd_mm"] == pytest.approx(np.hypot(s_water, 14.0))
    # profile: two learned in quadrature, two guessed straight: sqrt(8^2 + 8^2 + 16^2)
    s_full = np.sqrt(8**2 + 8**2 + 16**2)
    assert at(table, on(59), "profile")["sd_mm"] == pytest.approx(np.hypot(2 * noise, s_full))
    # fill of a layer: A = 80 mm, fill = (100 - 40) / 80 = 0.75: near_full is 0.6 to 0.8
    row = at(table, on(59), "layer", 60.0)
    sd = np.sqrt(noise**2 + (0.75 * full) ** 2 + (0.25 * lower) ** 2) / 80
    assert row["class"] == "near_full"
    draws = np.random.default_rng(5).normal(0.75, sd, 400_000)
    share = np.mean((draws >= 0.6) & (draws < 0.8))
    assert row["class_probability"] == pytest.approx(share, abs=0.005)
    assert row["p_near_full"] == row["class_probability"]


def test_basis_names_what_the_full_points_rest_on(flat):
    table = run(daily(flat), on(59))
    assert at(table, on(59), "layer", 100.0)["basis"] == "texture"
    assert at(table, on(59), "profile")["basis"] == "learned:2;not_yet_seen:1;texture:1"
    assert at(table, on(59), "upper")["basis"] == "learned:2;texture:1"


# ---- what is missing


def test_the_latest_state_is_carried_and_told(flat):
    flat[40:, 3] = np.nan
    table = run(daily(flat), on(59))
    deep = at(table, on(59), "deep")
    assert deep["water_mm"] == pytest.approx(173)
    assert deep["read_on"] == pd.Timestamp(on(39))
    assert deep["seen"] == pytest.approx(30 / 70)
    assert at(table, on(42), "deep")["seen"] == 1.0  # three days old: not yet stale
    assert at(table, on(59), "upper")["read_on"] == pd.Timestamp(on(59))


def test_after_the_record_ended_figures_stay_and_are_stale(flat):
    table = run(daily(flat), on(100))
    row = at(table, on(100), "profile")
    assert row["water_mm"] == pytest.approx(368)
    assert row["read_on"] == pd.Timestamp(on(59))
    assert row["seen"] == 0.0
    assert '"code": "stale", "days": 41' in row["headlines"]


def test_a_layer_never_read_leaves_the_zone_to_the_others(flat):
    flat[:, 3] = np.nan
    table = run(daily(flat), on(59))
    deep, layer = at(table, on(59), "deep"), at(table, on(59), "layer", 140.0)
    assert deep["water_mm"] == pytest.approx(45)
    assert deep["full_mm"] == pytest.approx(90)
    assert deep["seen"] == pytest.approx(30 / 70)
    assert np.isnan(
        [layer["water_mm"], layer["deficit_mm"], layer["fill"], layer["sd_mm"]]
    ).all()
    assert pd.isna(layer["class"])
    assert pd.isna(layer["read_on"])


def test_a_probe_too_short_for_the_deep_zone_says_nothing_of_it():
    table = run(daily(np.full((60, 2), 0.2)), on(59), {1: points(STATES[:2])})
    deep = at(table, on(59), "deep")
    assert np.isnan([deep["water_mm"], deep["deficit_mm"], deep["seen"], deep["top_cm"]]).all()
    assert pd.isna(deep["basis"])


def test_water_beneath_a_layer_that_stops_roots_counts_to_no_zone(flat):
    table = run(daily(flat), on(59), root_limit_cm=110.0)
    upper, deep = at(table, on(59), "upper"), at(table, on(59), "deep")
    profile = at(table, on(59), "profile")
    # 80-120 cm: 10 of its 40 cm are upper, 20 deep, 10 beneath the pan; all of 120-160 is
    assert upper["water_mm"] == pytest.approx(80 + 100 + 0.25 * 60)
    assert deep["water_mm"] == pytest.approx(0.5 * 60)
    assert deep["deficit_mm"] == pytest.approx(0.5 * 60)
    assert profile["water_mm"] == pytest.approx(80 + 100 + 0.75 * 60)
    assert (deep["top_cm"], deep["bottom_cm"]) == (90.0, 110.0)
    assert (profile["top_cm"], profile["bottom_cm"]) == (0.0, 110.0)
    free = run(daily(flat), on(59))
    for depth in (20.0, 60.0, 100.0, 140.0):
        one, other = (at(rows, on(59), "layer", depth) for rows in (table, free))
        assert one["water_mm"] == other["water_mm"]
        assert one["bottom_cm"] == other["bottom_cm"]


def test_where_roots_stop_above_the_split_there_is_no_deep_zone(flat):
    flat[:, 3] = 0.12  # dry, and once wet: it would be said if any root could use it
    flat[:20, 3] = 0.30
    table = run(daily(flat), on(59), root_limit_cm=70.0)
    deep, upper = at(table, on(59), "deep"), at(table, on(59), "upper")
    assert np.isnan([deep["water_mm"], deep["deficit_mm"], deep["seen"], deep["top_cm"]]).all()
    assert upper["bottom_cm"] == 70.0
    assert upper["water_mm"] == pytest.approx(80 + 0.75 * 100)
    assert upper["water_mm"] == at(table, on(59), "profile")["water_mm"]
    said = {one["code"] for one in json.loads(at(table, on(59), "profile")["headlines"])}
    free = json.loads(at(run(daily(flat), on(59)), on(59), "profile")["headlines"])
    assert "deep_not_refilled" in {one["code"] for one in free}
    assert not said & {"deep_not_refilled", "wet_on_top_dry_beneath", "not_yet_seen_full"}


def test_no_state_crosses_a_placement(flat):
    flat[30:, 3] = np.nan
    placement = np.repeat(np.array([1, 2], np.int16), 30)
    both = {1: points(), 2: points(placement=2)}
    table = run(daily(flat, placement), on(59), both)
    assert np.isnan(at(table, on(59), "layer", 140.0)["water_mm"])


def test_water_without_points_has_no_deficit(flat):
    row = at(run(daily(flat), on(59), {}), on(59), "profile")
    assert row["water_mm"] == pytest.approx(368)
    assert np.isnan([row["full_mm"], row["deficit_mm"], row["fill"], row["sd_mm"]]).all()


def test_an_empty_record_gives_an_empty_table():
    table = run(daily(np.zeros((0, 4))), on(5))
    assert list(table.columns) == list(TABLES["readiness"].names)
    assert len(table) == 0


# ---- held, last full, left


def test_held_layers_mark_their_zone(flat):
    held = np.zeros(flat.shape, bool)
    held[50:, 0] = True
    table = run(daily(flat, held=held), on(59))
    assert at(table, on(59), "upper")["held"]
    assert at(table, on(59), "profile")["held"]
    assert not at(table, on(59), "deep")["held"]
    assert not at(table, on(45), "upper")["held"]


def test_a_zone_was_full_when_all_its_layers_were(flat):
    # deep: 80-120 and 120-160 cm; the latter always full, the former to day 9 only
    flat[:10, 2] = 0.30
    table = run(daily(flat), on(59))
    assert at(table, on(59), "deep")["last_full"] == pd.Timestamp(on(9))
    assert at(table, on(59), "layer", 140.0)["last_full"] == pd.Timestamp(on(59))
    assert pd.isna(at(table, on(59), "upper")["last_full"])


def test_left_is_what_the_last_crop_left(flat):
    flat[31:, 0] = 0.28  # a wet winter after harvest on day 30
    crop = Season(field="F1", crop="corn", planted_on=on(-90), harvested_on=on(30))
    table = run(daily(flat), on(59), seasons=(crop,))
    assert at(table, on(59), "layer", 20.0)["left_mm"] == pytest.approx(80)
    assert at(table, on(59), "profile")["left_mm"] == pytest.approx(368)
    assert np.isnan(at(table, on(25), "profile")["left_mm"])
