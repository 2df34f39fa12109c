"""Each flag on a record made for it, and quiet on the records that only look like it."""

from datetime import date

import numpy as np
import pytest

from analytics.model import Placement, Record
from analytics.settings import Settings
from analytics.soil.disturbance import detected_moves
from analytics.soil.quality import UNUSABLE, Flag, quality_flags

HOUR = np.timedelta64(3600, "s")
START = np.datetime64("2023-01-01T06:00", "us")  # local midnight in Chicago
DEPTHS = np.array([10.0, 30.0, 60.0, 90.0])


def placement(number=1, installed=None, removed=None) -> Placement:
    return Placement(site="p", field="f", number=number, latitude=35.0, longitude=-101.0,
                     timezone="America/Chicago", installed_on=installed,
                     removed_on=removed)  # fmt: skip


def hourly(days: int, noise: float = 0.001, seed: int = 1) -> Record:
    rng = np.random.default_rng(seed)
    n = 24 * days
    season = 0.03 * np.sin(2 * np.pi * np.arange(n) / 24 / 365)[:, None]
    theta = np.round(0.25 + season + rng.normal(0, noise, (n, 4)), 4)
    return Record(site="p", times=START + np.arange(n) * HOUR, depths_cm=DEPTHS, theta=theta,
                  temp_c=np.full((n, 4), 15.0))  # fmt: skip


def daily(days: int, digits: int = 3, noise: float = 0.002) -> Record:
    rng = np.random.default_rng(2)
    theta = np.round(0.25 + rng.normal(0, noise, (days, 4)), digits)
    times = START + 12 * HOUR + np.arange(days) * 24 * HOUR
    return Record(site="p", times=times, depths_cm=DEPTHS, theta=theta,
                  temp_c=np.full((days, 4), 15.0))  # fmt: skip


def flagged(rec: Record, flag: Flag, placements=None) -> np.ndarray:
    return (quality_flags(rec, placements or (placement(),), Settings()) & np.uint16(flag)) != 0


def test_an_honest_record_carries_no_flag():
    assert not quality_flags(hourly(200), (placement(),), Settings()).any()
    assert not quality_flags(daily(200), (placement(),), Settings()).any()


def test_range_is_strictly_outside():
    rec = hourly(20)
    rec.theta[100:104, 1] = [-0.01, 0.0, 0.6, 0.61]
    assert np.flatnonzero(flagged(rec, Flag.RANGE)[:, 1]).tolist() == [100, 103]


def test_a_reading_that_is_not_there_carries_no_flag():
    rec = hourly(40)
    rec.theta[50:80, 2] = np.nan
    rec.temp_c[40:90] = -5.0
    flags = quality_flags(rec, (placement(installed=date(2023, 1, 1)),), Settings())
    assert not flags[50:80, 2].any()
    assert flags[40:50, 2].all()


def test_a_spike_is_one_reading_that_returns():
    rec = hourly(30)
    rec.theta[300, 0] = 0.32
    rec.theta[400, 0] = 0.18
    assert np.argwhere(flagged(rec, Flag.SPIKE)).tolist() == [[300, 0], [400, 0]]


def test_a_wetting_front_and_an_irrigation_are_no_spike():
    rec = hourly(30)
    rec.theta[300:, 0] += 0.08
    rec.theta[400:424, 1] += 0.10 * np.exp(-np.arange(24) / 6)
    assert not flagged(rec, Flag.SPIKE).any()


def test_a_daily_record_has_no_spikes():
    rec = daily(60)
    rec.theta[30, 0] = 0.32
    assert not flagged(rec, Flag.SPIKE).any()


def test_a_noisy_sensor_that_repeats_is_stuck():
    rec = hourly(120)
    rec.theta[1000:1300, 2] = rec.theta[1000, 2]  # twelve days and a half
    stuck = flagged(rec, Flag.STUCK)
    assert stuck[1000:1300, 2].all()
    assert stuck.sum() == 300


