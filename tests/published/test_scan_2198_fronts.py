"""USDA-NRCS SCAN 2198 (Pullman, WA; daily; public domain): fronts of 2014/15, a perched layer.

The order and dates of the fronts, and the 40-inch plateau at 54-58 %, are read off the record
itself (its README); the dates of arrival below are days on which the printed values jump.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analytics.contract import TABLES
from analytics.model import Daily, Layer, Placement
from analytics.settings import Settings
from analytics.soil.limits import learn_limits
from analytics.soil.wetting import find_wettings, received_water

FOLDER = Path(__file__).resolve().parents[3] / "shared" / "data" / "scan_2198_pullman_wa"
INCHES = (2, 4, 8, 20, 40)
DEPTHS = np.array([5.0, 10.0, 20.0, 50.0, 100.0])
EDGES = (0.0, 7.5, 15.0, 35.0, 75.0, 125.0)
LAYERS = tuple(
    Layer(site="scan", depth_cm=float(z), top_cm=EDGES[i], bottom_cm=EDGES[i + 1],
          texture="silt loam")
    for i, z in enumerate(DEPTHS)
)  # fmt: skip
PLACEMENT = Placement(
    site="scan", field="cook", number=1, latitude=46.78, longitude=-117.08,
    timezone="America/Los_Angeles", installed_on=None, removed_on=None,
)  # fmt: skip


@pytest.fixture(scope="module")
def table():
    files = sorted(FOLDER.glob("*.csv"))
    if not files:
        pytest.skip("the SCAN record is not beside this repository")
    read = pd.read_csv(files[0], parse_dates=["date"]).set_index("date")
    return read.reindex(pd.date_range(read.index[0], read.index[-1]))


@pytest.fixture(scope="module")
def daily(table):
    theta = table[[f"SMS:1:-{inch}" for inch in INCHES]].to_numpy(float) / 100.0
    temp_c = (table[[f"STO:1:-{inch}" for inch in INCHES]].to_numpy(float) - 32.0) / 1.8
    frozen = temp_c <= 0.0
    state = pd.DataFrame(np.where(frozen, np.nan, theta)).ffill().to_numpy()
    state = np.where(frozen, state, theta)
    return Daily(
        site="scan", days=table.index.to_numpy().astype("datetime64[D]"), depths_cm=DEPTHS,
        first=theta, last=theta, low=theta, high=theta, mean=theta, predawn=theta, state=state,
        temp_c=temp_c, good=np.isfinite(theta).astype(np.int32), frozen=frozen, held=frozen,
        placement=np.ones(len(theta), dtype=np.int16),
    )  # fmt: skip


@pytest.fixture(scope="module")
def found(table, daily):
    rain = table["PRCP:1:"].dropna() * 25.4
    weather = pd.DataFrame({"date": rain.index, "rain_mm": rain.to_numpy()})
    own = pd.DataFrame({"date": [], "kind": [], "mm": []})
    return find_wettings(daily, LAYERS, received_water(own, weather), Settings())


@pytest.fixture(scope="module")
def full(daily):
    none_set = pd.DataFrame(columns=list(TABLES["limits"].names))
    limits = learn_limits(daily, LAYERS, (), (PLACEMENT,), none_set, Settings())
    return limits[limits["point"] == "full"].set_index("depth_cm")


def between(frame, since, until):
    return frame[(frame["start"] >= since) & (frame["start"] <= until)]


def test_the_front_of_2014_15_went_down_in_order(found):
    parts = between(found[1], "2014-10-25", "2015-01-01")
    big = parts[parts["rise"] > 0.04]
    first = big.groupby("depth_cm")["arrival"].min()
    assert first.is_monotonic_increasing
    assert first[10.0] == pd.Timestamp("2014-11-04")
    assert abs(first[50.0] - pd.Timestamp("2014-12-06")) <= pd.Timedelta(days=2)
    assert abs(first[100.0] - pd.Timestamp("2014-12-24")) <= pd.Timedelta(days=3)


def test_the_four_fronts_of_2014_15_in_their_order(found):
    # README: 4 in on 4 November, 8 in on the 22nd, 20 in on 6 December, 40 in on the 24th, each
    # by over 8 vol. % in some days; a wetting's own share of it is over 5 vol. %, and 40 in
    # had its first on the 21st
    parts = between(found[1], "2014-10-25", "2015-01-01")
    big = parts[parts["rise"] > 0.05].groupby("depth_cm")["arrival"].min()
    expected = {10.0: "2014-11-04", 20.0: "2014-11-22", 50.0: "2014-12-06", 100.0: "2014-12-24"}
    assert big[list(expected)].is_monotonic_increasing
    for depth, day in expected.items():
        assert abs(big[depth] - pd.Timestamp(day)) <= pd.Timedelta(days=3), depth


def test_winter_2013_14_wetted_out_of_its_order_and_is_flagged(found):
    # README: 40 in on 2 December, before 20 in on 3 January: water from below or aside
    wettings = found[0].set_index("start")
    event = wettings.loc["2013-12-01"]
    assert event["bypass"]
    parts = between(found[1], "2013-11-25", "2014-01-31")
    big = parts[parts["rise"] > 0.08].groupby("depth_cm")["arrival"].min()
    assert big[100.0] == pd.Timestamp("2013-12-02")
    assert big[50.0] == pd.Timestamp("2014-01-03")


def test_the_fronts_that_went_down_in_order_are_not_flagged(found):
    wettings = found[0].set_index("start")
    for day in ("2014-11-04", "2014-11-22", "2014-12-05", "2014-12-19"):
        assert not wettings.loc[day, "bypass"], day


def test_each_wetting_reaches_as_deep_as_the_front_had_come(found):
    wettings = found[0].set_index("start")
    assert wettings.loc["2014-11-04":"2014-11-30", "depth_reached_cm"].max() < 50.0
    assert wettings.loc["2014-12-05", "depth_reached_cm"] == 50.0
    assert wettings.loc["2014-12-19", "depth_reached_cm"] == 100.0


def test_water_that_came_from_the_side_is_bypass(found):
    # 40 in rises on 23 December by far more than the rain, and before the layers above
    wetting = found[0].set_index("start").loc["2014-12-23"]
    assert wetting["stored_mm"] > 2 * wetting["applied_mm"]
    assert wetting["bypass"]


def test_the_perched_plateau_is_not_a_full_point(daily, full):
    plateau = daily.state[:, 4]
    assert np.nanmedian(plateau[plateau > 0.5]) > 0.53  # it stands there for months
    assert bool(full.loc[100.0, "ponded"])
    assert full.loc[100.0, "value"] < 0.47
    assert not full.loc[[5.0, 10.0, 20.0], "ponded"].any()


def test_no_full_point_leaves_what_a_soil_can_hold(full):
    assert full["value"].between(0.25, 0.47).all()
    assert (full["sd"] > 0).all()


def test_frozen_dips_are_no_dry_soil_and_no_wetting(found):
    # 2 in falls from 36.7 % on 1 December 2013 to 10.4 % on the 8th (frozen), back by the 16th
    assert len(between(found[0], "2013-12-04", "2013-12-31")) == 0
