"""Wall clock to UTC and back for whole arrays, with the two odd hours of the year found.

The rules come from the IANA database by ``zoneinfo``; asking it once a day of the record and
bisecting the changes is some hundred times faster than asking it once a reading.
"""

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from analytics.model import Bools, Times

LOCAL, STANDARD = "local", "standard"
FIXED = re.compile(r"([+-])(\d{2}):?([0-5]\d)")
FURTHEST_H = 14
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Walls:
    """Wall times read in a zone; ``first`` and ``second`` differ only where ``twice``."""

    first: Times  # UTC, while summer time still runs
    second: Times  # UTC, after the clock went back
    twice: Bools
    never: Bools


@lru_cache(maxsize=256)
def changes(zone: str, first: int, last: int) -> tuple[Times, NDArray[np.timedelta64]]:
    """Find when a zone's offset changes between two years (inclusive).

    Returns
    -------
    instants : (c,) datetime64[us], UTC
    offsets : (c + 1,) timedelta64[us]
        Before the first change, between, and after the last.
    """
    rules = ZoneInfo(zone)

    def offset(seconds: int) -> timedelta:
        moment = EPOCH + timedelta(seconds=seconds)
        return moment.astimezone(rules).utcoffset() or timedelta()

    day = 86_400
    start = int(datetime(first, 1, 1, tzinfo=UTC).timestamp()) - day
    stop = int(datetime(last + 1, 1, 1, tzinfo=UTC).timestamp()) + day
    instants: list[int] = []
    offsets = [offset(start)]
    for begin in range(start, stop, day):
        now = offset(begin + day)
        if now != offsets[-1]:
            low, high = begin, begin + day
            while high - low > 1:
                middle = (low + high) // 2
                low, high = (low, middle) if offset(middle) == now else (middle, high)
            instants.append(high)
            offsets.append(now)
    at = np.array(instants, dtype="datetime64[s]").astype("datetime64[us]")
    return at, np.array(offsets, dtype="timedelta64[us]")


def _span(times: Times, zone: str) -> tuple[Times, NDArray[np.timedelta64]]:
    years = times.astype("datetime64[Y]").astype(int) + EPOCH.year
    return changes(zone, int(years.min()), int(years.max()))


def to_utc(wall: Times, zone: str) -> Walls:
    """Read wall times in a zone.

    Parameters
    ----------
    wall : (n,) datetime64[us], no NaT
    zone : str
        IANA name.
    """
    none = np.zeros(len(wall), dtype=bool)
    if not len(wall):
        return Walls(first=wall, second=wall, twice=none, never=none)
    instants, offsets = _span(wall, zone)
    if not len(instants):
        plain = wall - offsets[0]
        return Walls(first=plain, second=plain, twice=none, never=none)
    before, after = offsets[:-1], offsets[1:]
    passed = np.searchsorted(instants + np.maximum(before, after), wall, side="right")
    near = np.minimum(passed, len(instants) - 1)
    odd = (passed < len(instants)) & (wall >= (instants + np.minimum(before, after))[near])
    back = after[near] < before[near]
    first = wall - offsets[passed]
    second = np.where(odd & back, wall - after[near], first)
    return Walls(first=first, second=second, twice=odd & back, never=odd & ~back)


def to_wall(utc: Times, zone: str) -> Times:
    """Give the wall time in a zone of (n,) UTC instants, none NaT."""
    if not len(utc):
        return utc
    instants, offsets = _span(utc, zone)
    return utc + offsets[np.searchsorted(instants, utc, side="right")]


def is_clock(said: object) -> bool:
    """Tell whether a mapping's clock is one: local, standard, or a fixed offset."""
    if said in (LOCAL, STANDARD):
        return True
    found = FIXED.fullmatch(said) if isinstance(said, str) else None
    return found is not None and int(found[2]) <= FURTHEST_H


def offsets(wall: Times, zone: str, clock: str) -> NDArray[np.timedelta64]:
    """Give how far ahead of UTC a clock is that knows no summer time.

    Parameters
    ----------
    wall : (n,) datetime64[us], no NaT
    zone : str
        IANA name; only ``"standard"`` asks it.
    clock : str
        ``"standard"`` or ``"+HH:MM"``.
    """
    if found := FIXED.fullmatch(clock):
        minutes = int(found[2]) * 60 + int(found[3])
        sign = -1 if found[1] == "-" else 1
        return np.full(len(wall), np.timedelta64(sign * minutes, "m"), dtype="timedelta64[us]")
    years = wall.astype("datetime64[Y]").astype(int) + EPOCH.year
    known, place = np.unique(years, return_inverse=True)
    each = [_standard(zone, int(year)) for year in known]
    return np.array(each, dtype="timedelta64[us]")[place]


def _standard(zone: str, year: int) -> timedelta:
    """Give a zone's offset without summer time: the smaller of midwinter and midsummer."""
    rules = ZoneInfo(zone)
    halves = (datetime(year, month, 1, tzinfo=rules).utcoffset() for month in (1, 7))
    return min(one or timedelta() for one in halves)
