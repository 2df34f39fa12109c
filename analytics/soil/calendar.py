"""The site's own days, which placement each belongs to, and the daily values of each layer."""

from datetime import date
from typing import Any
from zoneinfo import ZoneInfoNotFoundError

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.errors import InputRefused
from analytics.model import Bools, Daily, Floats, Placement, Record, Times
from analytics.settings import Settings
from analytics.soil.flags import UNUSABLE, Flag

HOUR = np.timedelta64(3_600_000_000, "us")
DAY = np.timedelta64(1, "D")


def _wall(times: Times, timezone: str) -> Times:
    """Tell what the site's clock showed at each UTC instant."""
    try:
        local = pd.DatetimeIndex(times).tz_localize("UTC").tz_convert(timezone)
    except (ZoneInfoNotFoundError, ValueError) as cause:
        where = f"timezone {timezone!r}"
        remedy = "Give a name of the IANA time zone list, such as America/Chicago."
        raise InputRefused(where, "is not a known time zone.", remedy) from cause
    return local.tz_localize(None).to_numpy()


def local_days(times: Times, timezone: str) -> Times:
    """Find the site's local day of each instant.

    Parameters
    ----------
    times : (n,) datetime64
        UTC.
    timezone : str
        IANA name of the site's zone.

    Returns
    -------
    (n,) datetime64[D]

    Raises
    ------
    InputRefused
        When the zone is not known.
    """
    return _wall(times, timezone).astype("datetime64[D]")


def local_hours(times: Times, timezone: str) -> Floats:
    """Find the hour that the site's clock showed, 0 <= hour < 24, with its fraction.

    Parameters and errors as :func:`local_days`; an hour that repeats in autumn repeats here.
    """
    return _clock(_wall(times, timezone))


def _clock(wall: Times) -> Floats:
    """Hours since the day began by the clock on the wall."""
    since: Any = wall - wall.astype("datetime64[D]")
    return since / HOUR


def local_midnight(day: date, timezone: str) -> np.datetime64:
    """Find the UTC instant at which a local day begins (its first hour where DST skips it)."""
    start = pd.Timestamp(day).tz_localize(timezone, ambiguous=True, nonexistent="shift_forward")
    return start.tz_convert("UTC").tz_localize(None).to_datetime64().astype("datetime64[us]")


def sampling_step(times: Times) -> float:
    """Find the usual time between readings.

    Parameters
    ----------
    times : (n,) datetime64
        Ascending.

    Returns
    -------
    float
        Hours; the median difference, NaN for fewer than two readings.
    """
    if len(times) < 2:  # noqa: PLR2004 - a difference takes two
        return float("nan")
    return float(np.median(np.diff(times) / HOUR))


def site_timezone(record: Record, placements: tuple[Placement, ...]) -> str:
    """Take the zone from the site's placements.

    Raises
    ------
    InputRefused
        When the site has none.
    """
    if not placements:
        where, remedy = f"site {record.site!r}", "Add its row to the sites table."
        raise InputRefused(where, "has readings but no placement.", remedy)
    return placements[-1].timezone


def placement_of(days: Times, placements: tuple[Placement, ...]) -> NDArray[np.int16]:
    """Find the number of the placement that each local day belongs to.

    A placement without an end ends where the next begins. A day on which the probe left one
    hole and went into another mixes both, and belongs to none.

    Parameters
    ----------
    days : (D,) datetime64[D]
    placements : tuple of Placement
        Of one site, in order of time.

    Returns
    -------
    (D,) int16
        The placement's number; 0 where there is none.
    """
    number = np.zeros(len(days), np.int16)
    moved = np.zeros(len(days), np.bool_)
    starts = [_day(one.installed_on) for one in placements]
    for place, one in enumerate(placements):
        inside = np.ones(len(days), np.bool_)
        start = starts[place]
        if start is not None:
            inside &= days >= start
        for end in (_day(one.removed_on), *starts[place + 1 : place + 2]):
            if end is not None:
                inside &= days <= end
        moved |= inside & (number > 0)
        number[inside] = one.number
    number[moved] = 0
    return number


def _day(day: date | None) -> np.datetime64 | None:
    return None if day is None else np.datetime64(day, "D")


