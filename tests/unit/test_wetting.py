"""Wettings on profiles whose truth is written down by hand: 10 layers of 20 cm, 0-200 cm."""

from datetime import date

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.contract import TABLES
from analytics.model import Daily, Layer
from analytics.settings import Settings
from analytics.soil.wetting import find_wettings, received_water, told_days

DEPTHS = np.arange(10.0, 120.0, 20.0)  # 10, 30, 50, 70, 90, 110 cm
LAYERS = tuple(
    Layer(site="p", depth_cm=float(z), top_cm=float(z) - 10, bottom_cm=float(z) + 10)
    for z in DEPTHS
)
FIRST = np.datetime64("2020-01-01", "D")
DAYS = 60
NO_WATER = pd.DataFrame(
    {"date": pd.Series([], dtype="datetime64[us]"), "kind": pd.Series([], dtype="str"),
     "mm": pd.Series([], dtype="float64")}
)  # fmt: skip


def a_daily(state, *, held=None, placement=None):
    days, k = state.shape
    held = np.zeros(state.shape, dtype=bool) if held is None else held
    return Daily(
        site="p", days=FIRST + np.arange(days), depths_cm=DEPTHS[:k], first=state, last=state,
        low=state, high=state, mean=state, predawn=state, state=state,
        temp_c=np.full(state.shape, 8.0), good=np.isfinite(state).astype(np.int32),
        frozen=held, held=held,
        placement=np.ones(days, dtype=np.int16) if placement is None else placement,
    )  # fmt: skip


def flat(theta=0.20):
    return np.full((DAYS, len(DEPTHS)), theta)


def wetted(state, layer, day, rise):
    state = state.copy()
    state[day:, layer] += rise
    return state


def came(*rows):
    dates, kinds, mm = zip(*rows, strict=True)
    days = pd.to_datetime([FIRST + day for day in dates]).astype("datetime64[us]")
    return pd.DataFrame({"date": days, "kind": list(kinds), "mm": list(mm)})


def found(state, received=NO_WATER, **kw):
    return find_wettings(a_daily(state, **kw), LAYERS, received, Settings())


def front(day=20):
    """Water of 22 mm: 0.06 x 200 + 0.03 x 200 + 0.02 x 200, a layer a day, down to 50 cm."""
    state = wetted(flat(), 0, day, 0.06)
    state = wetted(state, 1, day + 1, 0.03)
    return wetted(state, 2, day + 2, 0.02)


def test_frames_are_the_contract():
    wettings, parts = found(front())
    assert tuple(wettings.columns) == TABLES["wettings"].names
    assert tuple(parts.columns) == TABLES["wetting_layers"].names
    assert wettings["start"].dtype == parts["arrival"].dtype == "datetime64[us]"
    empty, none = found(flat())
    assert list(empty.dtypes) == list(wettings.dtypes)
    assert list(none.dtypes) == list(parts.dtypes)


def test_a_front_is_followed_to_where_it_stopped():
    wettings, parts = found(front(20), came((19, "rain", 25.0)))
    (event,) = wettings.to_dict("records")
    assert event["start"] == pd.Timestamp(FIRST + 20)
    assert event["end"] == pd.Timestamp(FIRST + 22)
    assert (event["cause"], event["applied_mm"]) == ("rain", 25.0)
    assert event["depth_reached_cm"] == 50.0
    assert event["stored_mm"] == pytest.approx(22.0)
    assert not event["bypass"]
    assert list(parts["depth_cm"]) == [10.0, 30.0, 50.0]
    assert list(parts["arrival"]) == [pd.Timestamp(FIRST + 20 + d) for d in range(3)]
    assert list(parts["rise"]) == pytest.approx([0.06, 0.03, 0.02])
    assert list(parts["stored_mm"]) == pytest.approx([12.0, 6.0, 4.0])


def test_water_moving_down_is_no_new_wetting_and_is_counted_once():
    state = wetted(flat(), 0, 20, 0.08)  # 16 mm
    for day, layer in ((23, 1), (26, 2)):  # half of it goes on, a layer every three days
        state[day:, layer] += 0.02
        state[day:, 0] -= 0.02
    wettings, parts = found(state)
    (event,) = wettings.to_dict("records")
    assert event["depth_reached_cm"] == 50.0
    assert event["stored_mm"] == pytest.approx(16.0)
    assert parts["stored_mm"].sum() == pytest.approx(event["stored_mm"])


def test_an_answer_beneath_a_silent_layer_is_bypass():
    state = wetted(wetted(flat(), 0, 20, 0.05), 3, 20, 0.05)
    wettings, _ = found(state)
    assert list(wettings["bypass"]) == [True]
    assert list(wettings["depth_reached_cm"]) == [10.0]


def test_an_answer_long_before_the_layer_above_is_bypass():
    state = wetted(wetted(flat(), 0, 20, 0.08), 2, 20, 0.05)
    state = wetted(wetted(state, 0, 24, -0.03), 1, 24, 0.03)
    wettings, _ = found(state)
    assert wettings["bypass"].iloc[0]
    assert wettings["depth_reached_cm"].iloc[0] == 30.0


