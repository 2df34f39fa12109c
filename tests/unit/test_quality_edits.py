"""What people say about flags, laid over what was found."""

import numpy as np
import pandas as pd
import pytest

from analytics.errors import InputRefused
from analytics.model import Record
from analytics.soil.edits import apply_edits, no_edits
from analytics.soil.flags import Flag

START = np.datetime64("2023-01-01T00:00", "us")


def record() -> Record:
    theta = np.full((10, 2), 0.25)
    theta[4, 0] = np.nan
    return Record(site="p", times=START + np.arange(10) * np.timedelta64(1, "h"),
                  depths_cm=np.array([10.0, 30.0]), theta=theta,
                  temp_c=np.full((10, 2), 15.0))  # fmt: skip


def edits(*rows: tuple[float, str, int, int, str]) -> pd.DataFrame:
    frame = pd.DataFrame(rows, columns=["depth_cm", "flag", "from", "to", "action"])
    zero = pd.Timestamp(START, tz="UTC")
    for side in ("from", "to"):
        frame[side] = zero + pd.to_timedelta(frame[side], unit="h")
    return frame


def flags() -> np.ndarray:
    found = np.zeros((10, 2), np.uint16)
    found[2:5] = Flag.SPIKE | Flag.FROZEN
    return found


def carrying(found: np.ndarray, flag: Flag, sensor: int) -> list[int]:
    return np.flatnonzero(found[:, sensor] & np.uint16(flag)).tolist()


def test_no_edit_changes_nothing():
    before = flags()
    after = apply_edits(record(), before, no_edits())
    np.testing.assert_array_equal(after, before)
    assert after is not before


def test_a_dismissed_flag_goes_and_the_others_stay():
    before = flags()
    after = apply_edits(record(), before, edits((30.0, "spike", 2, 3, "dismiss")))
    assert carrying(after, Flag.SPIKE, 1) == [4]
    assert carrying(after, Flag.FROZEN, 1) == [2, 3, 4]
    assert carrying(after, Flag.SPIKE, 0) == [2, 3, 4]
    np.testing.assert_array_equal(before, flags())


@pytest.mark.parametrize("action", ["add", "confirm"])
def test_an_added_or_confirmed_flag_is_set_on_every_reading_of_the_span(action):
    after = apply_edits(record(), flags() * 0, edits((10.0, "stuck", 3, 6, action)))
    assert carrying(after, Flag.STUCK, 0) == [3, 5, 6]  # nothing was read at 4
    assert carrying(after, Flag.STUCK, 1) == []


def test_without_a_depth_the_whole_probe_is_meant_and_the_later_edit_wins():
    both = edits((np.nan, "clock", 0, 9, "add"), (30.0, "clock", 5, 9, "dismiss"))
    after = apply_edits(record(), flags(), both)
    assert carrying(after, Flag.CLOCK, 0) == [0, 1, 2, 3, 5, 6, 7, 8, 9]
    assert carrying(after, Flag.CLOCK, 1) == [0, 1, 2, 3, 4]


@pytest.mark.parametrize(
    ("flag", "action"), [("wet", "add"), ("spike", "delete")], ids=["flag", "action"]
)
def test_what_is_not_known_is_refused(flag, action):
    with pytest.raises(InputRefused):
        apply_edits(record(), flags(), edits((10.0, flag, 0, 1, action)))
