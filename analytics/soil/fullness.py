"""When a layer was last at its full point, and which good state still stands on a day."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from analytics.model import Bools, Daily, Floats, Points, Times
from analytics.settings import Settings

Whole = NDArray[np.int64]

NEVER = -1
"""Index that stands for "no such day so far"."""


def latest(marked: Bools, placement: NDArray[np.int16]) -> Whole:
    """Find for each day the latest marked day so far within its placement.

    Parameters
    ----------
    marked : (D, k) bool
        Days to look for.
    placement : (D,) int
        Each day's placement; an answer never lies in another one.

    Returns
    -------
    (D, k) int
        Day index, ``NEVER`` where there is none.
    """
    rows = np.arange(len(marked), dtype=np.int64)[:, None]
    found = np.maximum.accumulate(np.where(marked, rows, NEVER), axis=0)
    opened = (
        np.r_[True, placement[1:] != placement[:-1]] if len(placement) else np.zeros(0, bool)
    )
    since = np.maximum.accumulate(np.where(opened, rows[:, 0], 0)) if len(rows) else rows[:, 0]
    return np.where(found >= since[:, None], found, NEVER)


def latest_good(daily: Daily) -> Whole:
    """Find for each day and layer the latest day so far, in its placement, with a state.

    Returns
    -------
    (D, k) int
        Day index, ``NEVER`` where the placement has none yet.
    """
    return latest(np.isfinite(daily.state), daily.placement)


def by_day(daily: Daily, points: Mapping[int, Points], name: str) -> Floats:
    """Spread one of the points over the days of its placement.

    Parameters
    ----------
    daily : Daily
        Whose days.
    points : mapping of placement number to Points
        Points in force.
    name : str
        ``full``, ``refill``, ``lower``, ``full_sd`` or ``lower_sd``.

    Returns
    -------
    (D, k) float
        m3/m3, NaN on days of a placement that has no points.
    """
    spread = np.full(daily.state.shape, np.nan)
    for number, one in points.items():
        spread[daily.placement == number] = getattr(one, name)
    return spread


def at_full(daily: Daily, points: Mapping[int, Points], settings: Settings) -> Bools:
    """Mark the days on which a layer was read at its full point.

    A layer counts as full from ``full - full_tolerance * (full - lower)`` upward. A held
    (frozen) value is no new sighting, so it does not count.

    Returns
    -------
    (D, k) bool
    """
    full, lower = by_day(daily, points, "full"), by_day(daily, points, "lower")
    mark = full - settings.full_tolerance * (full - lower)
    return (daily.state >= mark) & ~daily.held


def last_full(daily: Daily, points: Mapping[int, Points], settings: Settings) -> Times:
    """Give for each day and layer the latest day so far at which the layer was full.

    Parameters
    ----------
    daily : Daily
        The site's days.
    points : mapping of placement number to Points
        Points in force; a layer whose state is ``not_yet_seen`` or ``texture`` is judged
        against the value that stands in, so read the answer beside its basis.
    settings : Settings
        Uses ``full_tolerance``.

    Returns
    -------
    (D, k) datetime64[D]
        NaT where the placement has not seen the layer full yet.
    """
    found = latest(at_full(daily, points, settings), daily.placement)
    never = np.datetime64("NaT", "D")
    if not len(daily.days):
        return np.full(found.shape, never)
    return np.where(found == NEVER, never, daily.days[found])