def test_a_missing_or_held_layer_does_not_break_the_answer():
    state = front()
    state[:, 1] = np.nan
    (event,) = found(state)[0].to_dict("records")
    assert (event["depth_reached_cm"], event["bypass"]) == (50.0, False)
    assert event["stored_mm"] == pytest.approx(16.0)  # what was not seen is not counted
    held = np.zeros(state.shape, dtype=bool)
    held[:, 0] = True
    (event,) = found(wetted(wetted(flat(), 1, 20, 0.05), 2, 20, 0.05), held=held)[0].to_dict(
        "records"
    )
    assert (event["depth_reached_cm"], event["bypass"]) == (50.0, False)


def test_a_layer_at_its_wettest_lets_water_pass_unseen():
    state = front()
    state[:10, 1] = 0.12
    state[10:, 1] = 0.30  # long full when the front comes
    event = found(state)[0].iloc[-1]
    assert (event["depth_reached_cm"], bool(event["bypass"])) == (50.0, False)


@pytest.mark.parametrize("kind", ["rain", "snow", "irrigation"])
def test_the_largest_sum_is_the_cause(kind):
    other = "rain" if kind != "rain" else "irrigation"
    received = came((18, other, 4.0), (19, kind, 9.0), (21, kind, 9.0))
    (event,) = found(front(20), received)[0].to_dict("records")
    assert (event["cause"], event["applied_mm"]) == (kind, 22.0)


def test_water_of_another_week_explains_nothing():
    assert list(found(front(20), came((12, "rain", 30.0)))[0]["cause"]) == ["unexplained"]
    assert list(found(front(20), came((30, "rain", 30.0)))[0]["cause"]) == ["unexplained"]


def test_a_trace_of_rain_does_not_explain_a_wetting():
    assert list(found(front(20), came((19, "rain", 1.0)))[0]["cause"]) == ["unexplained"]


def test_snow_of_weeks_ago_under_frost_is_credited_to_the_thaw():
    held = np.zeros((DAYS, len(DEPTHS)), dtype=bool)
    held[5:20, 0] = True
    snow = came((8, "snow", 24.0))
    assert list(found(front(20), snow, held=held)[0]["cause"]) == ["thaw"]
    assert list(found(front(20), snow)[0]["cause"]) == ["unexplained"]  # nothing was frozen


def test_rises_with_one_quiet_day_between_are_one_wetting():
    near = wetted(wetted(flat(), 0, 20, 0.03), 0, 22, 0.03)
    far = wetted(wetted(flat(), 0, 20, 0.03), 0, 23, 0.03)
    assert list(found(near)[0]["stored_mm"]) == pytest.approx([12.0])
    assert list(found(far)[0]["stored_mm"]) == pytest.approx([6.0, 6.0])


def test_a_late_arrival_belongs_to_the_next_wetting_once_that_began():
    state = wetted(wetted(flat(), 0, 20, 0.05), 0, 24, 0.05)
    state = wetted(state, 1, 25, 0.05)
    wettings, parts = found(state)
    assert list(wettings["depth_reached_cm"]) == [10.0, 30.0]
    assert list(parts.loc[parts["depth_cm"] == 30.0, "start"]) == [wettings["start"].iloc[1]]


def test_a_rise_is_seen_across_a_short_hole_but_not_a_long_one():
    short, long = front(30), front(30)
    short[28:31] = np.nan
    long[15:31] = np.nan
    assert len(found(short)[0]) == 1
    assert found(long)[0]["stored_mm"].sum() < 10.0  # only what came in after the hole


def test_a_layer_that_comes_and_goes_is_no_water():
    state = flat()
    state[:20, 4] = np.nan
    state[30:, 4] = np.nan
    assert len(found(state)[0]) == 0


def test_never_across_a_placement():
    placement = np.ones(DAYS, dtype=np.int16)
    placement[30:] = 2
    stepped = flat()
    stepped[30:] += 0.1
    assert len(found(stepped, placement=placement)[0]) == 0
    assert len(found(stepped)[0]) == 1


def test_noise_alone_starts_few_wettings():
    noise = np.random.default_rng(4).normal(0.0, 0.004, (400, len(DEPTHS)))
    assert len(found(0.25 + noise)[0]) <= 4  # 3 sigma: about one day in 700 by chance


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.integers(2, 50), st.integers(0, 5), st.floats(0.0, 0.08)),
             min_size=1, max_size=12)
)  # fmt: skip
def test_what_layers_stored_is_what_the_wetting_stored(rises):
    state = flat(0.1)
    for day, layer, rise in rises:
        state = wetted(state, layer, day, rise)
    wettings, parts = found(state)
    by_event = parts.groupby("start")["stored_mm"].sum()
    for event in wettings.to_dict("records"):
        assert by_event[event["start"]] == pytest.approx(event["stored_mm"])
    gained = float(((state[-1] - state[0]) * 200.0).sum())
    assert wettings["stored_mm"].sum() <= gained + 1e-9  # nothing is ever counted twice
    assert wettings["start"].is_monotonic_increasing


