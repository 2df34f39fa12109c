"""Which readings to doubt, and why. No value is ever changed here."""

from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.model import Bools, Floats, Placement, Record, Times, rows_of
from analytics.settings import Settings
from analytics.soil.breaks import breaks, lasting_falls
from analytics.soil.clock import clock_suspect
from analytics.soil.days import (
    DAY,
    between_sensors,
    day_starts,
    local_days,
    placement_of,
    sampling_step,
    site_timezone,
)
from analytics.soil.disturbance import disturbed
from analytics.soil.failing import failing_days
from analytics.soil.flags import UNUSABLE, Flag, runs
from analytics.soil.gaps import find_gaps, flag_spans
from analytics.soil.plateaus import low_after_drop, saturated
from analytics.soil.repeats import spikes, stuck
from analytics.soil.settling import settling_days

__all__ = ["UNUSABLE", "Flag", "find_gaps", "flag_spans", "quality_flags"]

HOURLY_H = 1.5  # a record with longer steps is not an hourly one
DAY_H = 24.0


def quality_flags(
    record: Record,
    placements: tuple[Placement, ...],
    settings: Settings,
    received: pd.DataFrame | None = None,
    highest: Floats | None = None,
) -> NDArray[np.uint16]:
    """Flag every reading that there is reason to doubt.

    Range, spike, break, plateau and frozen soil follow Dorigo et al. (2013, Vadose Zone
    Journal 12(3), flags C01, C02, D06 to D10, D01), restated in m3/m3. The rules for stuck,
    failing, disturbed, settling and percent-like readings and for clocks are ours, each
    described where it is written. ``DUPLICATE`` is a person's alone.

    Parameters
    ----------
    record : Record
        n readings of k sensors.
    placements : tuple of Placement
        Of this site, in order of time.
    settings : Settings
    received : DataFrame or None
        Water received, columns date, kind, mm; without it a rise of every sensor at once is
        taken for water.
    highest : (k,) float, optional
        What each sensor read at most before the record given, where that is a part of a longer
        one.

    Returns
    -------
    (n, k) uint16
        Bits of :class:`analytics.soil.flags.Flag`; 0 where there is no reading.

    Raises
    ------
    InputRefused
        When the site has no placement, or an unknown time zone.
    """
    flags = np.zeros(record.theta.shape, np.uint16)
    if not len(record.times):
        return flags
    days = np.maximum.accumulate(local_days(record.times, site_timezone(record, placements)))
    placement = placement_of(days, placements)
    there = np.isfinite(record.theta)
    hourly = sampling_step(record.times) <= HOURLY_H
    _mark(flags, _out_of_range(record.theta, settings), Flag.RANGE)
    _mark(flags, _like_percent(record, settings), Flag.UNIT)
    _mark(flags, stuck(record, settings, hourly=hourly), Flag.STUCK)
    frozen, edge = _frost(record, settings)
    _mark(flags, frozen, Flag.FROZEN)
    _mark(flags, edge, Flag.FROST_EDGE)
    if hourly:
        _published(record, flags, settings, highest)
        _mark(flags, _clock(record, placement, settings)[:, None], Flag.CLOCK)
    failing = failing_days(record, flags, days, settings, hourly=hourly)
    _mark(flags, failing, Flag.FAILING)
    usable = there & ((flags & np.uint16(UNUSABLE)) == 0)
    if hourly:
        _mark(flags, lasting_falls(record, usable & ~edge, settings), Flag.STEP)
    _mark(flags, disturbed(record, usable, received, settings)[:, None], Flag.STEP)
    _mark(flags, _settling(record, usable, days, placements, settings), Flag.SETTLING)
    _mark(flags, (placement == 0)[:, None], Flag.PLACELESS)
    flags *= there
    return flags


def _published(
    record: Record, flags: NDArray[np.uint16], settings: Settings, highest: Floats | None
) -> None:
    """Mark what the published rules find in an hourly record; a frozen layer breaks none."""
    _mark(flags, spikes(record, settings), Flag.SPIKE)
    drops, jumps = breaks(record, settings)
    thawed = (flags & np.uint16(Flag.FROZEN | Flag.FROST_EDGE)) == 0
    _mark(flags, (drops | jumps) & thawed, Flag.STEP)
    low = low_after_drop(record, drops, settings) & thawed
    _mark(flags, low & _far_below(record.theta, low, settings), Flag.LOW_FLAT)
    _mark(flags, saturated(record, settings, highest), Flag.PLATEAU)