def test_a_repeat_shorter_than_the_rule_is_left():
    rec = hourly(120)
    rec.theta[1000:1230, 2] = rec.theta[1000, 2]
    assert not flagged(rec, Flag.STUCK).any()


def test_a_quiet_deep_sensor_is_not_stuck():
    rec = hourly(200)
    steps = np.round(0.25 - 0.00005 * np.arange(200), 3)  # one step of 0.001 in twenty days
    rec.theta[:, 3] = np.repeat(steps, 24)
    assert not flagged(rec, Flag.STUCK).any()


def test_holes_do_not_hide_a_stuck_sensor_nor_get_its_flag():
    rec = hourly(120)
    rec.theta[1000:1300, 2] = 0.2512
    rec.theta[1100:1140, 2] = np.nan
    stuck = flagged(rec, Flag.STUCK)[:, 2]
    assert stuck.sum() == 260
    assert not stuck[1100:1140].any()


def test_a_daily_record_is_stuck_after_its_own_time():
    rec = daily(400)
    rec.theta[100:165, 1] = 0.25
    rec.theta[250:300, 1] = 0.25
    stuck = flagged(rec, Flag.STUCK)[:, 1]
    assert stuck[100:165].all()
    assert not stuck[250:300].any()


def test_a_daily_sensor_that_seldom_changes_is_not_stuck():
    rec = daily(400)
    rec.theta[:, 3] = np.round(0.25 - 0.001 * (np.arange(400) // 70), 3)
    assert not flagged(rec, Flag.STUCK).any()


def test_a_dying_sensor_fails_to_its_end():
    rec = hourly(300)
    rng = np.random.default_rng(3)
    growing = np.linspace(0.0, 0.05, 100 * 24)
    rec.theta[200 * 24 :, 1] += rng.normal(0, 1, 100 * 24) * growing
    failing = flagged(rec, Flag.FAILING)
    assert not failing[: 200 * 24].any()
    assert failing[225 * 24 :, 1].all()
    assert not failing[:, [0, 2, 3]].any()


def test_a_sensor_is_trusted_again_after_a_quiet_month():
    rec = hourly(300)
    rng = np.random.default_rng(4)
    for first, last in ((100, 120), (140, 160)):
        rec.theta[first * 24 : last * 24, 1] += rng.normal(0, 0.03, (last - first) * 24)
    failing = np.all(flagged(rec, Flag.FAILING)[:, 1].reshape(-1, 24), axis=1, keepdims=True)
    assert failing[102:158].all()  # the twenty quiet days between are not enough
    assert not failing[165:].any()
    assert not failing[:95].any()


def test_rain_after_rain_is_no_failing_sensor():
    rec = hourly(200)
    for day in range(60, 100, 3):
        rec.theta[day * 24 :, 0] += 0.06 * np.exp(-np.arange(len(rec.theta) - day * 24) / 40)
    assert not flagged(rec, Flag.FAILING).any()


def test_a_week_half_out_of_range_fails_as_a_whole():
    rec = hourly(90)
    rec.theta[30 * 24 : 37 * 24 : 2, 0] = 0.9
    failing = flagged(rec, Flag.FAILING)[:, 0]
    assert failing[30 * 24 : 37 * 24].all()
    assert not failing[: 25 * 24].any()
    assert not failing[42 * 24 :].any()


def test_a_week_in_percent_is_suspected_and_not_called_failing():
    rec = hourly(100)
    week = slice(50 * 24, 57 * 24)
    rec.theta[week] *= 100.0
    unit = flagged(rec, Flag.UNIT)
    assert unit[week].all()
    assert unit.sum() == 7 * 24 * 4
    assert not flagged(rec, Flag.FAILING).any()


def test_a_lone_value_above_one_is_only_out_of_range():
    rec = hourly(60)
    rec.theta[500, 0] = 25.0
    assert not flagged(rec, Flag.UNIT).any()
    assert flagged(rec, Flag.RANGE)[500, 0]


def test_frozen_soil_by_its_own_or_its_neighbours_temperature():
    rec = hourly(30)
    rec.temp_c[:, 1] = np.nan
    rec.temp_c[200:300, 0] = -4.0
    rec.temp_c[200:300, 2] = 1.0  # at 30 cm: -4 + 5 x 20/50 = -2 C
    frozen = flagged(rec, Flag.FROZEN)
    assert frozen[200:300, :2].all()
    assert frozen.sum() == 200


def test_exactly_nought_is_frozen():
    rec = hourly(30)
    rec.temp_c[200, 0] = 0.0
    assert np.argwhere(flagged(rec, Flag.FROZEN)).tolist() == [[200, 0]]


def test_the_zero_curtain_is_uncertain_only_while_the_reading_moves():
    rec = hourly(30)
    rec.temp_c[240:480, 0] = 0.5
    rec.theta[300:480, 0] -= 0.03
    edge = flagged(rec, Flag.FROST_EDGE)[:, 0]
    assert edge[301:323].all()  # within a day of the fall
    assert not edge[:300].any()
    assert not edge[330:].any()
    assert not flagged(rec, Flag.FROZEN).any()


def test_a_probe_settles_from_the_day_it_goes_in():
    rec = hourly(60)
    settling = flagged(rec, Flag.SETTLING, (placement(installed=date(2023, 1, 11)),))
    assert np.flatnonzero(settling[:, 0])[[0, -1]].tolist() == [240, 40 * 24 - 1]


def test_readings_of_no_placement_are_placeless_and_unusable():
    rec = hourly(60)
    moved = (
        placement(1, date(2023, 1, 3), date(2023, 1, 20)),
        placement(2, date(2023, 1, 25)),
    )
    flags = quality_flags(rec, moved, Settings())
    placeless = ((flags & np.uint16(Flag.PLACELESS)) != 0)[:, 0].reshape(-1, 24).all(axis=1)
    assert np.flatnonzero(placeless).tolist() == [0, 1, 20, 21, 22, 23]
    assert UNUSABLE & Flag.PLACELESS
    assert not UNUSABLE & Flag.SETTLING


def test_a_disturbed_probe_jumps_on_most_sensors_and_stays():
    rec = hourly(60)
    rec.theta[700:] += np.array([0.10, -0.08, 0.09, -0.12])
    rec.theta[1000] += np.array([0.10, -0.08, 0.09, -0.12])  # a power dip returns
    step = flagged(rec, Flag.STEP)
    assert np.flatnonzero(step.any(axis=1)).tolist() == [700]
    assert step[700].all()


def test_water_on_every_sensor_is_no_disturbance():
    rec = hourly(60)
    rec.theta[700:] += np.array([0.10, 0.08, 0.09, 0.12])
    flags = quality_flags(rec, (placement(),), Settings())
    assert detected_moves(rec, flags, None, Settings()).empty


@pytest.mark.parametrize("n", [0, 1, 2])
def test_the_shortest_records_pass(n):
    rec = hourly(1)
    short = Record(site="p", times=rec.times[:n], depths_cm=DEPTHS, theta=rec.theta[:n],
                   temp_c=rec.temp_c[:n])  # fmt: skip
    assert quality_flags(short, (placement(),), Settings()).shape == (n, 4)


def test_a_sensor_somewhat_noisier_than_usual_is_not_failing():
    rec = hourly(200)
    rng = np.random.default_rng(5)
    rec.theta[100 * 24 : 120 * 24, 1] += rng.normal(0, 0.0028, 20 * 24)  # three times in all
    assert not flagged(rec, Flag.FAILING).any()


def test_soil_that_freezes_at_once_is_no_disturbance():
    rec = hourly(60)
    rec.theta[700:] -= 0.10
    rec.temp_c[700:] = -3.0
    assert not flagged(rec, Flag.STEP).any()
