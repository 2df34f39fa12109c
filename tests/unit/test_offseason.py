"""Off-seasons, last-full days and the tally, against numbers worked by hand."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from analytics.contract import TABLES
from analytics.model import Daily, Layer, Points, Season
from analytics.settings import Settings
from analytics.soil.offseason import last_full, off_seasons, standing_winters, tally

SETTINGS = Settings()
DAY0 = date(2020, 10, 1)


def on(number):
    return DAY0 + timedelta(days=number)


def daily(state, placement=None, held=None):
    state = np.asarray(state, float)
    days, k = state.shape
    held = np.zeros(state.shape, bool) if held is None else held
    return Daily(
        site="S1", days=np.arange(np.datetime64(DAY0), np.datetime64(DAY0) + days),
        depths_cm=10.0 + 20.0 * np.arange(k), first=state, last=state, low=state, high=state,
        mean=state, predawn=state, state=state, temp_c=np.full(state.shape, 5.0),
        good=np.isfinite(state).astype(np.int32), frozen=held, held=held,
        placement=np.ones(days, np.int16) if placement is None else placement,
    )  # fmt: skip


def layers(k):
    return tuple(
        Layer(site="S1", depth_cm=10.0 + 20.0 * j, top_cm=20.0 * j, bottom_cm=20.0 * (j + 1))
        for j in range(k)
    )


def points(k, state="learned", placement=1, full=0.30):
    same = np.ones(k)
    return Points(
        placement=placement, full=full * same, refill=0.2 * same, lower=0.1 * same,
        full_sd=0.01 * same, lower_sd=0.01 * same, state=(state,) * k,
        lower_state=("learned",) * k, ponded=np.zeros(k, bool),
    )  # fmt: skip


def wettings(*rows):
    """Rows of (start, end, cause, depths that answered), days by number."""
    events = pd.DataFrame({
        "start": pd.to_datetime([on(one[0]) for one in rows]),
        "end": pd.to_datetime([on(one[1]) for one in rows]),
        "cause": [one[2] for one in rows],
    })  # fmt: skip
    pairs = [(on(one[0]), depth) for one in rows for depth in one[3]]
    answers = pd.DataFrame({
        "start": pd.to_datetime([one[0] for one in pairs]),
        "depth_cm": np.array([one[1] for one in pairs], float),
        "stored_mm": 1.0,
    })  # fmt: skip
    return events, answers


def water(*rows):
    return pd.DataFrame({
        "date": pd.to_datetime([on(one[0]) for one in rows]),
        "mm": np.array([one[1] for one in rows], float),
    })  # fmt: skip


def season(crop, planted, harvested=None, field="F1"):
    return Season(field=field, crop=crop, planted_on=planted, harvested_on=harvested)


def one_winter(end):
    return off_seasons(
        "F1",
        (season("corn", on(-150), on(0)), season("cotton", on(end))),
        DAY0,
        on(end + 100),
    )


def run(record, end, events=(), got=(), **other):
    k = record.state.shape[1]
    own = other.get("own", {1: points(k)})
    return tally(
        record, layers(k), one_winter(end), own, *wettings(*events), water(*got), SETTINGS,
        told_days=other.get("told"),
    )  # fmt: skip


# ---- off-seasons


def test_each_harvest_opens_an_off_season_up_to_the_next_planting():
    rotation = (
        season("cotton", date(2021, 5, 10)),
        season("corn", date(2020, 5, 1), date(2020, 10, 1)),
        season("corn", date(2020, 5, 1), date(2020, 9, 1), field="F2"),
    )
    (winter,) = off_seasons("F1", rotation, date(2020, 1, 1), date(2021, 7, 1))
    assert (winter.start, winter.end) == (date(2020, 10, 1), date(2021, 5, 10))
    assert (winter.crop_before, winter.crop_next, winter.open) == ("corn", "cotton", False)


@pytest.mark.parametrize("planted", [None, date(2021, 5, 10)])
def test_it_stays_open_while_the_next_planting_is_unknown_or_to_come(planted):
    rotation = [season("corn", date(2020, 5, 1), date(2020, 10, 1))]
    rotation += [season("cotton", planted)] if planted else []
    (winter,) = off_seasons("F1", tuple(rotation), date(2020, 1, 1), date(2021, 2, 1))
    assert winter.open
    assert winter.end == date(2021, 2, 1)
    assert winter.crop_next == ("cotton" if planted else None)


def test_the_planting_day_itself_closes_it():
    rotation = (season("corn", on(-150), on(0)), season("cotton", on(200)))
    assert not off_seasons("F1", rotation, DAY0, on(200))[0].open


def test_winter_wheat_ends_the_off_season_of_the_crop_before():
    rotation = (
        season("sorghum", date(2019, 5, 20), date(2019, 9, 20)),
        season("wheat", date(2019, 10, 5), date(2020, 6, 25)),
        season("corn", date(2021, 4, 20), date(2021, 9, 30)),
    )
    found = off_seasons("F1", rotation, date(2019, 1, 1), date(2021, 6, 1))
    assert [(one.start, one.end) for one in found] == [
        (date(2019, 9, 20), date(2019, 10, 5)),
        (date(2020, 6, 25), date(2021, 4, 20)),  # a summer and a winter of fallow
    ]


def standing(own, as_of=date(2022, 1, 1)):
    return [
        (one.start, one.end, one.crop_before, one.open)
        for one in standing_winters("F1", tuple(own), date(2018, 1, 1), as_of, SETTINGS)
    ]


def test_a_winter_under_wheat_is_tallied_from_planting_to_the_first_of_march() -> None:
    wheat = season("winter wheat", date(2020, 9, 20), date(2021, 7, 1))
    corn = season("corn", date(2021, 7, 10), date(2021, 10, 20))
    sown = (date(2020, 9, 20), date(2021, 3, 1), "winter wheat")
    assert standing([corn, wheat]) == [(*sown, False)]
    assert standing([wheat], as_of=date(2020, 12, 1)) == [
        (sown[0], date(2020, 12, 1), "winter wheat", True)
    ]
    assert standing([season("rye", date(2020, 9, 1), date(2020, 11, 15))]) == []
    assert standing([season("corn", date(2020, 5, 1))]) == [], "no harvest is no winter crop"
    assert standing([season("winter wheat", date(2020, 9, 20), field="F2")]) == []


def test_south_of_the_equator_wheat_stands_over_winter_and_maize_does_not() -> None:
    southern = replace(SETTINGS, autumn_from_d=32.0, green_up_d=244.0)  # February, September
    own = (
        season("maize", date(2020, 10, 20), date(2021, 3, 20)),
        season("wheat", date(2021, 5, 18), date(2021, 12, 5)),
        season("sorghum", date(2021, 12, 10)),
    )
    (one,) = standing_winters("F1", own, date(2018, 1, 1), date(2022, 2, 1), southern)
    told = (one.crop_before, one.start, one.end, one.open)
    assert told == ("wheat", date(2021, 5, 18), date(2021, 9, 1), False)
    (now,) = standing_winters("F1", own, date(2018, 1, 1), date(2021, 7, 1), southern)
    assert (now.end, now.open) == (date(2021, 7, 1), True)


def test_a_winter_under_wheat_keeps_the_books() -> None:
    wheat = (season("winter wheat", DAY0, on(270)),)
    state = np.full((200, 2), 0.20)
    state[60:, 0] = 0.25  # 10 mm in the upper layer of 200 mm
    state[100:, 1] = 0.18  # 4 mm drawn from the lower
    winters = standing_winters("F1", wheat, DAY0, on(199), SETTINGS)
    table = tally(
        daily(state), layers(2), winters, {1: points(2)}, *wettings(), water(), SETTINGS, wheat
    )
    assert table["standing"].all()
    whole = table[table["depth_cm"].isna()].iloc[0]
    assert whole["change_mm"] == pytest.approx(6.0)
    gains = sum(whole[f"gain_{cause}_mm"] for cause in
                ("rain", "snow", "irrigation", "thaw", "unexplained"))  # fmt: skip
    assert gains - whole["loss_mm"] == pytest.approx(6.0)


def test_double_crops_leave_a_short_off_season_and_relay_crops_none():
    wheat = season("wheat", date(2019, 10, 5), date(2020, 6, 20))
    double = season("sorghum", date(2020, 6, 26), date(2020, 10, 20))
    relay = season("cotton", date(2020, 6, 1), date(2020, 10, 20))
    first, _ = off_seasons("F1", (wheat, double), date(2019, 1, 1), date(2021, 1, 1))
    assert (first.end - first.start).days == 6
    (after,) = off_seasons("F1", (wheat, relay), date(2019, 1, 1), date(2021, 1, 1))
    assert after.start == date(2020, 10, 20)


def test_a_season_without_a_harvest_invents_no_off_season():
    rotation = (
        season("corn", date(2019, 5, 1)),
        season("cotton", date(2020, 5, 10), date(2020, 11, 1)),
    )
    (after,) = off_seasons("F1", rotation, date(2019, 1, 1), date(2021, 1, 1))
    assert after.crop_before == "cotton"


def test_off_seasons_before_the_record_and_harvests_to_come_are_left_out():
    rotation = (
        season("corn", date(2017, 5, 1), date(2017, 10, 1)),
        season("cotton", date(2018, 5, 10), date(2018, 11, 1)),
        season("corn", date(2019, 5, 1), date(2019, 12, 1)),
    )
    found = off_seasons("F1", rotation, date(2018, 6, 1), date(2019, 9, 1))
    assert [one.crop_before for one in found] == ["cotton"]


# ---- last full


def test_last_full_counts_from_the_tolerance_up_and_never_crosses_a_placement():
    # mark = 0.30 - 0.05 * (0.30 - 0.10) = 0.29
    state = [[0.28], [0.291], [0.25], [np.nan], [0.289], [0.20], [0.31]]
    placement = np.array([1, 1, 1, 1, 1, 2, 2], np.int16)
    own = {1: points(1), 2: points(1, placement=2)}
    found = last_full(daily(state, placement), own, SETTINGS)[:, 0]
    seen = np.datetime64(on(1))
    assert np.isnat(found[0])
    assert (found[1:5] == seen).all()
    assert np.isnat(found[5])
    assert found[6] == np.datetime64(on(6))


def test_a_held_value_is_no_new_sighting_of_full():
    state = [[0.30], [0.30], [0.30]]
    held = np.array([[False], [True], [True]])
    found = last_full(daily(state, held=held), {1: points(1)}, SETTINGS)
    assert (found == np.datetime64(on(0))).all()


def test_a_placement_without_points_was_never_full():
    assert np.isnat(last_full(daily([[0.5]]), {}, SETTINGS)).all()


# ---- the tally, by hand: two layers of 200 mm


@pytest.fixture
def winter():
    """Sixty-one days; a rain on day 10, water still going down on day 20, a late rise."""
    state = np.full((61, 2), 0.20)
    state[10:, 0] = 0.26  # +12 mm on the day of the rain
    state[14:, 0] = 0.24  # -4 mm within the window (to day 10 + 7 = 17)
    state[20:, 0] = 0.23  # -2 mm, goes down:
    state[20:, 1] = 0.21  # +2 mm, 10 days after the rain
    state[40:, 0] = 0.22  # -2 mm
    state[50:, 1] = 0.22  # +2 mm, 40 days after the rain: nobody's
    return state


def test_gains_and_losses_by_hand(winter):
    table = run(daily(winter), 60, [(10, 10, "rain", [10.0])], [(9, 15.0), (30, 5.0)])
    upper, lower, profile = table.itertuples(index=False)
    assert list(table.columns) == list(TABLES["tally"].names)
    # upper: window 9..17: .20 -> .24 = +8 rain; then -2 (day 20), -2 (day 40)
    assert upper.gain_rain_mm == pytest.approx(8.0)
    assert upper.loss_mm == pytest.approx(4.0)
    assert upper.change_mm == pytest.approx(4.0)
    # lower: day 20 within 21 days of the rain = +2 rain; day 50 = +2 unexplained
    assert lower.gain_rain_mm == pytest.approx(2.0)
    assert lower.gain_unexplained_mm == pytest.approx(2.0)
    assert lower.loss_mm == pytest.approx(0.0)
    # profile: +8 rain; day 20 moves 2 mm down: nothing; -2 and +2 after day 31 in one
    # quiet stretch: nothing. 80 mm -> 88 mm
    assert (profile.start_mm, profile.end_mm) == pytest.approx((80.0, 88.0))
    assert profile.gain_rain_mm == pytest.approx(8.0)
    assert profile.gain_unexplained_mm == pytest.approx(0.0)
    assert profile.loss_mm == pytest.approx(0.0)
    assert profile.received_mm == pytest.approx(20.0)
    assert profile.storage_efficiency == pytest.approx(8.0 / 20.0)
    assert table["depth_cm"].isna().tolist() == [False, False, True]
    assert (profile.top_cm, profile.bottom_cm) == (0.0, 40.0)
    assert (profile.crop, profile.open, profile.coverage) == ("corn", False, 1.0)
    assert table["storage_efficiency"][:2].isna().all()


def test_a_late_rise_with_nothing_above_it_is_unexplained(winter):
    # turned over: the upper layer rises by 2 mm on day 20, but only the lower one answered
    upper = run(daily(winter[:, ::-1]), 60, [(10, 10, "rain", [30.0])]).iloc[0]
    assert upper["gain_unexplained_mm"] == pytest.approx(2.0 + 2.0)
    assert upper["gain_rain_mm"] == pytest.approx(0.0)


def test_the_next_wetting_takes_over_from_the_one_before(winter):
    events = [(10, 10, "rain", [10.0]), (13, 13, "irrigation", [10.0])]
    upper = run(daily(winter), 60, events).iloc[0]
    assert upper["gain_rain_mm"] == pytest.approx(12.0)  # day 9 to 12
    assert upper["gain_irrigation_mm"] == pytest.approx(0.0)
    assert upper["loss_mm"] == pytest.approx(4.0 + 2.0 + 2.0)  # day 12 to 20, 40


def test_a_wetting_before_the_harvest_is_still_credited_for_what_comes_down(winter):
    lower = run(daily(winter), 60, [(0, 0, "snow", [10.0])]).iloc[1]
    assert lower["gain_snow_mm"] == pytest.approx(2.0)  # day 20 <= 0 + 21


def test_little_water_gives_no_efficiency_and_no_record_no_sum(winter):
    assert np.isnan(run(daily(winter), 60, got=[(30, 9.9)])["storage_efficiency"]).all()
    assert np.isnan(run(daily(winter), 60)["received_mm"]).all()
    assert np.isnan(run(daily(winter), 60, got=[(-9, 50.0)])["received_mm"]).all()


def test_water_counts_from_the_harvest_day_to_the_day_before_planting(winter):
    """States are read before dawn: what falls on the planting day is in none of them."""
    got = [(-1, 100.0), (0, 15.0), (59, 5.0), (60, 100.0)]
    assert run(daily(winter), 60, got=got).iloc[-1]["received_mm"] == pytest.approx(20.0)


@pytest.mark.parametrize(("unknown", "known"), [(0, True), (6, True), (7, False), (60, False)])
def test_what_was_received_is_not_told_of_days_nobody_knows(winter, unknown, known):
    days = np.arange(np.datetime64(DAY0), np.datetime64(DAY0) + 61)
    told = np.delete(days, slice(20, 20 + unknown))  # of 60 days nine in ten must be told
    profile = run(daily(winter), 60, got=[(9, 15.0), (15, 5.0)], told=told).iloc[-1]
    assert profile["change_mm"] == pytest.approx(8.0)
    if known:
        assert profile["received_mm"] == pytest.approx(20.0)
        assert profile["storage_efficiency"] == pytest.approx(8.0 / 20.0)
    else:
        assert np.isnan([profile["received_mm"], profile["storage_efficiency"]]).all()


def test_ends_reach_ten_days_and_no_further(winter):
    winter[:10, 0] = np.nan  # first good on day 10: counts
    winter[:11, 1] = np.nan  # on day 11: too late
    table = run(daily(winter), 60)
    upper, lower, profile = table.itertuples(index=False)
    assert upper.start_mm == pytest.approx(0.26 * 200)
    assert table.iloc[1][["start_mm", "end_mm", "change_mm", "loss_mm"]].isna().all()
    assert lower.coverage == pytest.approx(50 / 61)
    # the profile covers the layer seen at both ends, and its coverage says so
    assert profile.start_mm == pytest.approx(0.26 * 200)
    assert profile.change_mm == pytest.approx(upper.change_mm)
    assert profile.coverage == pytest.approx((51 + 50) / (2 * 61))


def test_a_start_may_be_taken_from_before_the_harvest():
    state = np.full((80, 1), 0.20)
    state[:5] = 0.25
    state[12:40] = np.nan
    rotation = (season("corn", on(-100), on(14)), season("cotton", on(70)))
    off = off_seasons("F1", rotation, DAY0, on(79))
    table = tally(daily(state), layers(1), off, {1: points(1)}, *wettings(), water(), SETTINGS)
    assert table["start_mm"][0] == pytest.approx(40.0)  # day 11


def test_nothing_is_compared_across_placements(winter):
    placement = np.repeat(np.array([1, 2], np.int16), [30, 31])
    table = run(daily(winter, placement), 60, own={1: points(2), 2: points(2, placement=2)})
    assert table[["start_mm", "end_mm", "change_mm", "loss_mm"]].isna().all(axis=None)
    assert (table["coverage"] == 1.0).all()


def test_drainage_is_the_bottom_layers_decline_above_full_outside_windows():
    # bottom layer 0.32 (full 0.30): in window 9..17 falls to 0.315; then to 0.29 by the end.
    # Outside windows it declines above full from 0.315 to 0.30 = 0.015 * 200 = 3 mm
    state = np.full((61, 2), 0.20)
    state[:, 1] = 0.32
    state[15:, 1] = 0.315
    state[30:, 1] = 0.29
    events = [(10, 10, "rain", [10.0])]
    table = run(daily(state), 60, events)
    _, lower, profile = table.itertuples(index=False)
    assert lower.drainage_mm == pytest.approx(3.0)
    assert profile.drainage_mm == pytest.approx(3.0)
    assert lower.loss_mm == pytest.approx(0.03 * 200)
    assert table["drainage_mm"].isna().tolist() == [True, False, False]


@pytest.mark.parametrize("state", ["texture", "not_yet_seen"])
def test_no_drainage_is_claimed_above_a_guessed_full_point(state):
    table = run(daily(np.full((61, 2), 0.32)), 60, own={1: points(2, state)})
    assert table["drainage_mm"].isna().all()


def test_frozen_days_last_full_and_largest_deficit():
    state = np.full((61, 2), 0.30)
    state[20:, 0] = 0.24
    state[25:, 0] = 0.27
    held = np.zeros(state.shape, bool)
    held[30:34, 0] = True
    held[32:36, 1] = True
    upper, lower, profile = run(daily(state, held=held), 60).itertuples(index=False)
    assert (upper.frozen_days, lower.frozen_days, profile.frozen_days) == (4, 4, 6)
    assert upper.last_full == pd.Timestamp(on(19))
    assert lower.last_full == pd.Timestamp(on(60))
    assert profile.last_full == pd.Timestamp(on(19))  # the last day that both were
    assert upper.largest_deficit_mm == pytest.approx(0.06 * 200)
    assert lower.largest_deficit_mm == pytest.approx(0.0)
    assert profile.largest_deficit_mm == pytest.approx(0.06 * 200)


def test_an_empty_record_tallies_nothing():
    table = run(daily(np.zeros((0, 2))), 60, got=[(5, 20.0)])
    assert table[["start_mm", "gain_rain_mm", "received_mm"]].isna().all(axis=None)
    assert (table["coverage"] == 0).all()


def test_no_off_season_gives_an_empty_table_of_the_contract():
    table = tally(daily([[0.2]]), layers(1), (), {1: points(1)}, *wettings(), water(), SETTINGS)
    assert list(table.columns) == list(TABLES["tally"].names)
    assert len(table) == 0
