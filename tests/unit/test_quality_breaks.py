"""Breaks, plateaus, settling, clocks and moves: each on a record made for it."""

from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analytics.model import Placement, Record
from analytics.settings import Settings
from analytics.soil.breaks import breaks
from analytics.soil.disturbance import detected_moves, effective_placements
from analytics.soil.edits import no_edits
from analytics.soil.flags import UNUSABLE
from analytics.soil.plateaus import low_after_drop, saturated
from analytics.soil.quality import Flag, quality_flags

HOUR = np.timedelta64(3600, "s")
START = np.datetime64("2023-04-01T05:00", "us")  # local midnight in Chicago
DEPTHS = np.array([10.0, 30.0, 60.0, 90.0])


def placement(number=1, installed=None, removed=None) -> Placement:
    return Placement(site="p", field="f", number=number, latitude=35.0, longitude=-101.0,
                     timezone="America/Chicago", installed_on=installed,
                     removed_on=removed)  # fmt: skip


def hourly(days: int, noise: float = 0.0005, seed: int = 1) -> Record:
    rng = np.random.default_rng(seed)
    n = 24 * days
    theta = np.round(0.25 + rng.normal(0, noise, (n, 4)), 4)
    wave = np.sin(2 * np.pi * (np.arange(n)[:, None] / 24 - DEPTHS[None, :] / 120))
    temp_c = 15 + 6 * np.exp(-DEPTHS / 20)[None, :] * wave + rng.normal(0, 0.05, (n, 4))
    return Record(site="p", times=START + np.arange(n) * HOUR, depths_cm=DEPTHS, theta=theta,
                  temp_c=temp_c)  # fmt: skip


def flagged(rec: Record, flag: Flag, placements=None, received=None) -> Any:
    flags = quality_flags(rec, placements or (placement(),), Settings(), received)
    return (flags & np.uint16(flag)) != 0


def rows(marked: np.ndarray) -> list[int]:
    return np.flatnonzero(marked).tolist()


def water(*days: str) -> pd.DataFrame:
    return pd.DataFrame({"date": pd.to_datetime(list(days)), "kind": "rain", "mm": 20.0})


@pytest.mark.parametrize(
    ("to", "drop"),
    [(0.224, True), (0.2281, False)],  # 0.026 of 0.224 is 11.6 %; 0.0219 of 0.2281 is 9.6 %
)
def test_a_drop_is_a_tenth_of_what_is_read_after(to, drop):
    rec = hourly(4, noise=0.0)
    rec.theta[50:, 1] = to
    drops, jumps = breaks(rec, Settings())
    assert rows(drops[:, 1]) == ([50] if drop else [])
    assert not jumps.any()


def test_a_jump_in_dry_soil_must_be_a_hundredth_of_volume():
    rec = hourly(4, noise=0.0)
    rec.theta[:, 0] = 0.05
    rec.theta[50:, 0] = 0.0605
    rec.theta[:, 1] = 0.05
    rec.theta[50:, 1] = 0.0595
    _, jumps = breaks(rec, Settings())
    assert np.argwhere(jumps).tolist() == [[50, 0]]


def test_a_spike_and_a_ramp_are_no_break():
    rec = hourly(4, noise=0.0)
    rec.theta[50, 0] = 0.35
    rec.theta[50:54, 1] += np.array([0.02, 0.04, 0.06, 0.08])
    rec.theta[54:, 1] += 0.08
    drops, jumps = breaks(rec, Settings())
    assert not drops.any()
    assert not jumps.any()


def test_a_fall_to_nought_is_a_drop_and_flat_after_it():
    rec = hourly(30)
    rec.theta[300:340, 2] = 0.0
    drops, _ = breaks(rec, Settings())
    assert drops[300, 2]
    low = low_after_drop(rec, drops, Settings())
    assert rows(low[:, 2]) == list(range(300, 340))
    assert flagged(rec, Flag.LOW_FLAT)[300:340, 2].all()
    assert UNUSABLE & Flag.LOW_FLAT


def test_a_quiet_sensor_after_a_drop_is_not_lost():
    rec = hourly(30)
    rec.theta[300:, 2] -= 0.06
    assert flagged(rec, Flag.STEP)[300, 2]
    assert not flagged(rec, Flag.LOW_FLAT).any()