def between_sensors(values: Floats, depths_cm: Floats) -> Floats:
    """Fill what a sensor lacks by linear interpolation between the sensors that have it.

    Nothing is carried above the first or below the last sensor that has a value.

    Parameters
    ----------
    values : (n, k) float
        Such as temperature, degrees C.
    depths_cm : (k,) float
        Ascending.

    Returns
    -------
    (n, k) float
    """
    seen = np.isfinite(values)
    rows = np.flatnonzero(~seen.all(axis=1) & seen.any(axis=1))
    if not len(rows):
        return values
    part, have = values[rows], seen[rows]
    last = len(depths_cm) - 1
    column = np.arange(last + 1)
    above = np.maximum.accumulate(np.where(have, column, -1), axis=1)
    below = np.minimum.accumulate(np.where(have, column, last + 1)[:, ::-1], axis=1)[:, ::-1]
    hole = (above >= 0) & (below <= last) & ~have
    row, col = np.nonzero(hole)
    up, down = above[row, col], below[row, col]
    share = (depths_cm[col] - depths_cm[up]) / (depths_cm[down] - depths_cm[up])
    filled = part.copy()
    filled[row, col] = part[row, up] + share * (part[row, down] - part[row, up])
    whole = values.copy()
    whole[rows] = filled
    return whole


