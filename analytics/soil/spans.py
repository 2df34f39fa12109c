"""The readings that stand for the start and the end of a span of days."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from analytics.model import Bools, Daily, OffSeason
from analytics.settings import Settings
from analytics.soil.fullness import NEVER

Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ends:
    """The days that stand for an off-season's start and end, a layer each.

    ``start`` and ``end`` are day indices, meaningful only where ``seen``.
    """

    start: Whole  # (k,)
    end: Whole
    seen: Bools


def ends(daily: Daily, start: date, end: date, settings: Settings) -> Ends:
    """Find the good states that stand for the start and the end of a span.

    The start is the first good state within ``tally_reach_days`` after the first day, else
    the last within as long before it; the end is the last good state at or up to as long
    before the last day. Nothing is seen across a change of placement.
    """
    k, reach = len(daily.depths_cm), int(settings.tally_reach_days)
    nothing = np.zeros(k, dtype=np.int64)
    if not len(daily.days):
        return Ends(start=nothing, end=nothing, seen=np.zeros(k, dtype=bool))
    zero = daily.days[0].astype(np.int64)
    last = int(np.datetime64(end, "D").astype(np.int64) - zero)
    good = np.isfinite(daily.state)
    begun = standing(daily, start, end, settings)
    ended = _last_in(good, last - reach, last)
    seen = (begun != NEVER) & (ended > begun)
    if seen.any():
        span = slice(begun[seen].min(), ended[seen].max() + 1)
        read = daily.placement[span][good[span].any(axis=1)]
        seen &= len(np.unique(read)) == 1
    return Ends(start=np.where(seen, begun, 0), end=np.where(seen, ended, 0), seen=seen)


def read_until(daily: Daily, off: OffSeason, settings: Settings) -> date:
    """Find the day up to which an off-season can be measured.

    That is its end; of one still open, whose probe has been silent for longer than a reading
    may stand for a day (``tally_reach_days``), the last day on which anything good was read.
    """
    low, high = np.datetime64(off.start, "D"), np.datetime64(off.end, "D")
    read = daily.days[np.isfinite(daily.state).any(axis=1)]
    read = read[(read > low) & (read <= high)]
    if not off.open or not len(read):
        return off.end
    last: date = read[-1].astype("datetime64[D]").item()
    return last if (off.end - last).days > settings.tally_reach_days else off.end


def standing(daily: Daily, day: date, last: date, settings: Settings) -> Whole:
    """Find the good state that stands for a day: the first on or after it, else one before.

    Parameters
    ----------
    daily : Daily
        At least one day.
    day, last : date
        The day, and the last day that may stand for it.
    settings : Settings
        Uses ``tally_reach_days``, how far to look either way.

    Returns
    -------
    (k,) int
        Day index, NEVER where nothing was read near it.
    """
    zero, reach = daily.days[0].astype(np.int64), int(settings.tally_reach_days)
    first, until = (int(np.datetime64(one, "D").astype(np.int64) - zero) for one in (day, last))
    good = np.isfinite(daily.state)
    after = _first_in(good, first, min(first + reach, until))
    return np.where(after == NEVER, _last_in(good, first - reach, first - 1), after)


def _first_in(good: Bools, low: int, high: int) -> Whole:
    """First marked row within low..high, a column each; NEVER where there is none."""
    low, high = max(low, 0), max(high + 1, 0)
    part = good[low:high]
    if not len(part):
        return np.full(good.shape[1], NEVER, dtype=np.int64)
    return np.where(part.any(axis=0), low + part.argmax(axis=0), NEVER)


def _last_in(good: Bools, low: int, high: int) -> Whole:
    """Last marked row within low..high, a column each; NEVER where there is none."""
    low, high = max(low, 0), min(max(high + 1, 0), len(good))
    part = good[low:high][::-1]
    if not len(part):
        return np.full(good.shape[1], NEVER, dtype=np.int64)
    return np.where(part.any(axis=0), high - 1 - part.argmax(axis=0), NEVER)