def _clock(record: Record, placement: NDArray[np.int16], settings: Settings) -> Bools:
    """Find the readings of a clock that jumped, each placement by itself."""
    cut = np.flatnonzero(np.r_[True, placement[1:] != placement[:-1]])
    parts = (slice(*ends) for ends in pairwise([*cut.tolist(), len(placement)]))
    return np.concatenate([clock_suspect(rows_of(record, part), settings) for part in parts])


def _far_below(theta: Floats, where: Bools, settings: Settings) -> Bools:
    """Ask that readings lie far below the sensor's own middle: a quiet sensor is flat too."""
    below = np.zeros(theta.shape, np.bool_)
    for sensor in np.flatnonzero(where.any(axis=0)):
        middle = float(np.nanmedian(theta[:, sensor]))
        below[:, sensor] = theta[:, sensor] < settings.low_flat_level * middle
    return below


def _mark(flags: NDArray[np.uint16], where: Bools, flag: Flag) -> None:
    if where.any():
        flags |= where * np.uint16(flag)


def _out_of_range(theta: Floats, settings: Settings) -> Bools:
    return (theta < settings.theta_low) | (theta > settings.theta_high)


def _like_percent(record: Record, settings: Settings) -> Bools:
    """Find stretches of values from 1 to 100 among fractions: percent taken for m3/m3."""
    like = (record.theta > 1.0) & (record.theta <= 100.0)  # noqa: PLR2004 - per cent
    found = np.zeros_like(like)
    least = np.timedelta64(round(settings.unit_days * DAY_H * 3600), "s")
    for sensor in np.flatnonzero(like.any(axis=0)):
        rows = np.flatnonzero(np.isfinite(record.theta[:, sensor]))
        for first, last in runs(like[rows, sensor]):
            if record.times[rows[last]] - record.times[rows[first]] >= least:
                found[rows[first : last + 1], sensor] = True
    return found


def _frost(record: Record, settings: Settings) -> tuple[Bools, Bools]:
    """Find readings in frozen soil, and moving ones in the zero curtain."""
    frozen, edge = (np.zeros(record.theta.shape, np.bool_) for _ in range(2))
    limit_c = max(settings.zero_curtain_c, settings.frozen_c)
    cold = np.flatnonzero((record.temp_c <= limit_c).any(axis=1))
    temp_c = between_sensors(record.temp_c[cold], record.depths_cm)
    frozen[cold] = temp_c <= settings.frozen_c
    close = (np.abs(temp_c) <= settings.zero_curtain_c) & ~frozen[cold]
    place, sensors = np.nonzero(close)
    rows = cold[place]
    before = np.maximum(_rows_a_day_before(record.times, rows), 0)
    moved = np.abs(record.theta[rows, sensors] - record.theta[before, sensors])
    edge[rows, sensors] = moved > settings.edge_move
    return frozen, edge


def _rows_a_day_before(times: Times, rows: NDArray[np.intp]) -> NDArray[np.intp]:
    """Find each row's last row at least a day (less half an hour) older; -1 where none is."""
    back: Any = np.timedelta64(1, "D") - np.timedelta64(30, "m")
    return np.searchsorted(times, times[rows] - back, side="right") - 1


def _settling(
    record: Record,
    usable: Bools,
    days: Times,
    placements: tuple[Placement, ...],
    settings: Settings,
) -> Bools:
    """Find readings of a depth that still settles, by its daily means after installation."""
    settling = np.zeros(record.theta.shape, np.bool_)
    longest = np.timedelta64(round(settings.settling_most_days), "D")
    for one in placements:
        if one.installed_on is None:
            continue
        start = np.datetime64(one.installed_on, "D")
        first, after = np.searchsorted(days, [start, start + longest])
        if first == after:
            continue
        rows = slice(int(first), int(after))
        calendar, values = _daily_means(record.theta[rows], usable[rows], days[rows])
        still = settling_days(values, calendar, (one,), settings)
        settling[rows] |= still[((days[rows] - calendar[0]) / DAY).astype(np.intp)]
    return settling


def _daily_means(theta: Floats, usable: Bools, days: Times) -> tuple[Times, Floats]:
    cut, at = day_starts(days)
    count = np.add.reduceat(usable, cut, axis=0, dtype=np.float64)
    total = np.add.reduceat(np.where(usable, theta, 0.0), cut, axis=0)
    values = np.full((int(at[-1]) + 1, theta.shape[1]), np.nan)
    values[at] = np.where(count > 0, total / np.maximum(count, 1.0), np.nan)
    return np.arange(days[0], days[-1] + DAY), values
