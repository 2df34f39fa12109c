"""Flagged spans told as rows, and the intervals without good readings."""

from datetime import date
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.model import Bools, Floats, Placement, Record, Times
from analytics.settings import Settings
from analytics.soil.days import (
    HOUR,
    local_days,
    local_midnight,
    placement_of,
    site_timezone,
)
from analytics.soil.flags import UNUSABLE, Flag

BRIDGED = int(Flag.FROZEN | Flag.SETTLING | Flag.FROST_EDGE | Flag.RANGE)
NAMES = {int(one): str(one.name).lower() for one in Flag}  # to loop over the enum is slow
REASONS = {
    bit: {"frozen": "frozen", "placeless": "between placements"}.get(name, f"flagged {name}")
    for bit, name in NAMES.items() if bit & int(UNUSABLE)
}  # fmt: skip
HOURS_A_DAY = 24.0
BESIDE = 12  # sampling steps either side of a gap that tell the local step


def flag_spans(
    record: Record,
    flags: NDArray[np.uint16],
    settings: Settings,
    *,
    since: np.datetime64 | None = None,
) -> pd.DataFrame:
    """Tell flags as runs of consecutive readings.

    Frozen, frost-edge, settling and out-of-range readings less than ``bridge_days`` apart are
    one span, so that freezing nights in a row are told once.

    Parameters
    ----------
    record : Record
    flags : (n, k) uint16
    settings : Settings
    since : datetime64, optional
        Only spans that end at this instant (UTC) or later.

    Returns
    -------
    DataFrame
        Columns site, depth_cm, flag (lower-case name), from, to (UTC, first and last reading),
        readings (that carry the flag).
    """
    rows: list[tuple[float, str, np.datetime64, np.datetime64, int]] = []
    for sensor, depth in enumerate(record.depths_cm):
        carried = flags[:, sensor]
        kinds = int(np.bitwise_or.reduce(carried)) if len(carried) else 0
        if not kinds:
            continue
        there = np.flatnonzero(np.isfinite(record.theta[:, sensor]))
        for flag, name in NAMES.items():
            if not kinds & flag:
                continue
            place = np.flatnonzero(carried[there] & np.uint16(flag))
            times = record.times[there[place]]
            for first, last in _together(place, times, flag, settings):
                if since is not None and times[last] < since:
                    continue
                rows.append((depth, name, times[first], times[last], last - first + 1))
    depth_cm, names, begun, ended, readings = zip(*rows, strict=True) if rows else [[]] * 5
    return pd.DataFrame({
        "site": pd.array([record.site] * len(rows), dtype="str"),
        "depth_cm": np.array(depth_cm, np.float64),
        "flag": pd.array(names, dtype="str"),
        "from": in_utc(begun),
        "to": in_utc(ended),
        "readings": np.array(readings, np.int64),
    })  # fmt: skip


def _together(
    place: NDArray[np.intp], times: Any, flag: int, settings: Settings
) -> list[tuple[int, int]]:
    if not len(place):
        return []
    if flag & BRIDGED:
        apart = np.diff(times) / HOUR > HOURS_A_DAY * settings.bridge_days
    else:
        apart = np.diff(place) > 1
    breaks = np.flatnonzero(apart)
    ends = [*breaks.tolist(), len(place) - 1]
    return list(zip([0, *(breaks + 1).tolist()], ends, strict=True))


def in_utc(instants: Any) -> pd.DatetimeIndex:
    """Give instants as the contract's tables hold them."""
    return pd.DatetimeIndex(np.array(instants, "datetime64[us]")).tz_localize("UTC")


def find_gaps(
    record: Record,
    flags: NDArray[np.uint16],
    placements: tuple[Placement, ...],
    as_of: date,
    settings: Settings,
    *,
    since: np.datetime64 | None = None,
) -> pd.DataFrame:
    """Find each sensor's intervals without good readings.

    An interval between good readings is a gap when it is longer than ``gap_steps`` sampling
    steps, where the step is the longer of the medians of the dozen before and after it, so a
    record may change its step. The first gap may start at the local midnight of installation,
    the last one ends at that of ``as_of``, or of removal.

    Parameters
    ----------
    record : Record
    flags : (n, k) uint16
    placements : tuple of Placement
        Of this site, in order of time.
    as_of : date
        Local day up to which readings are expected.
    settings : Settings
    since : datetime64, optional
        Only gaps that end at this instant (UTC) or later.

    Returns
    -------
    DataFrame
        Columns site, depth_cm, from, to (UTC), reason: ``no readings``, ``frozen``,
        ``flagged NAME``, ``silent`` (open at the end), ``between placements``, ``before the
        record`` (from installation to the sensor's first reading); and hours, its length.

    Raises
    ------
    InputRefused
        When the site has no placement, or an unknown time zone.
    """
    expected = _expected(record, placements, as_of, site_timezone(record, placements))
    read = np.isfinite(record.theta)
    alike: dict[bytes, Gaps] = {}
    parts = []  # most sensors of a probe read, and fail, at the same instants
    for there, carried in zip(read.T, flags.T, strict=True):
        key = there.tobytes() + carried.tobytes()
        if key not in alike:
            alike[key] = _sensor_gaps(record.times, there, carried, expected, settings, since)
        parts.append(alike[key])
    depth_cm = np.repeat(record.depths_cm, [len(part[2]) for part in parts])
    none = np.empty(0, "datetime64[us]")
    begun = np.concatenate([none, *(part[0] for part in parts)])
    until = np.concatenate([none, *(part[1] for part in parts)])
    reasons = [reason for part in parts for reason in part[2]]
    quiet = _quiet(begun, until, placements)
    columns = {
        "site": pd.array([record.site] * len(begun), dtype="str"),
        "depth_cm": depth_cm.astype(np.float64),
        "from": in_utc(begun),
        "to": in_utc(until),
        "reason": pd.array(
            [own or other for own, other in zip(reasons, quiet, strict=True)], dtype="str"
        ),
        "hours": np.asarray((until - begun) / HOUR, np.float64),
    }
    return pd.DataFrame(columns)


