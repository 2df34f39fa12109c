"""The latest days of a record, worked out on what an earlier assessment of it left.

Flags and daily values are local: all but a sensor's usual noise rests on the weeks around a
reading. So the last weeks are gone through again by the same rules, the new days are taken,
and on the days that both know the two must agree. Where they do not, or where something
lasting begins or ends (a sensor that fails, a clock that jumps, a hole that settles, a probe
that is moved), nothing is given: such a site is assessed whole.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.model import Daily, Floats, Placement, Record, SiteInputs, Times, rows_of
from analytics.settings import Settings
from analytics.soil.calendar import daily_values
from analytics.soil.days import DAY, local_midnight
from analytics.soil.disturbance import DETECTED, was_moved
from analytics.soil.edits import apply_edits
from analytics.soil.flags import Flag
from analytics.soil.quality import quality_flags
from analytics.soil.series import carried

WINDOW_D = 48
"""Days gone through again: the month by which a repeat is judged, and a fortnight more."""
AHEAD_D = 3
"""A reading's flag rests on no more than so many days after it; lasting ones are carried."""
BEGUN_D = 12
"""From so many days into the window on, its days must agree with those that are known."""
CARRIED = ("settling", "failing", "clock")
"""Flags that go on until weeks of readings end them, which a whole assessment sees."""
ENDING = ("stuck", "unit", "low_flat")
"""Flags that the next reading may end."""
AGREES = 1e-9  # m3/m3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Known:
    """What an earlier assessment of a site told.

    Attributes
    ----------
    daily : Daily
        Its days; high, state, temp_c, frozen, held and placement are what was told.
    tables : mapping of str to DataFrame
        The site's rows of the contract's limits, wettings, wetting_layers, flags and gaps.
    rooted_cm : tuple of float
        Depths of the layers that the standing crop had rooted.
    as_of : date
        The day up to which it knew.
    """

    daily: Daily
    tables: Mapping[str, pd.DataFrame]
    rooted_cm: tuple[float, ...]
    as_of: date


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recent:
    """The last weeks of a record: days from ``fresh`` on are new, the others agree.

    ``part`` holds the window's days, ``whole`` all days that are known now.
    """

    record: Record
    flags: NDArray[np.uint16]
    placement: Placement
    part: Daily
    whole: Daily
    fresh: np.datetime64


def days_of(site: str, told: pd.DataFrame | Mapping[str, Any]) -> Daily:
    """Lay a site's rows of ``daily`` out as days again, as far as later steps need them.

    Parameters
    ----------
    site : str
    told : DataFrame, or mapping of str to array
        At least one row; columns date, depth_cm, placement, high, state, temp_c, frozen, held,
        in any order of rows.

    Returns
    -------
    Daily
        Every day from the first to the last; values by day other than high, state and temp_c
        are the state's. A day without a row stands in the placement of the day before.
    """
    date_of = np.asarray(told["date"], "datetime64[D]")
    depth_of = np.asarray(told["depth_cm"], np.float64)
    days = np.arange(date_of.min(), date_of.max() + DAY)
    depths = np.unique(depth_of)
    row = (date_of - days[0]).astype(np.intp)
    cell = row * len(depths) + np.searchsorted(depths, depth_of)
    shape = (len(days), len(depths))
    high, state, temp_c = (np.full(shape, np.nan) for _ in range(3))
    frozen, held = (np.zeros(shape, np.bool_) for _ in range(2))
    for name, laid in (("high", high), ("state", state), ("temp_c", temp_c),
                       ("frozen", frozen), ("held", held)):  # fmt: skip
        laid.reshape(-1)[cell] = np.asarray(told[name], laid.dtype)
    number, read = np.zeros(len(days), np.int16), np.zeros(len(days), np.intp)
    number[row], read[row] = np.asarray(told["placement"], np.int16), row
    return Daily(
        site=site, days=days, depths_cm=depths, first=state, last=state, low=state, high=high,
        mean=state, predawn=state, state=state, temp_c=temp_c,
        good=np.isfinite(state).astype(np.int32), frozen=frozen, held=held,
        placement=number[np.maximum.accumulate(read)],
    )  # fmt: skip


def first_read(since: date) -> date:
    """Give the first day whose readings are needed to work out the days from ``since`` on."""
    return since - timedelta(days=WINDOW_D + AHEAD_D)


def recent(
    inputs: SiteInputs,
    received: pd.DataFrame,
    known: Known,
    since: date,
    settings: Settings,
) -> Recent | None:
    """Flag the last weeks, and work out their days from ``since`` on.

    Parameters
    ----------
    inputs : SiteInputs
        Its record reaches back to ``first_read(since)`` at least.
    received : DataFrame
        Water received, columns date, kind, mm.
    known : Known
    since : date
        The first day that a new reading speaks of.
    settings : Settings

    Returns
    -------
    Recent or None
        None where the site has to be assessed whole.
    """
    placement = _one_hole(inputs, known, since)
    if placement is None or not np.array_equal(inputs.record.depths_cm, known.daily.depths_cm):
        return None
    begin = first_read(since)
    record = _from(inputs.record, begin, placement.timezone)
    fresh = np.datetime64(since - timedelta(days=AHEAD_D), "D")
    if not len(record.times):
        nothing = _rows(known.daily, np.zeros(len(known.daily.days), bool))
        none = np.zeros(record.theta.shape, np.uint16)
        return Recent(record=record, flags=none, placement=placement, part=nothing,
                      whole=known.daily, fresh=fresh)  # fmt: skip
    highest = np.fmax.reduce(known.daily.high, axis=0, initial=np.nan)
    flags = quality_flags(record, (placement,), settings, received, highest)
    if was_moved(record, flags, received, settings):
        return None
    told, opens = known.tables["flags"], instant_of(fresh, placement)
    late = np.flatnonzero(naive(told["to"]) >= opens)
    if not set(ENDING).isdisjoint(told["flag"].array[late]):
        return None
    flags = _with_lasting(record, flags, told, late)
    flags = apply_edits(record, flags, inputs.flag_edits)
    held = last_state(known.daily, np.datetime64(begin, "D"), placement.number)
    part = daily_values(record, flags, (placement,), settings, held)
    if not _agree(known.daily, part, fresh):
        return None
    return Recent(record=record, flags=flags, placement=placement, part=part,
                  whole=_joined(known.daily, part, fresh), fresh=fresh)  # fmt: skip