def test_a_noisy_sensor_that_falls_for_good_steps():
    """Noise of 0.003 hides the bends of the published rule; the fall is a fall all the same."""
    rec = hourly(60, noise=0.003)
    for i, at in enumerate(range(200, 1200, 100)):
        rec.theta[at:, i % 4] *= 0.75
    found = flagged(rec, Flag.STEP)
    assert [bool(found[at, i % 4]) for i, at in enumerate(range(200, 1200, 100))] == [True] * 10


def test_a_plateau_at_saturation_is_marked_and_kept():
    rec = hourly(20, noise=0.0003)
    rec.theta[200:230, 1] = 0.40
    found = saturated(rec, Settings())
    assert set(range(200, 229)) <= set(rows(found[:, 1]))
    assert found.sum() <= 32
    assert not UNUSABLE & Flag.PLATEAU


def test_a_hole_settles_until_its_creep_is_over():
    rec = hourly(120)
    age = np.arange(len(rec.theta)) / 24
    rec.theta[:, 0] -= 0.06 * np.exp(-age / 20)
    settling = flagged(rec, Flag.SETTLING, (placement(installed=date(2023, 4, 1)),))
    still = settling.reshape(-1, 24, 4).all(axis=1)
    assert rows(still[:, 1])[-1] == 29  # never fewer than 30 days
    # 0.06 (e^(-(t-15)/20) - e^(-t/20)) is 0.008 at t = 20 ln(0.06 x 1.117 / 0.008) = 42.5 d
    assert 40 <= rows(still[:, 0])[-1] <= 45


def test_two_wettings_that_passed_settle_a_depth_that_still_drifts():
    rec = hourly(200)
    age = np.arange(len(rec.theta)) / 24
    rec.theta[:, 0] -= 0.001 * age  # a crop draws on it
    for day in (40, 60):
        rec.theta[:, 0] += np.where(age >= day, 0.05 * np.exp(-(age - day) / 4), 0.0)
    settling = flagged(rec, Flag.SETTLING, (placement(installed=date(2023, 4, 1)),))
    last = rows(settling.reshape(-1, 24, 4).all(axis=1)[:, 0])[-1]
    assert 60 <= last <= 63


@pytest.mark.parametrize("ahead", [1, -1])
def test_a_clock_set_by_an_hour_is_suspect_until_it_is_put_right(ahead):
    rec = hourly(120)
    times = rec.times.copy()
    times[1000:1900] += ahead * HOUR
    keep = np.diff(times, append=times[-1:] + HOUR) > np.timedelta64(0, "s")
    moved = Record(site="p", times=times[keep], depths_cm=DEPTHS, theta=rec.theta[keep],
                   temp_c=rec.temp_c[keep])  # fmt: skip
    found = rows(flagged(moved, Flag.CLOCK)[:, 0])
    assert abs(found[0] - 1000) <= 24
    assert abs(found[-1] - 1899) <= 24
    assert not flagged(rec, Flag.CLOCK).any()
    assert not UNUSABLE & Flag.CLOCK


def test_a_lost_hour_is_no_clock():
    rec = hourly(120)
    keep = np.arange(len(rec.times)) != 1000
    holed = Record(site="p", times=rec.times[keep], depths_cm=DEPTHS, theta=rec.theta[keep],
                   temp_c=rec.temp_c[keep])  # fmt: skip
    assert not flagged(holed, Flag.CLOCK).any()


def without(rec: Record, first: int, after: int) -> Record:
    keep = np.ones(len(rec.times), bool)
    keep[first:after] = False
    return Record(site="p", times=rec.times[keep], depths_cm=DEPTHS, theta=rec.theta[keep],
                  temp_c=rec.temp_c[keep])  # fmt: skip


@pytest.mark.parametrize("days", [2, 5, 14, 30])
@pytest.mark.parametrize("hour", [0, 7, 13, 18])
def test_a_hole_is_no_clock_though_the_soil_is_warmer_behind_it(days, hour):
    rec = hourly(160)
    rec.temp_c[1500:] += 9.0  # as another hole in the ground may be, or another month
    first = 1500 - 24 * days // 2 + hour
    assert not flagged(without(rec, first, first + 24 * days + 5), Flag.CLOCK).any()


def test_a_clock_set_before_a_hole_is_still_found():
    rec = hourly(200)
    times = rec.times + np.where(np.arange(len(rec.times)) >= 1200, HOUR, 0 * HOUR)
    moved = Record(site="p", times=times, depths_cm=DEPTHS, theta=rec.theta, temp_c=rec.temp_c)
    found = rows(flagged(without(moved, 2600, 2900), Flag.CLOCK)[:, 0])
    assert abs(found[0] - 1200) <= 24