Gaps = tuple[Times, Times, list[str | None]]
"""From, to and reason of one sensor's gaps."""


def _expected(
    record: Record, placements: tuple[Placement, ...], as_of: date, timezone: str
) -> tuple[np.datetime64 | None, np.datetime64]:
    """From when until when readings are expected; no start where none is known."""
    first, last = placements[0].installed_on, placements[-1].removed_on
    start = record.times[0] if len(record.times) else None
    if first is not None:
        start = local_midnight(first, timezone)
    until = as_of if last is None else min(as_of, last)
    return start, local_midnight(until, timezone)


def _sensor_gaps(  # noqa: PLR0917 - a sensor's readings, and what of them is asked
    instants: Times,
    read: Bools,
    carried: NDArray[np.uint16],
    expected: tuple[np.datetime64 | None, np.datetime64],
    settings: Settings,
    ending: np.datetime64 | None,
) -> Gaps:
    """One sensor's gaps; the reason is left open where no flag explains the gap.

    Where an instant is given, only gaps that end then or later.
    """
    start, end = expected
    if start is None or not end > start:
        return instants[:0], instants[:0], []
    times, carried = instants[read], carried[read]
    usable = (carried & np.uint16(UNUSABLE)) == 0
    good = np.flatnonzero(usable & (times >= start) & (times <= end))
    bounds: Any = np.concatenate([[start], times[good], [end]])
    gaps, step_h = _long(bounds, times, good, settings, ending)
    if not len(gaps):
        return times[:0], times[:0], []
    since, until = bounds[gaps], bounds[gaps + 1]
    bad = np.flatnonzero(~usable)
    first = np.searchsorted(times[bad], since, side="right")
    after = np.searchsorted(times[bad], until, side="left")
    seen_h = (after - first) * step_h
    explained = (after > first) & (2 * seen_h >= (until - since) / HOUR - step_h)
    names = _flagged(carried[bad], first, after)
    early = np.zeros(len(gaps), np.bool_)
    if len(times):
        early = (gaps == 0) & (2 * (times[0] - since) > until - since)
    reasons = [
        _reason(name if known else None, last=last, early=bool(soon))
        for name, known, last, soon in zip(
            names, explained, gaps == len(good), early, strict=True
        )
    ]
    return since, until, reasons


def _reason(flagged: str | None, *, last: bool, early: bool) -> str | None:
    """Name a gap's reason where the sensor itself tells it."""
    if flagged is not None:
        return flagged
    if early:
        return "before the record"
    return "silent" if last else None


def _long(
    bounds: Any, times: Any, good: NDArray[np.intp], settings: Settings,
    ending: np.datetime64 | None,
) -> tuple[NDArray[np.intp], Floats]:  # fmt: skip
    """Which intervals exceed the local sampling step by enough, and that step in hours."""
    wait: Floats = np.diff(bounds) / HOUR
    steps: Floats = np.diff(times) / HOUR if len(times) > 1 else np.array([HOURS_A_DAY])
    some = np.flatnonzero(wait > settings.gap_steps * steps.min())
    if ending is not None:
        some = some[bounds[some + 1] >= ending]
    if not len(some):
        return some, wait[:0]
    before, after = np.r_[0, good], np.r_[good, len(steps)]
    back = np.clip(before[some, None] - np.arange(1, BESIDE + 1), 0, len(steps) - 1)
    ahead = np.clip(after[some, None] + np.arange(BESIDE), 0, len(steps) - 1)
    step = np.maximum(np.median(steps[back], axis=1), np.median(steps[ahead], axis=1))
    long = wait[some] > settings.gap_steps * step
    return some[long], step[long]


def _flagged(
    carried: NDArray[np.uint16], first: NDArray[np.intp], after: NDArray[np.intp]
) -> list[str]:
    """Name the flag that most of the readings of each stretch carry."""
    every = int(np.bitwise_or.reduce(carried)) if len(carried) else 0
    kinds = [one for one in REASONS if one & every] or [int(Flag.RANGE)]
    totals = [np.r_[0, np.cumsum((carried & np.uint16(one)) != 0)] for one in kinds]
    most = np.argmax([total[after] - total[first] for total in totals], axis=0)
    return [REASONS[kinds[which]] for which in most.tolist()]


def _quiet(since: Times, until: Times, placements: tuple[Placement, ...]) -> list[str]:
    """Tell a mere hole in the record from the time between two holes in the ground."""
    zone = placements[-1].timezone
    before, after = (
        placement_of(local_days(side, zone), placements) for side in (since, until)
    )
    moved = (before != after) & (before > 0) & (after > 0)
    return np.where(moved, "between placements", "no readings").tolist()