def _one_hole(inputs: SiteInputs, known: Known, since: date) -> Placement | None:
    """Give the placement of the whole window; none where the probe was moved within it.

    It bears the number under which it is known (a detected move gave it one of its own), and
    no day of installation: what settles was settled before, or is a lasting flag.
    """
    begin = first_read(since)
    days = known.daily.days
    numbers = known.daily.placement[days >= np.datetime64(begin, "D")]
    last = inputs.placements[-1]
    number = int(known.daily.placement[-1]) if len(days) else 0
    recorded = number // DETECTED if number >= DETECTED else number
    other_hole = last.removed_on is not None or (
        last.installed_on is not None and last.installed_on > begin
    )
    if other_hole or recorded != last.number or (numbers != number).any():
        return None
    return replace(last, number=number, installed_on=None)


def _from(record: Record, day: date, timezone: str) -> Record:
    rows = slice(int(np.searchsorted(record.times, local_midnight(day, timezone))), None)
    return rows_of(record, rows)


def instant_of(day: np.datetime64, placement: Placement) -> np.datetime64:
    """Give the instant (UTC) at which a local day begins."""
    return local_midnight(day.astype("datetime64[D]").item(), placement.timezone)


def naive(stamps: pd.Series) -> Times:
    """Give instants (UTC) as numbers are kept."""
    return stamps.to_numpy("datetime64[us]")


def _with_lasting(
    record: Record, flags: NDArray[np.uint16], told: pd.DataFrame, late: NDArray[np.intp]
) -> NDArray[np.uint16]:
    """Carry lasting flags on that stood from before the window up to the days to work out.

    ``late`` are the rows of told spans that reach those days.
    """
    old = late[naive(told["from"])[late] <= record.times[0]]
    also = flags.copy()
    for depth, name in zip(told["depth_cm"].array[old], told["flag"].array[old], strict=True):
        if name not in CARRIED:
            continue
        sensor = int(np.argmin(np.abs(record.depths_cm - depth)))
        there = np.isfinite(record.theta[:, sensor])
        also[there, sensor] |= np.uint16(Flag[str(name).upper()])
    return also


def last_state(daily: Daily, day: np.datetime64, number: int) -> Floats:
    """Give each layer's last state in a placement before a day, which frost would hold.

    Parameters
    ----------
    daily : Daily
        D days by k layers.
    day : datetime64[D]
    number : int
        The placement's: what another hole held is nothing to this one.

    Returns
    -------
    (k,) float
        m3/m3, NaN where there is none.
    """
    before = daily.state[(daily.days < day) & (daily.placement == number)]
    none = np.full((1, before.shape[1]), np.nan)
    return carried(np.vstack([none, before]), np.inf)[-1]


def _agree(known: Daily, part: Daily, fresh: np.datetime64) -> bool:
    """Ask that window and record tell the same of the days that both know, of which some."""
    begun = part.days[0] + np.timedelta64(BEGUN_D, "D")
    days = part.days[(part.days >= begun) & (part.days < fresh) & (part.days <= known.days[-1])]
    here = (days - part.days[0]).astype(np.intp)
    there = (days - known.days[0]).astype(np.intp)
    return len(days) > 0 and bool(
        np.allclose(part.state[here], known.state[there], 0.0, AGREES, equal_nan=True)
        and (part.held[here] == known.held[there]).all()
        and (part.frozen[here] == known.frozen[there])[np.isfinite(part.state[here])].all()
    )


def _rows(daily: Daily, rows: Any) -> Daily:
    """Give some days of a site."""
    names = ("days", "first", "last", "low", "high", "mean", "predawn", "state", "temp_c",
             "good", "frozen", "held", "placement")  # fmt: skip
    return replace(daily, **{name: getattr(daily, name)[rows] for name in names})


def since_day(daily: Daily, day: np.datetime64) -> Daily:
    """Give the days from one on."""
    return _rows(daily, daily.days >= day)


def _joined(known: Daily, part: Daily, fresh: np.datetime64) -> Daily:
    """Lay the window's days from ``fresh`` on behind those known before, without a hole."""
    last = max(part.days[-1], min(known.days[-1], fresh - DAY))
    days = np.arange(known.days[0], last + DAY)
    old = known.days < min(fresh, last + DAY)
    new = part.days >= fresh

    def laid(name: str, empty: object) -> Any:
        before, after = getattr(known, name)[old], getattr(part, name)[new]
        whole = np.full((len(days), *before.shape[1:]), empty, dtype=before.dtype)
        whole[: len(before)] = before
        whole[len(days) - len(after) :] = after
        return whole

    state = laid("state", np.nan)
    return Daily(
        site=known.site, days=days, depths_cm=known.depths_cm, first=state, last=state,
        low=state, high=state, mean=state, predawn=state, state=state,
        temp_c=laid("temp_c", np.nan), good=np.isfinite(state).astype(np.int32),
        frozen=laid("frozen", False), held=laid("held", False),  # noqa: FBT003 - what is empty
        placement=laid("placement", int(part.placement[-1])),
    )  # fmt: skip
