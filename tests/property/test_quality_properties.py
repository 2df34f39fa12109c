"""What holds for any record: flags touch nothing, sensors stand alone, zones move nothing."""

from datetime import date

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.model import Placement, Record
from analytics.settings import Settings
from analytics.soil.calendar import daily_values, local_days
from analytics.soil.days import placement_of
from analytics.soil.disturbance import detected_moves, effective_placements
from analytics.soil.edits import apply_edits, no_edits
from analytics.soil.quality import UNUSABLE, Flag, find_gaps, flag_spans, quality_flags

START = np.datetime64("2023-12-20T00:00", "us")
HOUR = np.timedelta64(3600, "s")
K = 4


def placed(timezone: str = "America/Chicago") -> tuple[Placement, ...]:
    return (Placement(site="p", field="f", number=1, latitude=0.0, longitude=0.0,
                      timezone=timezone, installed_on=date(2023, 12, 22),
                      removed_on=None),)  # fmt: skip


@st.composite
def records(draw) -> Record:
    """Any mixture of noise, holes, spikes, percent, repeats and frost."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32)))
    days = draw(st.integers(1, 40))
    step = draw(st.sampled_from([1, 1, 2, 24]))
    n = max(1, days * 24 // step)
    theta = np.round(0.25 + rng.normal(0, draw(st.sampled_from([0.0, 0.002, 0.1])), (n, K)), 3)
    theta[rng.random((n, K)) < draw(st.sampled_from([0.0, 0.05, 0.6]))] = np.nan
    for times in draw(st.lists(st.sampled_from([100.0, -1.0, 1.3]), max_size=3)):
        a = int(rng.integers(0, n))
        theta[a : a + int(rng.integers(1, 60)), int(rng.integers(0, K))] *= times
    temp_c = rng.normal(draw(st.sampled_from([-3.0, 0.0, 15.0])), 1.5, (n, K))
    temp_c[:, rng.random(K) < 0.4] = np.nan
    return Record(site="p", times=START + np.arange(n) * step * HOUR,
                  depths_cm=np.array([10.0, 25.0, 60.0, 90.0]), theta=theta,
                  temp_c=temp_c)  # fmt: skip


@given(records())
@settings(max_examples=50, deadline=None)
def test_flags_never_touch_a_value_and_never_fall_on_nothing(rec):
    before = [one.tobytes() for one in (rec.times, rec.theta, rec.temp_c)]
    theta = rec.theta
    flags = quality_flags(rec, placed(), Settings())
    carried = flags.tobytes()
    moves = detected_moves(rec, flags, None, Settings())
    effective_placements(placed(), moves, no_edits(), Settings())
    apply_edits(rec, flags, every_edit(rec))
    daily_values(rec, flags, placed(), Settings())
    find_gaps(rec, flags, placed(), date(2024, 3, 1), Settings())
    flag_spans(rec, flags, Settings())
    assert [one.tobytes() for one in (rec.times, rec.theta, rec.temp_c)] == before
    assert flags.tobytes() == carried
    assert flags.shape == theta.shape
    assert flags.dtype == np.uint16
    assert not flags[np.isnan(theta)].any()


def every_edit(rec: Record) -> pd.DataFrame:
    """Each flag added by hand over the whole record, then dismissed at one depth."""
    rows = [
        (depth, str(flag.name).lower(), rec.times[0], rec.times[-1], action)
        for flag in Flag
        for depth, action in ((np.nan, "add"), (rec.depths_cm[1], "dismiss"))
    ]
    frame = pd.DataFrame(rows, columns=["depth_cm", "flag", "from", "to", "action"])
    return frame.assign(**{
        side: pd.to_datetime(frame[side]).dt.tz_localize("UTC") for side in ("from", "to")
    })  # fmt: skip


@given(records())
@settings(max_examples=30, deadline=None)
def test_what_people_say_stands_whatever_was_found(rec):
    flags = quality_flags(rec, placed(), Settings())
    edited = apply_edits(rec, flags, every_edit(rec))
    there = np.isfinite(rec.theta)
    every = np.uint16(sum(Flag))
    assert not edited[:, 1].any()
    np.testing.assert_array_equal(edited[:, [0, 2, 3]], (there * every)[:, [0, 2, 3]])


@given(records(), st.integers(0, 1000), st.floats(0.03, 0.2))
@settings(max_examples=30, deadline=None)
def test_placements_are_parted_without_loss(rec, at, size):
    """Every day that a placement held is held by one of its parts, but for days of a move."""
    row = at % len(rec.times)
    rec.theta[row:] += size * np.array([1.0, -1.0, 1.0, -1.0])
    flags = quality_flags(rec, placed(), Settings())
    moves = detected_moves(rec, flags, None, Settings())
    parted = effective_placements(placed(), moves, no_edits(), Settings())
    days = np.unique(local_days(rec.times, "America/Chicago"))
    whole, parts = placement_of(days, placed()), placement_of(days, parted)
    lost = days[(whole > 0) & (parts == 0)]
    moved = {one.installed_on for one in parted[1:]}
    assert set(lost.tolist()) <= moved
    assert len({one.number for one in parted}) == len(parted) <= len(moves) + 1


@given(records(), st.permutations(range(K)))
@settings(max_examples=40, deadline=None)
def test_a_sensors_flags_do_not_depend_on_its_column(rec, order):
    """Frozen soil and clocks look at other thermometers: with one for all they do not."""
    order = list(order)
    whole = np.repeat(np.nan_to_num(rec.temp_c[:, :1], nan=-1.0), K, axis=1)
    straight = Record(site="p", times=rec.times, depths_cm=rec.depths_cm, theta=rec.theta,
                      temp_c=whole)  # fmt: skip
    mixed = Record(site="p", times=rec.times, depths_cm=rec.depths_cm,
                   theta=rec.theta[:, order], temp_c=whole[:, order])  # fmt: skip
    flags = quality_flags(straight, placed(), Settings())
    np.testing.assert_array_equal(quality_flags(mixed, placed(), Settings()), flags[:, order])


@given(records(), st.sampled_from([("America/Chicago", 6), ("Asia/Tokyo", -9)]))
@settings(max_examples=30, deadline=None)
def test_days_follow_the_sites_clock_and_nothing_else(rec, zone):
    """The same wall-clock record in another zone (no DST in the span) gives the same days."""
    name, behind = zone
    moved = Record(site="p", times=rec.times + behind * HOUR, depths_cm=rec.depths_cm,
                   theta=rec.theta, temp_c=rec.temp_c)  # fmt: skip
    here, there = placed("UTC"), placed(name)
    a = quality_flags(rec, here, Settings())
    b = quality_flags(moved, there, Settings())
    np.testing.assert_array_equal(a, b)
    one, two = daily_values(rec, a, here, Settings()), daily_values(moved, b, there, Settings())
    np.testing.assert_array_equal(one.days, two.days)
    np.testing.assert_array_equal(one.state, two.state)
    np.testing.assert_array_equal(one.good, two.good)


@given(records())
@settings(max_examples=50, deadline=None)
def test_daily_values_are_those_of_the_slow_way(rec):
    """One day and sensor after the other, with no clever sums."""
    flags = quality_flags(rec, placed(), Settings())
    day = daily_values(rec, flags, placed(), Settings())
    of = local_days(rec.times, "America/Chicago")
    good = np.isfinite(rec.theta) & ((flags & np.uint16(UNUSABLE)) == 0)
    for d, when in enumerate(day.days):
        for j in range(K):
            values = rec.theta[(of == when) & good[:, j], j]
            assert day.good[d, j] == len(values)
            if not len(values):
                assert np.isnan(day.mean[d, j])
                continue
            assert day.first[d, j] == values[0]
            assert day.last[d, j] == values[-1]
            assert (day.low[d, j], day.high[d, j]) == (values.min(), values.max())
            np.testing.assert_allclose(day.mean[d, j], values.mean(), rtol=0, atol=1e-12)


@given(records())
@settings(max_examples=40, deadline=None)
def test_no_frozen_reading_enters_a_state(rec):
    """Whatever moves in frozen soil, the states stay as they were."""
    flags = quality_flags(rec, placed(), Settings())
    frozen = (flags & np.uint16(Flag.FROZEN)) != 0
    other = Record(site="p", times=rec.times, depths_cm=rec.depths_cm,
                   theta=np.where(frozen, 0.01, rec.theta), temp_c=rec.temp_c)  # fmt: skip
    a = daily_values(rec, flags, placed(), Settings())
    b = daily_values(other, flags, placed(), Settings())
    np.testing.assert_array_equal(a.state, b.state)
    np.testing.assert_array_equal(a.mean, b.mean)
    assert not (a.held & np.isnan(a.state)).any()


@given(records())
@settings(max_examples=40, deadline=None)
def test_spans_count_every_flagged_reading_once(rec):
    flags = quality_flags(rec, placed(), Settings())
    spans = flag_spans(rec, flags, Settings())
    for flag in Flag:
        counted = spans.loc[spans["flag"] == str(flag.name).lower(), "readings"].sum()
        assert counted == ((flags & np.uint16(flag)) != 0).sum()
    assert (spans["from"] <= spans["to"]).all()


@given(records())
@settings(max_examples=40, deadline=None)
def test_no_gap_has_a_good_reading_inside(rec):
    flags = quality_flags(rec, placed(), Settings())
    gaps = find_gaps(rec, flags, placed(), date(2024, 3, 1), Settings())
    since, until = (gaps[side].dt.tz_localize(None).to_numpy() for side in ("from", "to"))
    for depth, start, end in zip(gaps["depth_cm"], since, until, strict=True):
        j = int(np.flatnonzero(rec.depths_cm == depth)[0])
        inside = (rec.times > start) & (rec.times < end) & np.isfinite(rec.theta[:, j])
        assert ((flags[inside, j] & np.uint16(UNUSABLE)) != 0).all()
        assert start < end