def test_another_hole_in_the_ground_has_a_clock_of_its_own():
    rec = hourly(240)
    late = np.arange(len(rec.times)) >= 24 * 120
    wave = np.roll(rec.temp_c, 1, axis=0)
    rec.temp_c[late] = wave[late]  # the same logger's thermometers lie deeper, or shallower
    one = placement(removed=date(2023, 7, 29))  # 120 days after 1 April
    two = placement(2, installed=date(2023, 7, 30))
    assert flagged(rec, Flag.CLOCK).any()
    assert not flagged(rec, Flag.CLOCK, (one, two)).any()


def moves(rec: Record, received=None) -> pd.DataFrame:
    flags = quality_flags(rec, (placement(),), Settings(), received)
    return detected_moves(rec, flags, received, Settings())


def test_a_moved_probe_opens_a_placement():
    rec = hourly(120)
    rec.theta[1000:] += np.array([0.08, -0.06, 0.05, 0.0])
    found = moves(rec)
    assert found[["sensors", "share"]].to_numpy().tolist() == [[3, 0.75]]
    assert found["at"][0] == pd.Timestamp(rec.times[1000], tz="UTC")
    parted = effective_placements((placement(),), found, no_edits(), Settings())
    day = date(2023, 5, 12)  # 1000 hours after 1 April
    assert [(one.number, one.installed_on, one.removed_on) for one in parted] == [
        (1, None, day), (101, day, None)
    ]  # fmt: skip


def test_every_sensor_rising_at_once_is_a_move_only_where_no_water_came():
    rec = hourly(120)
    rec.theta[1000:] += 0.08
    assert moves(rec, None).empty
    assert moves(rec, water("2023-05-12")).empty
    assert moves(rec, water("2023-05-10")).empty
    assert len(moves(rec, water("2023-04-20", "2023-05-20"))) == 1


def test_a_step_over_a_hole_must_exceed_what_soil_dries_meanwhile():
    rec = hourly(60)
    rec.theta[700:] += np.array([0.07, -0.07, -0.07, -0.07])
    rec.theta[652:700] = np.nan  # two days: roots and drainage may take 0.04 and 0.03 besides
    keep = np.isfinite(rec.theta).all(axis=1)
    holed = Record(site="p", times=rec.times[keep], depths_cm=DEPTHS, theta=rec.theta[keep],
                   temp_c=rec.temp_c[keep])  # fmt: skip
    assert moves(holed).empty
    holed.theta[652:] += np.array([0.02, -0.02, -0.02, -0.02])
    assert len(moves(holed)) == 1
    holed.theta[652:, 0] -= 0.18  # every sensor lower: a flooded soil that drained
    assert moves(holed).empty


def test_a_power_dip_of_some_hours_is_no_move():
    rec = hourly(60)
    rec.theta[700:704] -= 0.10
    assert moves(rec).empty


def edit(action: str, at: pd.Timestamp) -> pd.DataFrame:
    return pd.DataFrame({"depth_cm": [np.nan], "flag": ["step"], "from": [at], "to": [at],
                         "action": [action]})  # fmt: skip


def test_a_person_can_dismiss_a_move():
    rec = hourly(120)
    rec.theta[1000:] += np.array([0.08, -0.06, 0.05, 0.04])
    found = moves(rec)
    whole = (placement(),)
    dismissed = edit("dismiss", found["at"][0])
    assert effective_placements(whole, found, dismissed, Settings()) == whole
    confirmed = edit("confirm", found["at"][0])
    assert len(effective_placements(whole, found, confirmed, Settings())) == 2


def test_a_move_beside_a_recorded_one_is_that_one():
    rec = hourly(120)
    rec.theta[1000:] += np.array([0.08, -0.06, 0.05, 0.04])
    recorded = (placement(1, None, date(2023, 5, 10)), placement(2, date(2023, 5, 10)))
    assert effective_placements(recorded, moves(rec), no_edits(), Settings()) == recorded


def test_a_second_recorded_placement_keeps_its_number():
    rec = hourly(120)
    rec.theta[1000:] += np.array([0.08, -0.06, 0.05, 0.04])
    recorded = (placement(1, None, date(2023, 6, 20)), placement(2, date(2023, 6, 20)))
    parted = effective_placements(recorded, moves(rec), no_edits(), Settings())
    assert [one.number for one in parted] == [1, 101, 2]
