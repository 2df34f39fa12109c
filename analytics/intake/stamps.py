"""Time cells to UTC: offsets honoured, wall times read in the site's zone, days at noon."""

import re
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pyarrow as pa
from numpy.typing import NDArray

from analytics.intake.arrow import pc
from analytics.intake.cells import numbers, texts
from analytics.intake.zones import LOCAL, Walls, offsets, to_utc
from analytics.model import Bools, Times

ISO = r"^\d{4}-\d{2}-\d{2}([T ]\d{2}:\d{2}(:\d{2}(\.\d{1,9})?)?\s?(Z|[+-]\d{2}(:?\d{2})?)?)?$"
EPOCH_S, EPOCH_MS = "epoch s", "epoch ms"
OFFSET = r":\d{2}(\.\d+)?\s?(Z|[+-]\d{2}(:?\d{2})?)$"
DAY_LENGTH = len("2024-11-05")
MINUTES = (13, 14)  # where a colon tells them from an hour alone, or a day
NOON = np.timedelta64(12, "h")
AROUND = np.timedelta64(3, "D")  # of a doubled hour: where its step is looked for
EARLIEST, LATEST = np.datetime64("1980-01-01"), np.datetime64("2100-01-01")
# Logger clocks that lost their battery start again at 1970 (common practice, no source).


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stamps:
    """Times as written. ``moment`` is UTC where ``fixed``, else the wall clock's."""

    moment: Times  # (n,) datetime64[us], NaT where bad or blank
    fixed: Bools
    blank: Bools
    bad: Bools


def read_stamps(cells: pa.ChunkedArray, form: str | None) -> Stamps:
    """Read time cells.

    Parameters
    ----------
    cells : (n,) text, or Parquet dates or timestamps (with a zone: UTC; without: wall clock)
    form : str or None
        A ``strptime`` form, ``"epoch s"`` or ``"epoch ms"``; ISO 8601 when None.
    """
    if form in (EPOCH_S, EPOCH_MS):
        return _epoch(cells, 1_000 if form == EPOCH_MS else 1)
    if pa.types.is_timestamp(cells.type) or pa.types.is_date(cells.type):
        return _typed(cells)
    flat = texts(cells)
    alike = _iso_alike(flat) if form is None else None
    if alike is not None:
        return _typed(alike)
    encoded = pc.dictionary_encode(flat)
    place = pc.fill_null(encoded.indices, -1).to_numpy(zero_copy_only=False)
    words = encoded.dictionary
    moment, fixed = _iso(words) if form is None else _formed(words, form)
    moment = np.append(moment, np.datetime64("NaT", "us"))[place]
    fixed = np.append(fixed, np.False_)[place]
    return _judged(moment, fixed, place < 0)


def _judged(moment: Times, fixed: Bools, blank: Bools) -> Stamps:
    good = (moment >= EARLIEST) & (moment < LATEST)
    moment = np.where(good, moment, np.datetime64("NaT", "us"))
    return Stamps(moment=moment, fixed=fixed, blank=blank, bad=~blank & ~good)


def _typed(cells: pa.ChunkedArray) -> Stamps:
    zoned = pa.types.is_timestamp(cells.type) and cells.type.tz is not None
    plain = cells.cast(pa.timestamp("us", "UTC" if zoned else None), safe=False)
    moment = plain.to_numpy().astype("datetime64[us]")
    blank = np.isnat(moment)
    if pa.types.is_date(cells.type):
        moment = moment + NOON
    return _judged(moment, np.full(len(moment), zoned), blank)


def _epoch(cells: pa.ChunkedArray, parts: int) -> Stamps:
    """Read counts of seconds, or of parts of a second, since 1970."""
    seconds, bad = numbers(cells)
    blank = np.isnan(seconds) & ~bad
    micro = np.nan_to_num(np.rint(seconds / parts * 1e6))
    sound = ~blank & ~bad & (np.abs(micro) < np.iinfo(np.int64).max / 2)
    moment = np.where(sound, micro, 0).astype(np.int64).astype("datetime64[us]")
    moment[~sound] = np.datetime64("NaT", "us")
    return _judged(moment, np.ones(len(moment), dtype=bool), blank)


def _iso(words: pa.Array) -> tuple[Times, Bools]:
    shaped = pc.match_substring_regex(words, ISO)
    plain = pc.if_else(shaped, words, pa.scalar(None, pa.string()))
    fixed = pc.match_substring_regex(words, OFFSET).to_numpy(zero_copy_only=False)
    said = pd.Series(plain.to_pylist(), dtype="object")
    read = pd.to_datetime(said, format="ISO8601", utc=True, errors="coerce")
    moment = read.dt.tz_localize(None).to_numpy().astype("datetime64[us]")
    is_day = pc.equal(pc.utf8_length(words), DAY_LENGTH).to_numpy(zero_copy_only=False)
    return np.where(is_day, moment + NOON, moment), fixed


def _iso_alike(words: pa.Array) -> pa.ChunkedArray | None:
    """Type words with minutes that all have an offset, or all have none; None if any is odd."""
    minutes = pc.equal(pc.utf8_slice_codeunits(words, *MINUTES), ":")
    if not pc.all(minutes, min_count=1).as_py():
        return None
    first = next(word for word in words if word.is_valid).as_py()
    zone = "UTC" if re.search(OFFSET, first) else None
    try:
        return pa.chunked_array([words.cast(pa.timestamp("us", zone))])
    except pa.ArrowInvalid:
        return None


