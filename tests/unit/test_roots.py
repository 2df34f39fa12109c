"""Uptake and rooting from an hourly record whose every millimetre is put there by hand."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from analytics.contract import TABLES
from analytics.model import Daily, Layer, Record, Season
from analytics.settings import Settings
from analytics.soil.flags import Flag
from analytics.soil.roots import uptake

ZONE = "America/Chicago"
DEPTHS = np.array([15.0, 45.0, 75.0, 105.0])
LAYERS = tuple(
    Layer(site="p", depth_cm=float(z), top_cm=float(z) - 15, bottom_cm=float(z) + 15)
    for z in DEPTHS
)
MM = 300.0  # of water in a layer per unit of theta
DAYS = 120
FIRST = np.datetime64("2021-03-01", "D")  # the clocks go forward on 14 March
CROP = Season(
    field="f", crop="corn", planted_on=date(2021, 4, 10), harvested_on=date(2021, 6, 10)
)
PLANTED, HARVESTED = 40, 101  # row of the days above


def a_record(taken_mm, *, night_mm_h=0.0, noise=0.0):
    """Hourly theta: ``taken_mm[d, j]`` leaves evenly between 06 and 20 h local of day d."""
    local = pd.date_range(str(FIRST), periods=DAYS * 24, freq="h", unit="us").tz_localize(
        ZONE, nonexistent="NaT", ambiguous="NaT"
    )
    there = local.notna()
    hour = np.arange(DAYS * 24) % 24
    by_day = (hour > 6) & (hour <= 20)
    gone = np.where(by_day[:, None], np.repeat(taken_mm, 24, axis=0) / 14.0, 0.0)
    theta = 0.30 - np.cumsum(gone + night_mm_h, axis=0) / MM
    theta += np.random.default_rng(3).normal(0.0, noise, theta.shape)
    times = local[there].tz_convert("UTC").tz_localize(None).to_numpy()
    return Record(
        site="p", times=times, depths_cm=DEPTHS, theta=theta[there],
        temp_c=np.full(theta[there].shape, 15.0),
    )  # fmt: skip


def a_daily(state=None):
    blank = np.full((DAYS, len(DEPTHS)), np.nan)
    none = np.zeros(blank.shape, dtype=bool)
    return Daily(
        site="p", days=FIRST + np.arange(DAYS), depths_cm=DEPTHS, first=blank, last=blank,
        low=blank, high=blank, mean=blank, predawn=blank,
        state=blank if state is None else state, temp_c=blank,
        good=none.astype(np.int32), frozen=none, held=none,
        placement=np.ones(DAYS, dtype=np.int16),
    )  # fmt: skip


def taken(record, *, flags=None, seasons=(CROP,), state=None):
    flags = np.zeros(record.theta.shape, dtype=np.uint16) if flags is None else flags
    return uptake(record, flags, a_daily(state), LAYERS, seasons, ZONE, Settings())


def drawing():
    """Take 3 mm a day at 15 cm from day 45, 2 at 45 cm from 60, 1 at 75 cm from 80."""
    mm = np.zeros((DAYS, len(DEPTHS)))
    for layer, (day, rate) in enumerate([(45, 3.0), (60, 2.0), (80, 1.0)]):
        mm[day : HARVESTED + 1, layer] = rate
    return mm


def day_of(dates):
    return (dates.to_numpy().astype("datetime64[D]") - FIRST).astype(int)


def test_frame_is_the_contract():
    frame = taken(a_record(drawing()))
    assert tuple(frame.columns) == TABLES["uptake"].names
    assert list(taken(a_record(drawing()), seasons=()).dtypes) == list(frame.dtypes)


def test_every_millimetre_is_found_again():
    frame = taken(a_record(drawing()))
    found = frame.set_index(["date", "depth_cm"])["mm"].unstack()  # noqa: PD010 - one value each
    assert list(day_of(found.index.to_series())) == list(range(PLANTED, HARVESTED + 1))
    assert found.to_numpy() == pytest.approx(drawing()[PLANTED : HARVESTED + 1], abs=0.02)


@pytest.mark.parametrize("night_mm_h", [0.05, -0.05])
def test_what_goes_on_at_night_is_taken_off(night_mm_h):
    frame = taken(a_record(drawing(), night_mm_h=night_mm_h))
    found = frame.set_index(["date", "depth_cm"])["mm"].unstack()  # noqa: PD010 - one value each
    # 0.05 mm an hour would be 0.7 mm over the day
    assert found.to_numpy() == pytest.approx(drawing()[PLANTED : HARVESTED + 1], abs=0.02)


def test_layers_are_rooted_from_the_first_of_three_in_five_days():
    frame = taken(a_record(drawing(), noise=0.0003))
    rooted = frame[frame["rooted"]]
    first = rooted.groupby("depth_cm")["date"].min()
    assert list(first.index) == [15.0, 45.0, 75.0]
    assert day_of(first) == pytest.approx([45, 60, 80], abs=1)
    last = rooted.groupby("depth_cm")["date"].max()
    assert set(day_of(last)) == {HARVESTED}


def test_two_days_of_uptake_are_no_roots():
    mm = np.zeros((DAYS, len(DEPTHS)))
    mm[60:62, 1] = 3.0
    assert not taken(a_record(mm, noise=0.0003))["rooted"].any()
    mm[63, 1] = 3.0  # the third of five
    frame = taken(a_record(mm, noise=0.0003))
    assert day_of(frame.loc[frame["rooted"], "date"]).min() == 60


def test_a_day_of_water_tells_nothing():
    record = a_record(drawing())
    rain = record.times >= np.datetime64("2021-05-20T15", "us")
    record.theta[rain, 0] += 0.05
    frame = taken(record)
    of_top = frame[frame["depth_cm"] == 15.0]
    assert pd.Timestamp("2021-05-20") not in set(of_top["date"])
    assert of_top["mm"].min() > -0.5


def test_unusable_readings_are_not_read():
    record = a_record(drawing())
    flags = np.zeros(record.theta.shape, dtype=np.uint16)
    flags[:, 2] = np.uint16(Flag.RANGE)
    assert set(taken(record, flags=flags)["depth_cm"]) == {15.0, 45.0, 105.0}


def test_a_daily_record_has_no_day_and_night():
    record = a_record(drawing())
    rows = slice(None, None, 24)
    daily = Record(site="p", times=record.times[rows], depths_cm=DEPTHS,
                   theta=record.theta[rows], temp_c=record.temp_c[rows])  # fmt: skip
    assert len(taken(daily)) == 0
    none = Record(site="p", times=record.times[:0], depths_cm=DEPTHS, theta=record.theta[:0],
                  temp_c=record.temp_c[:0])  # fmt: skip
    assert len(taken(none)) == 0


def slow(fall_d: float, until: int = HARVESTED) -> np.ndarray:
    """States that fall at one pace from day 50 on, in the deepest layer alone, with noise."""
    state = np.full((DAYS, len(DEPTHS)), 0.30)
    state += np.random.default_rng(5).normal(0.0, 0.0005, state.shape)
    state[:, 3] -= np.clip(np.arange(DAYS) - 50, 0, until - 50) * fall_d
    return state


def test_a_pull_too_slow_for_a_day_is_dated_by_the_fortnight() -> None:
    # 0.0008 a day is 0.24 mm in 300 mm: under 3 x 0.0005; 0.008 is down by day 60
    quiet = a_record(np.zeros((DAYS, len(DEPTHS))), noise=0.0005)
    rows = taken(quiet, state=slow(0.0008))
    deep = rows[(rows["depth_cm"] == 105.0) & rows["rooted"]]
    assert 57 <= day_of(deep["date"]).min() <= 64
    assert not rows[(rows["depth_cm"] != 105.0)]["rooted"].any()


def test_what_comes_down_too_little_is_not_rooted() -> None:
    quiet = a_record(np.zeros((DAYS, len(DEPTHS))), noise=0.0005)
    assert not taken(quiet, state=slow(0.0008, until=58))["rooted"].any()  # 0.0064 in all
    assert not taken(quiet, state=slow(0.0))["rooted"].any()
