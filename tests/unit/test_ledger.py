"""The off-season ledger's newer columns, against numbers worked by hand."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from analytics.contract import TABLES
from analytics.model import Daily, Layer, Points, Season
from analytics.settings import Settings
from analytics.soil.losses import moved_down, through_bottom, upward
from analytics.soil.offseason import off_seasons, tally
from analytics.soil.storage_bands import OVERWINTER_NORTH, WHOLE_FALLOW, band_of

SETTINGS = Settings()
DAY0 = date(2020, 3, 1)
K = 4
LAYERS = tuple(
    Layer(site="S1", depth_cm=15.0 + 30 * j, top_cm=30.0 * j, bottom_cm=30.0 * (j + 1))
    for j in range(K)
)  # four of 300 mm; the deepest two lie wholly below 60 cm
CORN = Season(field="F1", crop="corn", planted_on=date(2020, 5, 1),
              harvested_on=date(2020, 9, 20))  # fmt: skip
NO_EVENTS = pd.DataFrame({"start": [], "end": [], "cause": []})
NO_ANSWERS = pd.DataFrame({"start": [], "depth_cm": [], "stored_mm": []})
NO_WATER = pd.DataFrame({"date": [], "mm": []})


def told(state, seasons=(CORN,), as_of=None):
    days, blank = len(state), np.zeros(state.shape, bool)
    record = Daily(
        site="S1", days=np.datetime64(DAY0) + np.arange(days),
        depths_cm=np.array([one.depth_cm for one in LAYERS]), first=state, last=state,
        low=state, high=state, mean=state, predawn=state, state=state, temp_c=state,
        good=np.isfinite(state).astype(np.int32), frozen=blank, held=blank,
        placement=np.ones(days, np.int16),
    )  # fmt: skip
    same = np.ones(K)
    own = Points(
        placement=1, full=0.30 * same, refill=0.2 * same, lower=0.1 * same, full_sd=0.01 * same,
        lower_sd=0.01 * same, state=("learned",) * K, lower_state=("learned",) * K,
        ponded=blank[0],
    )  # fmt: skip
    as_of = as_of or DAY0 + timedelta(days=days - 1)
    winters = off_seasons("F1", seasons, DAY0, as_of)
    return tally(record, LAYERS, winters, {1: own}, NO_EVENTS, NO_ANSWERS, NO_WATER,
                 SETTINGS, seasons)  # fmt: skip


def row(day):
    return (day - DAY0).days


def a_year():
    """Full in spring; corn takes 0.10 below 60 cm and 0.12 above; nothing comes back."""
    state = np.full((400, K), 0.30)
    state[row(date(2020, 8, 1)) :] = (0.18, 0.18, 0.20, 0.20)
    return state


def test_the_columns_are_the_contract():
    assert tuple(told(a_year()).columns) == TABLES["tally"].names
    assert tuple(told(a_year(), seasons=()).columns) == TABLES["tally"].names


def test_the_crop_that_emptied_each_layer_and_the_day_it_was_full():
    rows = told(a_year())
    assert list(rows["emptied_by"]) == ["corn"] * 5
    assert (rows["emptied_on"] == pd.Timestamp("2020-09-20")).all()
    assert (rows["last_full"] == pd.Timestamp("2020-07-31")).all()
    assert list(rows["largest_deficit_mm"]) == pytest.approx([36.0, 36.0, 30.0, 30.0, 132.0])


def test_a_layer_still_full_was_emptied_by_none():
    state = a_year()
    state[:, 3] = 0.30
    rows = told(state)
    assert rows["emptied_by"].isna().tolist() == [False, False, False, True, False]


def test_a_silent_probe_is_told_up_to_its_last_day():
    state = a_year()
    state[row(date(2020, 12, 1)) :, 0] = 0.25  # 21 mm came
    state[row(date(2021, 1, 10)) :] = np.nan
    rows = told(state, as_of=date(2021, 3, 1))
    profile = rows.iloc[-1]
    assert profile["open"]
    assert profile["to"] == pd.Timestamp("2021-01-09")
    assert profile["change_mm"] == pytest.approx(21.0)
    seen = (date(2021, 1, 10) - date(2020, 9, 20)).days
    assert profile["coverage"] == pytest.approx(seen / 163)  # of the days up to today


def test_a_few_days_of_silence_change_nothing():
    state = a_year()[: row(date(2021, 2, 25))]
    rows = told(state, as_of=date(2021, 3, 1))
    assert (rows["to"] == pd.Timestamp("2021-03-01")).all()


def test_a_closed_off_season_is_never_cut_short():
    state = a_year()
    state[row(date(2021, 1, 10)) :] = np.nan
    wheat = Season(field="F1", crop="wheat", planted_on=date(2021, 3, 1))
    rows = told(state, (CORN, wheat), date(2021, 4, 1))
    assert (rows["to"] == pd.Timestamp("2021-03-01")).all()
    assert rows["change_mm"].isna().all()


def test_losses_go_down_up_and_out_and_add_up():
    state = a_year()
    late = row(date(2020, 11, 1))
    state[late:, 0] -= 0.05  # 15 mm leave the top
    state[late:, 1] += 0.02  # 6 mm of it stand below
    rows = told(state)
    assert rows["loss_down_mm"].iloc[0] == pytest.approx(6.0)
    assert rows["loss_up_mm"].iloc[0] == pytest.approx(9.0)
    assert rows["loss_down_mm"].iloc[-1] == 0.0  # within the profile nothing was lost
    ways = rows[["loss_up_mm", "loss_down_mm"]].sum(axis=1) + rows["drainage_mm"].fillna(0)
    assert list(ways) == pytest.approx(list(rows["loss_mm"]))


def test_each_rise_takes_up_one_fall_only():
    steps = np.array([[-10.0, -4.0, 6.0], [-3.0, 5.0, -1.0]])
    # first: the nearest layer above gives 4 of the 6, the top the other 2; second: 3 of 5
    assert list(moved_down(steps)) == pytest.approx([2.0 + 3.0, 4.0, 0.0])
    assert list(moved_down(np.array([[-5.0, np.nan, 2.0]]))) == pytest.approx([2.0, 0.0, 0.0])


def test_what_passes_a_bottom_layer_above_its_full_point_has_drained():
    # two layers, then their sum: the upper falls 8 mm while the lower stays 5 above 90
    along = np.array([[100.0, 95.0, 195.0], [92.0, 95.0, 187.0], [92.0, 93.0, 185.0]])
    deep, quiet = np.array([True, True]), np.array([True, True])
    assert through_bottom(along, 90.0, deep, quiet) == pytest.approx((2.0, 10.0))
    assert through_bottom(along, 90.0, deep, ~quiet) == (0.0, 0.0)
    # below its point nothing drains, whatever left the layer above
    assert through_bottom(along, 96.0, deep, quiet) == (0.0, 0.0)


def test_upward_is_unknown_where_drainage_is():
    loss, down = np.array([9.0, 4.0, 5.0]), np.array([4.0, 0.0, 0.0])
    none = np.full(3, np.nan)
    assert np.isnan(upward(loss, down, none)).tolist() == [False, True, True]
    assert list(upward(loss, down, np.array([np.nan, 1.0, 2.0]))) == [5.0, 3.0, 3.0]


def test_winter_wheat_and_double_crops_leave_the_off_seasons_between_them():
    wheat = Season(field="F1", crop="wheat", planted_on=date(2020, 10, 1),
                   harvested_on=date(2021, 6, 20))  # fmt: skip
    beans = Season(field="F1", crop="soybean", planted_on=date(2021, 6, 25),
                   harvested_on=date(2021, 10, 10))  # fmt: skip
    found = off_seasons("F1", (CORN, wheat, beans), DAY0, date(2022, 3, 1))
    spans = [(one.start, one.end, one.crop_before) for one in found]
    assert spans == [
        (date(2020, 9, 20), date(2020, 10, 1), "corn"),  # the winter is under wheat
        (date(2021, 6, 20), date(2021, 6, 25), "wheat"),  # double crop
        (date(2021, 10, 10), date(2022, 3, 1), "soybean"),
    ]


def test_a_fallow_year_is_one_long_off_season():
    late = Season(field="F1", crop="wheat", planted_on=date(2021, 10, 1))
    (one,) = off_seasons("F1", (CORN, late), DAY0, date(2021, 12, 1))
    assert (one.start, one.end) == (date(2020, 9, 20), date(2021, 10, 1))


def test_published_bands_fit_their_place_and_length():
    winter, fallow = (
        (date(2020, 10, 1), date(2021, 4, 15)),
        (date(2020, 10, 1), date(2021, 9, 20)),
    )
    assert band_of(47.7, *winter) is OVERWINTER_NORTH
    assert (OVERWINTER_NORTH.low, OVERWINTER_NORTH.high) == (0.333, 0.711)  # Tanaka & Aase 1987
    assert band_of(37.2, *fallow) is WHOLE_FALLOW
    assert (WHOLE_FALLOW.low, WHOLE_FALLOW.high) == (0.18, 0.35)
    assert band_of(37.2, *winter) is None
    assert band_of(47.7, *fallow) is None