def _formed(words: pa.Array, form: str) -> tuple[Times, Bools]:
    if "%z" not in form and "%Z" not in form:
        return _walls(words, form), np.zeros(len(words), dtype=bool)
    moments: list[datetime | None] = []
    fixed = []
    for word in words.to_pylist():
        read = _strptime(word, form)
        aware = read is not None and read.tzinfo is not None
        moments.append(read.astimezone(UTC).replace(tzinfo=None) if read and aware else read)
        fixed.append(aware)
    moment = np.array(moments, dtype="datetime64[us]")
    moment += _noon(form)
    return moment, np.array(fixed, dtype=bool)


def _noon(form: str) -> np.timedelta64:
    clock = any(mark in form for mark in ("%H", "%I", "%X", "%c", "%T"))
    return np.timedelta64(0, "h") if clock else NOON


def _walls(words: pa.Array, form: str) -> Times:
    """Read wall times: all at once, and one by one what that way does not take."""
    said = words.to_pylist()
    read = pd.to_datetime(pd.Series(said, dtype="object"), format=form, errors="coerce")
    moment = read.to_numpy().astype("datetime64[us]").copy()
    for place in np.flatnonzero(np.isnat(moment)):
        again = _strptime(said[place], form)
        if again is not None:
            moment[place] = np.datetime64(again, "us")
    moment += _noon(form)
    return moment


def _strptime(word: str, form: str) -> datetime | None:
    try:
        return datetime.strptime(word, form)  # noqa: DTZ007 - a wall time until its site is known
    except ValueError:
        return None


def placed(
    stamps: Stamps,
    zone: str,
    rows: NDArray[np.intp],
    track: NDArray[np.int64],
    clock: str = LOCAL,
) -> tuple[Times, Bools, int, bool]:
    """Bring one site's stamps to UTC.

    Of an hour that the clock showed twice the first pass is summer time, the second standard
    time: a second pass begins where, in file order, the clock does not move on. An hour that
    the rows pass through once is the second where only so they keep their step.

    Parameters
    ----------
    stamps : Stamps
    zone : str
        The site's IANA timezone.
    rows : (m,) int
        The site's rows, in file order, none bad or blank.
    track : (n,) int
        Rows of one track (a sensor, in the long form) follow one another in time.
    clock : str
        ``"local"`` follows the zone through the year, ``"standard"`` keeps its winter time,
        ``"+HH:MM"`` is fixed.

    Returns
    -------
    utc : (m,) datetime64[us]
    never : (m,) bool
        Wall times that the clock skipped in spring.
    resolved : int
        How many were told apart by file order.
    once : bool
        Rows pass through a doubled hour once, at their step before it and behind it, as no
        clock with summer time lets them.
    """
    moment = stamps.moment[rows]
    utc = moment.copy()
    never = np.zeros(len(rows), dtype=bool)
    wall = np.flatnonzero(~stamps.fixed[rows])
    if clock != LOCAL:
        utc[wall] -= offsets(moment[wall], zone, clock)
        return utc, never, 0, False
    seen = moment[wall]
    read = to_utc(seen, zone)
    utc[wall], never[wall] = read.first, read.never
    twice = np.flatnonzero(read.twice)
    once = False
    if len(twice):
        late = _second_pass(seen[twice], track[rows][wall][twice], seen)
        days = seen[twice].astype("datetime64[D]")
        for day in np.setdiff1d(days, days[late]):
            second, through = _passed_once(read, seen, twice[days == day])
            late |= second & (days == day)
            once |= through
        utc[wall[twice[late]]] = read.second[twice[late]]
    return utc, never, len(twice), once


def _second_pass(moment: Times, track: NDArray[np.int64], every: Times) -> Bools:
    """Mark what belongs to the second pass; a newest-first file is read from its end."""
    order = np.arange(len(moment))
    back, ahead = (every[1:] < every[:-1]).sum(), (every[1:] > every[:-1]).sum()
    if back > max(ahead, int(len(every) == len(moment))):  # within the hour one may be its end
        order = order[::-1]
    late = np.zeros(len(moment), dtype=bool)
    last: dict[tuple[int, np.datetime64], tuple[np.datetime64, bool]] = {}
    for i in order:
        key = (int(track[i]), moment[i].astype("datetime64[D]"))
        before, passed = last.get(key, (None, False))
        late[i] = passed or (before is not None and moment[i] <= before)
        last[key] = (moment[i], bool(late[i]))
    return late


def _passed_once(read: Walls, moment: Times, run: NDArray[np.intp]) -> tuple[bool, bool]:
    """Tell of rows that pass a doubled hour once whether it is the second, or stands for both.

    Whoever reads at least once in that hour reads in both passes: where the rows before lie
    further off than a step, and those behind lie a step off the second, the first is not there.
    """
    hour = (read.second - read.first)[run[0]]
    first, last = moment[run].min(), moment[run].max()
    near = np.unique(moment[np.abs(moment - first) < AROUND])
    step = np.median(np.diff(near).astype(int)) if len(near) > 1 else np.inf

    def follows(gaps: NDArray[np.timedelta64]) -> bool:
        return bool((np.abs(gaps.astype(int) - step) < hour.astype(int) / 2).any())

    before, behind = first - near[near < first][-1:], near[near > last][:1] - last
    dense = bool(step <= hour.astype(int))
    second = not follows(before) and (follows(before + hour) or (dense and follows(behind)))
    return second, dense and follows(before) and follows(behind)
