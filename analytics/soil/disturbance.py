"""Moments at which a probe was disturbed or moved: most sensors step at once."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.model import Bools, Floats, Placement, Record
from analytics.settings import Settings
from analytics.soil.breaks import change_over
from analytics.soil.days import local_days, placement_of
from analytics.soil.flags import UNUSABLE

LEAST_SENSORS = 3
LONGEST_STEP_H = 1.5  # over a longer wait rain may reach every sensor, or leave it
DETECTED = 100  # detected part i of placement number n is numbered 100 n + i


def disturbed(
    record: Record, usable: Bools, received: pd.DataFrame | None, settings: Settings
) -> Bools:
    """Find the first reading after each disturbance.

    Ours. At least ``step_share`` of the sensors seen (three or more) step by more than
    ``step_theta`` between two readings at most ``step_gap_days`` apart (by ``step_rate`` more
    for the time between), and the median of the readings after differs as much from that
    before. Within the hour water explains it where every sensor rose and water was received,
    or nothing is known of it; it never explains a fall. Over a longer wait rain may reach
    every sensor, and a flooded soil drain from all of them (Manhattan KS, June 2014: 0.06 to
    0.08 in a day): then some must rise and some fall. Unusable readings, frozen ones among
    them, are left out.

    Parameters
    ----------
    record : Record
    usable : (n, k) bool
    received : DataFrame or None
        Columns date, kind, mm, of :func:`analytics.soil.wetting.received_water`.
    settings : Settings

    Returns
    -------
    (n,) bool
    """
    found = np.zeros(len(record.times), np.bool_)
    moved, seen, rows = _stepped(record, usable, settings)
    rows, moved, seen = _most(rows, moved, seen, settings)
    if not len(rows):
        return found
    change = record.theta[rows] - record.theta[rows - 1]
    rose, fell = ((moved & (sign * change > 0)).any(axis=1) for sign in (1, -1))
    wait: Any = (record.times[rows] - record.times[rows - 1]) / np.timedelta64(1, "h")
    explained = np.where(
        wait > LONGEST_STEP_H,
        ~(rose & fell),
        ~fell & _watered(record, rows, received, settings),
    )
    rows, seen = rows[~explained], seen[~explained]
    changed = _lasting(record.theta, usable, rows, settings)
    lasting, _, _ = _most(rows, changed, seen, settings)
    found[lasting] = True
    return found


def _stepped(
    record: Record, usable: Bools, settings: Settings
) -> tuple[Bools, Bools, NDArray[np.intp]]:
    """Which sensors step and which are seen, at each row at which enough of them might."""
    jump = np.abs(np.diff(record.theta, axis=0))
    least = settings.step_share * LEAST_SENSORS
    rows = np.flatnonzero((jump > settings.step_theta).sum(axis=1) >= least)
    wait: Any = (record.times[rows + 1] - record.times[rows]) / np.timedelta64(1, "D")
    near = wait <= settings.step_gap_days
    rows, wait = rows[near], wait[near]
    seen = usable[rows] & usable[rows + 1]
    limit = settings.step_theta + settings.step_rate * wait
    return (jump[rows] > limit[:, None]) & seen, seen, rows + 1


def _most(
    rows: NDArray[np.intp], moved: Bools, seen: Bools, settings: Settings
) -> tuple[NDArray[np.intp], Bools, Bools]:
    count = seen.sum(axis=1)
    kept = (moved & seen).sum(axis=1) >= settings.step_share * count
    kept &= count >= LEAST_SENSORS
    return rows[kept], moved[kept], seen[kept]


def _lasting(theta: Floats, usable: Bools, rows: NDArray[np.intp], settings: Settings) -> Bools:
    sensors = np.arange(theta.shape[1])
    every = np.repeat(rows, len(sensors)), np.tile(sensors, len(rows))
    change = change_over(theta, usable, *every).reshape(len(rows), len(sensors))
    return np.abs(change) > settings.step_theta


def _watered(
    record: Record,
    rows: NDArray[np.intp],
    received: pd.DataFrame | None,
    settings: Settings,
) -> Bools:
    """Ask whether water may have come: a gauge's day may be one off the clock's."""
    if received is None or not len(received):
        return np.ones(len(rows), np.bool_)
    wet = np.unique(received["date"].to_numpy().astype("datetime64[D]"))
    day = record.times[rows].astype("datetime64[D]")
    first = day - np.timedelta64(round(settings.step_water_days), "D")
    last = day + np.timedelta64(1, "D")
    return np.searchsorted(wet, last, side="right") > np.searchsorted(wet, first)


def detected_moves(
    record: Record,
    flags: NDArray[np.uint16],
    received: pd.DataFrame | None,
    settings: Settings,
) -> pd.DataFrame:
    """List the moments at which the probe seems to have been moved.

    Parameters
    ----------
    record : Record
    flags : (n, k) uint16
    received : DataFrame or None
        Columns date, kind, mm.
    settings : Settings

    Returns
    -------
    DataFrame
        Columns site, at (UTC, the first reading after), sensors (that stepped), share (of
        those seen). The rule is :func:`disturbed`.
    """
    usable, rows = _at_moves(record, flags, received, settings)
    seen = usable[rows] & usable[rows - 1]
    moved = np.abs(record.theta[rows] - record.theta[rows - 1]) > settings.step_theta
    count = (moved & seen).sum(axis=1)
    columns = {
        "site": pd.array([record.site] * len(rows), dtype="str"),
        "at": pd.DatetimeIndex(record.times[rows]).tz_localize("UTC"),
        "sensors": count.astype(np.int64),
        "share": count / np.maximum(seen.sum(axis=1), 1),
    }
    return pd.DataFrame(columns)


def was_moved(
    record: Record, flags: NDArray[np.uint16], received: pd.DataFrame | None, settings: Settings
) -> bool:
    """Ask whether the probe seems to have been moved at all: see :func:`detected_moves`."""
    return len(_at_moves(record, flags, received, settings)[1]) > 0


def _at_moves(
    record: Record, flags: NDArray[np.uint16], received: pd.DataFrame | None, settings: Settings
) -> tuple[Bools, NDArray[np.intp]]:
    """Which readings count, and the rows of the first ones after a move."""
    usable = np.isfinite(record.theta) & ((flags & np.uint16(UNUSABLE)) == 0)
    return usable, np.flatnonzero(disturbed(record, usable, received, settings))


def effective_placements(
    placements: tuple[Placement, ...],
    moves: pd.DataFrame,
    edits: pd.DataFrame,
    settings: Settings,
) -> tuple[Placement, ...]:
    """Part placements at detected moves, unless a person dismissed the step.

    Parameters
    ----------
    placements : tuple of Placement
        Recorded by people, in order of time.
    moves : DataFrame
        Of :func:`detected_moves`.
    edits : DataFrame
        As :func:`analytics.soil.edits.apply_edits` takes them: a dismissed ``step`` of any
        depth over the moment leaves the placement whole.
    settings : Settings
        A move within ``move_apart_days`` of a recorded one is that one, and so is a further
        step within that time of a detected one.

    Returns
    -------
    tuple of Placement
        The given ones where nothing parts them. A first part keeps the number n, the parts
        after it are 100 n + 1 and so on.
    """
    if not len(moves) or not placements:
        return placements
    kept = moves[~_dismissed(moves, edits)]
    at = kept["at"].dt.tz_localize(None).to_numpy()
    days = local_days(at, placements[-1].timezone)
    inside = placement_of(days, placements)
    parted: list[Placement] = []
    for one in placements:
        mine = _apart(days[inside == one.number], one, settings)
        parted.extend(_parts(one, mine))
    return tuple(parted)


def _dismissed(moves: pd.DataFrame, edits: pd.DataFrame) -> Any:
    steps = edits[(edits["flag"] == "step") & (edits["action"] == "dismiss")]
    at = moves["at"].to_numpy()[:, None]
    since, until = (steps[side].to_numpy()[None, :] for side in ("from", "to"))
    within: Any = (at >= since) & (at <= until)
    return np.any(within, axis=1)


def _apart(days: Any, one: Placement, settings: Settings) -> list[date]:
    """Leave out days near the placement's own ends, or near the one before."""
    least = settings.move_apart_days
    ends = [day for day in (one.installed_on, one.removed_on) if day is not None]
    kept: list[date] = []
    for day in days.astype("datetime64[D]").tolist():
        if all(abs((day - other).days) > least for other in (*ends, *kept[-1:])):
            kept.append(day)
    return kept


def _parts(one: Placement, days: Iterable[date]) -> list[Placement]:
    cuts = list(days)
    bounds = [one.installed_on, *cuts, one.removed_on]
    return [
        replace(
            one,
            number=one.number if i == 0 else DETECTED * one.number + i,
            installed_on=bounds[i],
            removed_on=bounds[i + 1],
        )
        for i in range(len(cuts) + 1)
    ]
