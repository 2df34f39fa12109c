"""The daily values of each layer, by the site's own days."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.model import Bools, Daily, Floats, Placement, Record
from analytics.settings import Settings
from analytics.soil.days import (
    DAY,
    between_sensors,
    day_starts,
    hours_of,
    local_days,
    local_hours,
    placement_of,
    sampling_step,
    site_timezone,
    wall_time,
)
from analytics.soil.flags import UNUSABLE, Flag

__all__ = ["daily_values", "hold_frozen", "local_days", "local_hours", "sampling_step"]


def daily_values(
    record: Record,
    flags: NDArray[np.uint16],
    placements: tuple[Placement, ...],
    settings: Settings,
    before: Floats | None = None,
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
    one of the same placement. It stays held through days in the zero curtain right after
    (``FROST_EDGE``) that read less than it: a half-thawed layer reads as a dry one.

    Parameters
    ----------
    record : Record
        n readings of k sensors.
    flags : (n, k) uint16
        Of :class:`analytics.soil.flags.Flag`.
    placements : tuple of Placement
        Of this site, in order of time.
    settings : Settings
    before : (k,) float, optional
        Each layer's last state before the record given, where that is a part of a longer one.

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
    wall = wall_time(record.times, site_timezone(record, placements))
    day_of = np.maximum.accumulate(wall.astype("datetime64[D]"))
    days = np.arange(day_of[0], day_of[-1] + DAY)
    cut, at = day_starts(day_of)
    good = np.isfinite(record.theta) & ((flags & np.uint16(UNUSABLE)) == 0)
    hours = hours_of(wall)
    night = (hours >= settings.predawn_from_h) & (hours < settings.predawn_to_h)
    sums = {name: _spread(one, at, len(days)) for name, one in _sums(record.theta, good, cut)}
    predawn = _night_median(record.theta, good, night, ((day_of - days[0]) / DAY), len(days))
    temp_c = _spread(_mean(record.temp_c, np.isfinite(record.temp_c), cut), at, len(days))
    filled = between_sensors(temp_c, record.depths_cm)
    frozen = (filled <= settings.frozen_c) | _any(flags, Flag.FROZEN, cut, at, len(days))
    edge = _any(flags, Flag.FROST_EDGE, cut, at, len(days))
    placement = placement_of(days, placements)
    seen = np.where(np.isfinite(predawn), predawn, sums["mean"])
    state, held = hold_frozen(seen, frozen, edge, placement, before)
    count = np.nan_to_num(sums.pop("count")).astype(np.int32)
    return Daily(
        site=record.site, days=days, depths_cm=record.depths_cm, **sums, predawn=predawn,
        state=state, temp_c=temp_c, good=count, frozen=frozen, held=held, placement=placement,
    )  # fmt: skip


def hold_frozen(
    seen: Floats, frozen: Bools, edge: Bools, placement: NDArray[np.int16],
    before: Floats | None = None,
) -> tuple[Floats, Bools]:  # fmt: skip
    """Hold each layer's state at its last unfrozen value while it is frozen.

    Parameters
    ----------
    seen : (D, k) float
        m3/m3 as read.
    frozen, edge : (D, k) bool
        Days of frozen soil, and days in the zero curtain on which the reading moved.
    placement : (D,) int16
        Nothing is held across a change.
    before : (k,) float, optional
        Each layer's last state in the first day's placement before that day.

    Returns
    -------
    state : (D, k) float
    held : (D, k) bool
    """
    if before is not None and len(seen):
        nothing = np.zeros((1, seen.shape[1]), np.bool_)
        state, held = hold_frozen(
            np.vstack([before, seen]), np.vstack([nothing, frozen]), np.vstack([nothing, edge]),
            np.r_[placement[:1], placement],
        )  # fmt: skip
        return state[1:], held[1:]
    thawing = edge & _touches(frozen, edge)
    day = np.arange(len(seen))[:, None]
    known = np.where(~frozen & ~thawing & np.isfinite(seen), day, -1)
    last = np.maximum.accumulate(known, axis=0)
    same = (last >= 0) & (placement[np.maximum(last, 0)] == placement[:, None])
    before = np.take_along_axis(seen, np.maximum(last, 0), axis=0)
    held = same & (frozen | (thawing & (seen < before)))
    return np.where(held, before, np.where(frozen, np.nan, seen)), held


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
    some = np.logical_or.reduceat(good, cut, axis=0)
    return [
        ("first", np.where(some, np.take_along_axis(kept, head, axis=0), np.nan)),
        ("last", np.where(some, np.take_along_axis(kept, tail, axis=0), np.nan)),
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