def day_starts(days: Times) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Cut ascending rows into days: the first row of each, and its place in the calendar."""
    first = np.flatnonzero(np.r_[True, days[1:] != days[:-1]])
    return first, ((days[first] - days[0]) / DAY).astype(np.intp)


def daily_values(
    record: Record,
    flags: NDArray[np.uint16],
    placements: tuple[Placement, ...],
    settings: Settings,
) -> Daily:
    """Sum up each layer's local days from its usable readings.

    Usable are finite readings without a flag of ``UNUSABLE``. The pre-dawn value is the median
    of the usable readings from ``predawn_from_h`` to just before ``predawn_to_h``, when uptake
    is nil; it is the day's state, or where there is none (a daily record, a hole in the night)
    the mean of the day's usable readings is. Holes are never interpolated, short ones neither:
    the median of what is left of the night serves.

    A layer is frozen on a day when its mean temperature is at or below ``frozen_c``, by its own
    sensor or else between its neighbours', or when any of its readings carries ``FROZEN``.
    A dielectric sensor then sees liquid water only, so the state is held at the last unfrozen
    one of the same placement. It stays held through following days in the zero curtain
    (``FROST_EDGE``): a half-thawed layer reads as a dry one.

    Parameters
    ----------
    record : Record
        n readings of k sensors.
    flags : (n, k) uint16
        Of :class:`analytics.soil.flags.Flag`.
    placements : tuple of Placement
        Of this site, in order of time.
    settings : Settings

    Returns
    -------
    Daily
        Every local day from the first reading to the last; NaN where nothing good was read.

    Raises
    ------
    InputRefused
        When the site has no placement, or an unknown time zone.
    """
    if not len(record.times):
        return _no_days(record)
    wall = _wall(record.times, site_timezone(record, placements))
    day_of = np.maximum.accumulate(wall.astype("datetime64[D]"))
    days = np.arange(day_of[0], day_of[-1] + DAY)
    cut, at = day_starts(day_of)
    good = np.isfinite(record.theta) & ((flags & np.uint16(UNUSABLE)) == 0)
    hours = _clock(wall)
    night = (hours >= settings.predawn_from_h) & (hours < settings.predawn_to_h)
    sums = {name: _spread(one, at, len(days)) for name, one in _sums(record.theta, good, cut)}
    predawn = _night_median(record.theta, good, night, ((day_of - days[0]) / DAY), len(days))
    temp_c = _spread(_mean(record.temp_c, np.isfinite(record.temp_c), cut), at, len(days))
    filled = between_sensors(temp_c, record.depths_cm)
    frozen = (filled <= settings.frozen_c) | _any(flags, Flag.FROZEN, cut, at, len(days))
    edge = _any(flags, Flag.FROST_EDGE, cut, at, len(days))
    placement = placement_of(days, placements)
    seen = np.where(np.isfinite(predawn), predawn, sums["mean"])
    state, held = hold_frozen(seen, frozen, edge, placement)
    count = np.nan_to_num(sums.pop("count")).astype(np.int32)
    return Daily(
        site=record.site, days=days, depths_cm=record.depths_cm, **sums, predawn=predawn,
        state=state, temp_c=temp_c, good=count, frozen=frozen, held=held, placement=placement,
    )  # fmt: skip


def hold_frozen(
    seen: Floats, frozen: Bools, edge: Bools, placement: NDArray[np.int16]
) -> tuple[Floats, Bools]:
    """Hold each layer's state at its last unfrozen value while it is frozen.

    Parameters
    ----------
    seen : (D, k) float
        m3/m3 as read.
    frozen, edge : (D, k) bool
        Days of frozen soil, and days in the zero curtain on which the reading moved.
    placement : (D,) int16
        Nothing is held across a change.

    Returns
    -------
    state : (D, k) float
    held : (D, k) bool
    """
    icy = frozen | (edge & _touches(frozen, edge))
    day = np.arange(len(seen))[:, None]
    known = np.where(~icy & np.isfinite(seen), day, -1)
    last = np.maximum.accumulate(known, axis=0)
    same = (last >= 0) & (placement[np.maximum(last, 0)] == placement[:, None])
    held = icy & same
    before = np.take_along_axis(seen, np.maximum(last, 0), axis=0)
    return np.where(held, before, np.where(icy, np.nan, seen)), held


def _touches(frozen: Bools, edge: Bools) -> Bools:
    """Find days in a run of edge days that begins right after a frozen day."""
    day = np.arange(len(frozen))[:, None]
    last_frozen = np.maximum.accumulate(np.where(frozen, day, -1), axis=0)
    last_clear = np.maximum.accumulate(np.where(~frozen & ~edge, day, -1), axis=0)
    return last_frozen > last_clear


def _spread(values: Floats, at: NDArray[np.intp], days: int) -> Floats:
    """Put the days that have readings into the calendar, the others empty."""
    whole = np.full((days, values.shape[1]), np.nan)
    whole[at] = values
    return whole


def _mean(values: Floats, good: Bools, cut: NDArray[np.intp]) -> Floats:
    count = np.add.reduceat(good, cut, axis=0, dtype=np.float64)
    total = np.add.reduceat(np.where(good, values, 0.0), cut, axis=0)
    return np.where(count > 0, total / np.maximum(count, 1.0), np.nan)


def _sums(theta: Floats, good: Bools, cut: NDArray[np.intp]) -> list[tuple[str, Floats]]:
    """First, last, low, high, mean and count of the good readings of each day with readings."""
    kept = np.where(good, theta, np.nan)
    row = np.arange(len(theta), dtype=np.int32)[:, None]
    head = np.minimum.reduceat(np.where(good, row, len(theta) - 1), cut, axis=0)
    tail = np.maximum.reduceat(np.where(good, row, 0), cut, axis=0)
    return [
        ("first", np.take_along_axis(kept, head, axis=0)),
        ("last", np.take_along_axis(kept, tail, axis=0)),
        ("low", np.fmin.reduceat(kept, cut, axis=0)),
        ("high", np.fmax.reduceat(kept, cut, axis=0)),
        ("mean", _mean(theta, good, cut)),
        ("count", np.add.reduceat(good, cut, axis=0, dtype=np.float64)),
    ]


def _night_median(theta: Floats, good: Bools, night: Bools, day: Any, days: int) -> Floats:
    """Take the median of each night's good readings: sorted slots, empty ones last."""
    rows = np.flatnonzero(night)
    whole = np.full((days, theta.shape[1]), np.nan)
    if not len(rows):
        return whole
    which = day[rows].astype(np.intp)
    start = np.r_[0, np.flatnonzero(np.diff(which)) + 1]
    slot = np.arange(len(rows)) - np.repeat(start, np.diff(np.r_[start, len(rows)]))
    grid = np.full((days, int(slot.max()) + 1, theta.shape[1]), np.nan)
    grid[which, slot] = np.where(good[rows], theta[rows], np.nan)
    grid.sort(axis=1)
    count = np.isfinite(grid).sum(axis=1)
    upper = np.take_along_axis(grid, (count // 2)[:, None] * (count > 0)[:, None], axis=1)
    lower = np.take_along_axis(grid, np.maximum(count - 1, 0)[:, None] // 2, axis=1)
    return np.where(count > 0, (upper[:, 0] + lower[:, 0]) / 2, np.nan)


def _any(
    flags: NDArray[np.uint16],
    flag: Flag,
    cut: NDArray[np.intp],
    at: NDArray[np.intp],
    days: int,
) -> Bools:
    whole = np.zeros((days, flags.shape[1]), np.bool_)
    whole[at] = (np.bitwise_or.reduceat(flags, cut, axis=0) & np.uint16(flag)) != 0
    return whole


def _no_days(record: Record) -> Daily:
    empty = np.empty((0, len(record.depths_cm)))
    none = empty.astype(np.bool_)
    return Daily(
        site=record.site, days=np.empty(0, "datetime64[D]"), depths_cm=record.depths_cm,
        first=empty, last=empty, low=empty, high=empty, mean=empty, predawn=empty, state=empty,
        temp_c=empty, good=empty.astype(np.int32), frozen=none, held=none,
        placement=np.empty(0, np.int16),
    )  # fmt: skip
