"""Flag spans and gaps as rows."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from analytics.model import Placement, Record
from analytics.settings import Settings
from analytics.soil.quality import Flag, find_gaps, flag_spans, quality_flags

START = np.datetime64("2023-01-01T06:00", "us")  # local midnight in Chicago


def placement(number=1, installed=None, removed=None) -> Placement:
    return Placement(site="p", field="f", number=number, latitude=35.0, longitude=-101.0,
                     timezone="America/Chicago", installed_on=installed,
                     removed_on=removed)  # fmt: skip


def record(hours: np.ndarray, k: int = 1) -> Record:
    theta = 0.25 + 0.001 * ((np.arange(len(hours)) * 7) % 5)[:, None] + np.zeros((1, k))
    times = START + np.rint(3600 * hours).astype("timedelta64[s]")
    depths_cm = 10.0 * np.arange(1, k + 1, dtype=np.float64)
    return Record(site="p", times=times, depths_cm=depths_cm, theta=theta,
                  temp_c=np.full(theta.shape, 15.0))  # fmt: skip


def gaps(rec, as_of, flags=None, placements=None):
    flags = np.zeros(rec.theta.shape, np.uint16) if flags is None else flags
    frame = find_gaps(rec, flags, placements or (placement(),), as_of, Settings())
    assert list(frame.columns) == ["site", "depth_cm", "from", "to", "reason", "hours"]
    zero = pd.Timestamp(START, tz="UTC")
    hour = pd.Timedelta(hours=1)
    since, until = ((frame[side] - zero) / hour for side in ("from", "to"))
    np.testing.assert_allclose(frame["hours"], until - since)
    return list(zip(frame["depth_cm"], since, until, frame["reason"], strict=True))


def test_an_unbroken_record_has_no_gap():
    assert gaps(record(np.arange(48)), date(2023, 1, 3)) == []


def test_a_missing_hour_is_a_gap_and_a_late_one_is_not():
    hours = np.arange(48.0)
    hours[20] += 0.4
    rec = record(np.delete(hours, 30))
    assert gaps(rec, date(2023, 1, 3)) == [(10.0, 29.0, 31.0, "no readings")]


def test_each_sensor_has_its_own_gaps():
    rec = record(np.arange(48), 2)
    rec.theta[10:20, 1] = np.nan
    assert gaps(rec, date(2023, 1, 3)) == [(20.0, 9.0, 20.0, "no readings")]


def test_sensors_that_read_alike_and_are_flagged_otherwise_have_their_own_gaps():
    rec = record(np.arange(48), 3)
    flags = np.zeros(rec.theta.shape, np.uint16)
    flags[10:20, 1], flags[30:40, 2] = Flag.SPIKE, Flag.STUCK
    assert gaps(rec, date(2023, 1, 3), flags) == [
        (20.0, 9.0, 20.0, "flagged spike"), (30.0, 29.0, 40.0, "flagged stuck"),
    ]  # fmt: skip


def test_a_record_may_change_its_step():
    hours = np.r_[np.arange(0, 20 * 24, 24), 20 * 24 + np.arange(10 * 24)]
    rec = record(np.delete(hours, [5, 100]))
    found = gaps(rec, date(2023, 1, 31))
    missing = hours[100]
    assert found == [(10.0, 96.0, 144.0, "no readings"),
                     (10.0, missing - 1, missing + 1, "no readings")]  # fmt: skip


def test_flagged_stretches_are_gaps_named_for_their_flag():
    rec = record(np.arange(96))
    flags = np.zeros((96, 1), np.uint16)
    flags[10:20] = Flag.FROZEN
    flags[40:60] = Flag.STUCK | Flag.SETTLING
    flags[70:80] = Flag.SETTLING
    assert gaps(rec, date(2023, 1, 5), flags) == [
        (10.0, 9.0, 20.0, "frozen"),
        (10.0, 39.0, 60.0, "flagged stuck"),
    ]


def test_a_long_hole_with_one_doubtful_reading_is_a_hole():
    rec = record(np.r_[0:10, 30, 60:96])
    flags = np.zeros(rec.theta.shape, np.uint16)
    flags[10] = Flag.SPIKE
    assert gaps(rec, date(2023, 1, 5), flags) == [(10.0, 9.0, 60.0, "no readings")]


def test_a_probe_that_stops_is_silent_up_to_the_day_asked():
    assert gaps(record(np.arange(48)), date(2023, 1, 10)) == [(10.0, 47.0, 216.0, "silent")]


def test_a_probe_that_ends_failing_is_not_called_silent():
    rec = record(np.arange(96))
    flags = np.zeros((96, 1), np.uint16)
    flags[30:] = Flag.FAILING
    assert gaps(rec, date(2023, 1, 5), flags) == [(10.0, 29.0, 96.0, "flagged failing")]


def test_a_removed_probe_is_not_silent():
    out = (placement(1, None, date(2023, 1, 3)),)
    assert gaps(record(np.arange(48)), date(2023, 3, 1), placements=out) == []


def test_nothing_heard_since_installation():
    rec = record(np.arange(72, 96))
    both = (placement(1, date(2023, 1, 1)),)
    assert gaps(rec, date(2023, 1, 5), placements=both) == [
        (10.0, 0.0, 72.0, "before the record")
    ]
    rec.theta[:] = np.nan
    assert gaps(rec, date(2023, 1, 5), placements=both) == [(10.0, 0.0, 96.0, "silent")]


def test_a_doubtful_first_reading_does_not_make_the_wait_before_it_a_hole():
    rec = record(np.arange(72, 96))
    flags = np.zeros(rec.theta.shape, np.uint16)
    flags[0] = Flag.SPIKE
    assert gaps(rec, date(2023, 1, 5), flags, (placement(1, date(2023, 1, 1)),)) == [
        (10.0, 0.0, 73.0, "before the record")
    ]


def test_a_sensor_that_came_later_has_no_record_before():
    rec = record(np.arange(48), 2)
    rec.theta[:20, 1] = np.nan
    assert gaps(rec, date(2023, 1, 3)) == [(20.0, 0.0, 20.0, "before the record")]


@pytest.mark.parametrize("read_between", [False, True])
def test_between_two_holes_in_the_ground(read_between):
    hours = np.arange(240) if read_between else np.r_[0:72, 168:240]
    rec = record(hours)
    moved = (placement(1, None, date(2023, 1, 3)), placement(2, date(2023, 1, 8)))
    flags = quality_flags(rec, moved, Settings())
    assert gaps(rec, date(2023, 1, 11), flags, moved) == [
        (10.0, 71.0, 168.0, "between placements")
    ]


def spans(rec, flags):
    frame = flag_spans(rec, flags, Settings())
    assert list(frame.columns) == ["site", "depth_cm", "flag", "from", "to", "readings"]
    assert str(frame["from"].dtype) == "datetime64[us, UTC]"
    return list(zip(frame["depth_cm"], frame["flag"], frame["readings"], strict=True))


def test_runs_of_a_flag_become_spans_that_skip_missing_readings():
    rec = record(np.arange(96), 2)
    rec.theta[12, 0] = np.nan
    flags = np.zeros((96, 2), np.uint16)
    flags[10:15, 0] = Flag.FAILING
    flags[12, 0] = 0
    flags[20, 0] = Flag.FAILING
    flags[5, 1] = Flag.SPIKE | Flag.RANGE
    assert spans(rec, flags) == [
        (10.0, "failing", 4), (10.0, "failing", 1), (20.0, "range", 1), (20.0, "spike", 1)
    ]  # fmt: skip


def test_freezing_nights_in_a_row_are_one_span():
    rec = record(np.arange(20 * 24))
    flags = np.zeros((20 * 24, 1), np.uint16)
    for night in (2, 3, 5, 12):
        flags[night * 24 : night * 24 + 6] = Flag.FROZEN
    assert spans(rec, flags) == [(10.0, "frozen", 18), (10.0, "frozen", 6)]


def test_no_flags_make_no_rows():
    rec = record(np.arange(48))
    assert spans(rec, np.zeros((48, 1), np.uint16)) == []