def water(*rows):
    days, kinds, mm = zip(*rows, strict=True) if rows else ((), (), ())
    dates = pd.to_datetime([date(2020, 1, day) for day in days])
    return pd.DataFrame({"field": "a", "date": dates, "kind": list(kinds), "mm": list(mm)})


STATION = pd.DataFrame(
    {"date": pd.date_range("2020-01-01", periods=10), "rain_mm": [5.0] * 10,
     "snow_mm": [np.nan] * 9 + [2.0]}
)  # fmt: skip


def test_the_gauge_is_trusted_within_its_own_span_only():
    received = received_water(water((3, "rain", 8.0), (6, "rain", 9.0)), STATION)
    rain = received[received["kind"] == "rain"]
    assert list(rain["date"].dt.day) == [1, 2, 3, 6, 7, 8, 9, 10]
    assert rain["mm"].sum() == 8.0 + 9.0 + 6 * 5.0
    assert list(received.loc[received["kind"] == "snow", "mm"]) == [2.0]


def test_a_gauge_that_is_taken_in_for_winter_leaves_the_station_to_speak():
    """Rain of 3 and 20 January, then none before 10 April: of 80 days the station tells."""
    days = pd.date_range("2020-01-01", "2020-04-20")
    station = pd.DataFrame({"date": days, "rain_mm": 1.0, "snow_mm": 2.0})
    own = water((3, "rain", 8.0), (20, "rain", 9.0))
    spring = water((1, "rain", 7.0)).assign(date=pd.Timestamp("2020-04-10"))
    received = received_water(pd.concat([own, spring]), station)
    fell = received.set_index(["kind", "date"])["mm"]
    winter = slice(pd.Timestamp("2020-01-21"), pd.Timestamp("2020-04-09"))
    assert len(fell["rain"][winter]) == len(fell["snow"][winter]) == 80
    assert fell["rain"][pd.Timestamp("2020-01-03") : pd.Timestamp("2020-01-20")].sum() == 17.0
    assert fell["snow"].index.min() == pd.Timestamp("2020-01-01")
    assert not fell["snow"].index.isin(pd.date_range("2020-01-03", "2020-01-20")).any()
    assert fell["rain"][pd.Timestamp("2020-04-10")] == 7.0
    assert fell.sum() == 17.0 + 7.0 + 3.0 * (len(days) - 18 - 1)


@pytest.mark.parametrize(("apart_d", "told_d"), [(30, 0), (31, 30)])
def test_a_gauge_runs_through_thirty_days_without_a_row(apart_d: int, told_d: int) -> None:
    days = pd.date_range("2020-01-01", periods=apart_d + 1)
    station = pd.DataFrame({"date": days, "rain_mm": 1.0})
    own = water((1, "rain", 8.0), (1, "rain", 8.0)).assign(date=days[[0, -1]])
    received = received_water(own, station)
    assert received["mm"].sum() == 16.0 + told_d
    assert len(told_days(own, station.iloc[:0])) == (2 if told_d else 31)


def test_what_fell_is_known_where_gauge_or_station_tells():
    station = STATION.assign(rain_mm=[5.0] * 4 + [np.nan] * 6)
    own = water((6, "rain", 8.0), (8, "snow", 9.0), (10, "irrigation", 30.0))
    told = told_days(own, station)
    assert [int(str(one)[-2:]) for one in told] == [1, 2, 3, 4, 6, 7, 8]
    assert len(told_days(water(), STATION[[]].iloc[:0])) == 0
    assert len(told_days(own, STATION[[]].iloc[:0])) == 3


def test_irrigation_does_not_make_a_gauge():
    received = received_water(water((3, "irrigation", 20.0), (8, "irrigation", 20.0)), STATION)
    assert received.loc[received["kind"] == "rain", "mm"].sum() == 50.0
    assert received.loc[received["kind"] == "irrigation", "mm"].sum() == 40.0


def test_no_water_at_all():
    received = received_water(water(), STATION.iloc[:0])
    assert list(received.columns) == ["date", "kind", "mm"]
    assert len(received) == 0
    assert len(received_water(water((2, "rain", 4.0)), STATION[[]].iloc[:0])) == 1


def test_one_stray_reading_is_no_answer():
    state = front()
    state[21, 4] += 0.03
    parts = found(state)[1]
    assert 90.0 not in set(parts["depth_cm"])


def test_nothing_has_thawed_while_the_layer_is_still_held():
    held = np.zeros((DAYS, len(DEPTHS)), dtype=bool)
    held[5:40, 0] = True
    state = wetted(wetted(flat(), 1, 20, 0.05), 2, 20, 0.05)
    assert list(found(state, held=held)[0]["cause"]) == ["unexplained"]
