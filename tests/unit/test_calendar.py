"""Local days, and daily values worked by hand."""

from datetime import date

import numpy as np
import pytest

from analytics.errors import InputRefused
from analytics.model import Placement, Record
from analytics.settings import Settings
from analytics.soil.calendar import (
    daily_values,
    hold_frozen,
    local_days,
    local_hours,
    sampling_step,
)
from analytics.soil.days import between_sensors, local_midnight, placement_of
from analytics.soil.flags import Flag

HOUR = np.timedelta64(1, "h")
CHICAGO = "America/Chicago"


def hours_from(start: str, count: int) -> np.ndarray:
    return (np.datetime64(start) + np.arange(count) * HOUR).astype("datetime64[us]")


def placement(number: int = 1, installed=None, removed=None, timezone=CHICAGO) -> Placement:
    return Placement(site="p", field="f", number=number, latitude=0.0, longitude=0.0,
                     timezone=timezone, installed_on=installed, removed_on=removed)  # fmt: skip


def record(times, theta, temp_c=None, depths=(10.0,)) -> Record:
    theta = np.asarray(theta, np.float64)
    temp_c = np.full(theta.shape, np.nan) if temp_c is None else np.asarray(temp_c, np.float64)
    return Record(site="p", times=times, depths_cm=np.array(depths), theta=theta, temp_c=temp_c)


def daily(rec, flags=None, placements=None):
    flags = np.zeros(rec.theta.shape, np.uint16) if flags is None else flags
    return daily_values(rec, flags, placements or (placement(),), Settings())


@pytest.mark.parametrize(
    ("timezone", "day", "hours"),
    [
        (CHICAGO, "2024-03-10", 23),
        (CHICAGO, "2024-11-03", 25),
        (CHICAGO, "2024-07-01", 24),
        ("Australia/Sydney", "2024-10-06", 23),
        ("Australia/Sydney", "2024-04-07", 25),
        ("America/Santiago", "2024-09-08", 23),  # midnight itself is skipped
        ("Asia/Kolkata", "2024-06-01", 24),
    ],
)
def test_a_local_day_has_as_many_hours_as_its_clocks_say(timezone, day, hours):
    times = hours_from("2024-01-01T00:30", 366 * 24)
    days = local_days(times, timezone)
    assert days.dtype == np.dtype("datetime64[D]")
    assert int((days == np.datetime64(day)).sum()) == hours


def test_the_hour_is_the_site_clocks():
    times = np.array(["2024-07-01T05:15", "2024-01-01T06:00"], "datetime64[us]")
    assert local_hours(times, CHICAGO) == pytest.approx([0.25, 0.0])


def test_midnight_is_found_in_summer_and_where_it_is_skipped():
    assert local_midnight(date(2024, 7, 1), CHICAGO) == np.datetime64("2024-07-01T05:00")
    santiago = local_midnight(date(2024, 9, 8), "America/Santiago")
    assert santiago == np.datetime64("2024-09-08T04:00")


def test_an_unknown_zone_is_refused_in_words():
    with pytest.raises(InputRefused, match="Mars/Base"):
        local_days(hours_from("2024-01-01", 2), "Mars/Base")


def test_a_site_without_placement_is_refused():
    rec = record(hours_from("2024-01-01", 2), [[0.2], [0.2]])
    with pytest.raises(InputRefused, match="placement"):
        daily_values(rec, np.zeros((2, 1), np.uint16), (), Settings())


def test_the_step_is_the_usual_one_despite_a_hole():
    times = np.r_[hours_from("2024-01-01", 10), hours_from("2024-02-01", 3)]
    assert sampling_step(times) == 1.0
    assert np.isnan(sampling_step(times[:1]))


def test_one_day_by_hand():
    times = hours_from("2024-07-01T05:00", 24)  # local 00:00 to 23:00
    theta = np.full(24, 0.30)
    theta[[0, 3, 4, 5, 23]] = [0.10, 0.20, 0.26, 0.22, 0.40]
    day = daily(record(times, theta[:, None]))
    assert day.days.tolist() == [date(2024, 7, 1)]
    assert day.first[0, 0] == 0.10
    assert day.last[0, 0] == 0.40
    assert (day.low[0, 0], day.high[0, 0]) == (0.10, 0.40)
    # 19 x 0.30 = 5.70; 5.70 + 0.10 + 0.20 + 0.26 + 0.22 + 0.40 = 6.88; / 24 = 0.28667
    assert day.mean[0, 0] == pytest.approx(6.88 / 24)
    assert day.predawn[0, 0] == 0.22  # middle of 0.20, 0.22, 0.26; 06:00 is not of the night
    assert day.state[0, 0] == 0.22
    assert day.good[0, 0] == 24


def test_an_even_night_takes_the_middle_of_the_two():
    times = hours_from("2024-07-01T05:00", 24)
    theta = np.linspace(0.2, 0.223, 24)[:, None].copy()
    theta[4] = np.nan  # left of the night: 03:00 and 05:00
    assert daily(record(times, theta)).predawn[0, 0] == pytest.approx((0.203 + 0.205) / 2)


