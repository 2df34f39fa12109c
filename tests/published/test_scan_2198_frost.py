"""USDA-NRCS SCAN station 2198 (Pullman, Washington), public domain: the frost of December 2013.

The 2-inch sensor reads 36.7 % on 1 December, 10.4 % on the 8th in soil at 28 F, and 28.9 % on
the 16th, still at 32 F: ice, not loss. The last unfrozen reading is 27.9 % on the 4th (33 F).
The daily stamps are taken as local noon.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analytics.model import Daily, Placement, Record
from analytics.settings import Settings
from analytics.soil.calendar import daily_values
from analytics.soil.frost import frost_zones
from analytics.soil.quality import Flag, quality_flags

FOLDER = Path(__file__).parents[3] / "shared" / "data" / "scan_2198_pullman_wa"
FILES = sorted(FOLDER.glob("SCAN_*.csv"))
pytestmark = pytest.mark.skipif(not FILES, reason="open datasets are not beside the repo")

ZONE = "America/Los_Angeles"
INCHES = (2, 4, 8, 20, 40)
PLACED = (
    Placement(site="scan", field="f", number=1, latitude=46.78, longitude=-117.08,
              timezone=ZONE, installed_on=None, removed_on=None),
)  # fmt: skip


@pytest.fixture(scope="module")
def record() -> Record:
    table = pd.read_csv(FILES[0])
    noon = pd.DatetimeIndex(table["date"] + " 12:00").tz_localize(ZONE).tz_convert("UTC")
    percent = table[[f"SMS:1:-{d}" for d in INCHES]].to_numpy(np.float64)
    fahrenheit = table[[f"STO:1:-{d}" for d in INCHES]].to_numpy(np.float64)
    return Record(
        site="scan", times=noon.tz_localize(None).to_numpy().astype("datetime64[us]"),
        depths_cm=2.54 * np.array(INCHES), theta=percent / 100,
        temp_c=(fahrenheit - 32) / 1.8,
    )  # fmt: skip


@pytest.fixture(scope="module")
def daily(record: Record) -> Daily:
    return daily_values(record, quality_flags(record, PLACED, Settings()), PLACED, Settings())


def at(daily: Daily, day: str) -> int:
    return int(np.flatnonzero(daily.days == np.datetime64(day))[0])


@pytest.mark.parametrize(
    ("day", "state", "held"),
    [
        ("2013-12-01", 0.367, False),
        ("2013-12-04", 0.279, False),
        ("2013-12-05", 0.279, True),
        ("2013-12-08", 0.279, True),
        ("2013-12-16", 0.279, True),
    ],
)
def test_the_dip_of_december_2013_is_held(daily, day, state, held):
    row = at(daily, day)
    assert daily.state[row, 0] == pytest.approx(state, abs=0.0005)
    assert bool(daily.held[row, 0]) is held


def test_no_reading_of_the_dip_reaches_any_state(daily):
    dip = slice(at(daily, "2013-12-05"), at(daily, "2013-12-21") + 1)
    assert daily.frozen[dip, 0].all()
    assert np.nanmin(daily.state[dip, 0]) == pytest.approx(0.279, abs=0.0005)


def test_the_layer_is_trusted_as_soon_as_it_has_thawed(daily):
    row = at(daily, "2015-01-06")  # 33 F after a frozen week: 34.1 % at 2 in, 38.7 % at 4 in
    assert not daily.held[row, :2].any()
    assert daily.state[row, :2] == pytest.approx([0.341, 0.387], abs=0.0005)


def test_every_frozen_reading_is_flagged_and_no_value_changed(record):
    flags = quality_flags(record, PLACED, Settings())
    frozen = (flags & np.uint16(Flag.FROZEN)) != 0
    np.testing.assert_array_equal(frozen, (record.temp_c <= 0) & np.isfinite(record.theta))


def test_the_frost_of_8_december_2013_reaches_six_inches(daily):
    """31 F at 4 in (10.16 cm) and 33 F at 8 in (20.32 cm): 32 F half way, 15.24 cm."""
    frost = frost_zones(daily)
    row = frost[frost["date"] == "2013-12-08"].iloc[0]
    assert (row["top_cm"], row["bottom_cm"]) == (0.0, pytest.approx(15.24, abs=0.005))


def test_no_sensor_of_this_honest_record_is_called_broken(record):
    flags = quality_flags(record, PLACED, Settings())
    broken = Flag.STUCK | Flag.FAILING | Flag.SPIKE | Flag.UNIT | Flag.STEP | Flag.RANGE
    assert not (flags & np.uint16(broken)).any()
