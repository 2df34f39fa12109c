"""The site's own days and hours, and which placement each day belongs to."""

from datetime import date
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfoNotFoundError

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.errors import InputRefused
from analytics.model import Floats, Placement, Record, Times

HOUR = np.timedelta64(3_600_000_000, "us")
DAY = np.timedelta64(1, "D")


def wall_time(times: Times, timezone: str) -> Times:
    """Tell what the site's clock showed at each UTC instant; not to be written to."""
    return _wall_time(times.tobytes(), times.dtype.str, timezone)


@lru_cache(maxsize=4)
def _wall_time(instants: bytes, kind: str, timezone: str) -> Times:
    """Work it out once for all who ask: most probes of a district read at the same instants."""
    try:
        times = pd.DatetimeIndex(np.frombuffer(instants, kind))
        local = times.tz_localize("UTC").tz_convert(timezone)
    except (ZoneInfoNotFoundError, ValueError) as cause:
        where = f"timezone {timezone!r}"
        remedy = "Give a name of the IANA time zone list, such as America/Chicago."
        raise InputRefused(where, "is not a known time zone.", remedy) from cause
    wall = local.tz_localize(None).to_numpy().copy()
    wall.flags.writeable = False
    return wall


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
    return wall_time(times, timezone).astype("datetime64[D]")


def local_hours(times: Times, timezone: str) -> Floats:
    """Find the hour that the site's clock showed, 0 <= hour < 24, with its fraction.

    Parameters and errors as :func:`local_days`; an hour that repeats in autumn repeats here.
    """
    return hours_of(wall_time(times, timezone))


def hours_of(wall: Times) -> Floats:
    """Hours since the day began by the clock on the wall."""
    since: Any = wall - wall.astype("datetime64[D]")
    return since / HOUR


@lru_cache(maxsize=4096)
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
    steps_us = np.diff(times.astype("datetime64[us]", copy=False)).astype(np.int64)
    return float(np.median(steps_us)) / HOUR.astype(np.int64)


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