def test_a_day_without_its_night_falls_back_on_the_mean_and_a_hole_stays_empty():
    times = np.array(["2024-07-01T17:00", "2024-07-03T17:00", "2024-07-03T19:00"])
    day = daily(record(times.astype("datetime64[us]"), [[0.2], [0.3], [0.4]]))
    assert len(day.days) == 3
    assert np.isnan(day.predawn).all()
    assert day.state[:, 0] == pytest.approx([0.2, np.nan, 0.35], nan_ok=True)
    assert day.good[:, 0].tolist() == [1, 0, 2]


@pytest.mark.parametrize("flag", [Flag.RANGE, Flag.SPIKE, Flag.STUCK, Flag.UNIT, Flag.FAILING])
def test_unusable_readings_enter_nothing(flag):
    times = hours_from("2024-07-01T05:00", 24)
    theta = np.full((24, 1), 0.25)
    theta[4] = 0.9
    flags = np.zeros((24, 1), np.uint16)
    flags[4] = flag
    day = daily(record(times, theta), flags)
    assert (day.high[0, 0], day.mean[0, 0], day.good[0, 0]) == (0.25, pytest.approx(0.25), 23)


def test_settling_readings_are_shown():
    flags = np.full((24, 1), Flag.SETTLING, np.uint16)
    rec = record(hours_from("2024-07-01T05:00", 24), np.full((24, 1), 0.25))
    assert daily(rec, flags).state[0, 0] == 0.25


def noons(first: str, count: int) -> np.ndarray:
    return (np.datetime64(first + "T18:00") + np.arange(count) * 24 * HOUR).astype(
        "datetime64[us]"
    )


def test_a_frozen_layer_holds_its_last_unfrozen_state():
    theta = [[0.30], [0.10], [0.11], [0.28]]
    day = daily(record(noons("2024-01-10", 4), theta, [[2.0], [-1.0], [0.0], [1.5]]))
    assert day.state[:, 0] == pytest.approx([0.30, 0.30, 0.30, 0.28])
    assert day.frozen[:, 0].tolist() == [False, True, True, False]
    assert day.held[:, 0].tolist() == [False, True, True, False]


def test_a_frozen_layer_without_reading_is_held_too():
    day = daily(record(noons("2024-01-10", 2), [[0.30], [np.nan]], [[2.0], [-1.0]]))
    assert day.state[:, 0] == pytest.approx([0.30, 0.30])
    assert day.held[1, 0]
    assert day.good[1, 0] == 0


def test_frozen_with_nothing_before_is_unknown():
    day = daily(record(noons("2024-01-10", 2), [[0.10], [0.28]], [[-1.0], [1.0]]))
    assert np.isnan(day.state[0, 0])
    assert not day.held[0, 0]


def test_nothing_is_held_across_placements():
    both = (
        placement(1, date(2023, 1, 1), date(2024, 1, 10)),
        placement(2, date(2024, 1, 11)),
    )
    rec = record(noons("2024-01-10", 3), [[0.30], [0.10], [0.25]], [[2.0], [-1.0], [1.0]])
    day = daily(rec, placements=both)
    assert day.placement.tolist() == [1, 2, 2]
    assert np.isnan(day.state[1, 0])


def test_a_layer_without_thermometer_takes_its_neighbours():
    temps = [[-2.0, np.nan, 0.0], [-2.0, np.nan, 4.0]]
    day = daily(record(noons("2024-01-10", 2), np.full((2, 3), 0.2), temps, (10.0, 20.0, 30.0)))
    assert day.frozen[:, 1].tolist() == [True, False]  # -1 C, then +1 C, half way between
    assert np.isnan(day.temp_c[0, 1])  # the shown temperature is only ever a measured one


def test_interpolation_never_reaches_beyond_the_outer_sensors():
    values = np.array([[np.nan, 1.0, np.nan, np.nan, 7.0, np.nan], [np.nan] * 6])
    filled = between_sensors(values, np.array([5.0, 10.0, 20.0, 30.0, 40.0, 60.0]))
    assert filled[0] == pytest.approx([np.nan, 1.0, 3.0, 5.0, 7.0, np.nan], nan_ok=True)
    assert np.isnan(filled[1]).all()


def test_half_thawed_soil_stays_held_until_it_reads_as_much():
    seen = np.array([[0.30], [0.10], [0.20], [0.31], [0.29]])
    frozen = np.array([[False], [True], [False], [False], [False]])
    edge = np.array([[False], [False], [True], [True], [False]])
    state, held = hold_frozen(seen, frozen, edge, np.ones(5, np.int16))
    assert state[:, 0] == pytest.approx([0.30, 0.30, 0.30, 0.31, 0.29])
    assert held[:, 0].tolist() == [False, True, True, False, False]


def test_an_edge_day_that_follows_no_frost_is_read_as_it_is():
    seen = np.array([[0.30], [0.25]])
    none = np.zeros((2, 1), bool)
    state, held = hold_frozen(seen, none, np.array([[False], [True]]), np.ones(2, np.int16))
    assert state[1, 0] == 0.25
    assert not held.any()


def test_days_belong_to_placements_and_a_day_of_moving_to_none():
    days = np.arange("2024-01-01", "2024-01-09", dtype="datetime64[D]")
    moved = (placement(1, date(2024, 1, 2)), placement(2, date(2024, 1, 5), date(2024, 1, 7)))
    assert placement_of(days, moved).tolist() == [0, 1, 1, 1, 0, 2, 2, 0]


def test_no_readings_make_no_days():
    rec = record(np.empty(0, "datetime64[us]"), np.empty((0, 1)))
    assert len(daily(rec).days) == 0
