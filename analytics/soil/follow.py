"""One wetting followed down a profile: which layers answered, when, and how much stayed."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from analytics.model import Bools, Daily, Floats, Layer, Times
from analytics.settings import Settings
from analytics.soil.hours import Hours, first_above, gap_h, rise_hours, unbroken, window
from analytics.soil.series import bend_noise, carried, runs, thickness_mm, wettest_of

NOISE_FACTOR = 3.0  # sigma, methods: max(threshold, 3 sigma)
SAME_EVENT_DAYS = 2  # by the day: rises on neighbours, or one quiet day between, are one
BY_THE_HOUR = 2.0  # an answer gone by dawn must have stood out so many times the threshold
DAY = np.timedelta64(1, "D")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Span:
    """One placement's days, ready to be searched; ``hours`` where the record tells the hour."""

    days: Times  # (D,) datetime64[D]
    hours: Hours | None
    watered: Bools  # (D,) water was recorded on the day or the one before
    state: Floats  # (D, k), carried over short holes
    held: Bools  # (D, k)
    depths_cm: Floats
    layer_mm: Floats  # (k,) mm per unit of theta
    threshold: Floats  # (k,) least rise of a layer
    wettest: Floats  # (k,) above this a layer has no room to rise
    gained_mm: Floats  # (D,) the profile's step since the day before


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Event:
    """One wetting within a span: days are rows of the span, layers are columns."""

    start: int
    end: int
    layers: NDArray[np.intp]
    arrival: NDArray[np.intp]
    arrival_at: Times  # UTC, NaT where the record does not tell the hour
    rise: Floats
    stored_mm: Floats
    gained_mm: float
    depth_cm: float
    bypass: bool
    thawed: bool


def span_of(
    daily: Daily,
    layers: tuple[Layer, ...],
    rows: NDArray[np.intp],
    *,
    received: Times,
    hours: Hours | None,
    settings: Settings,
) -> Span:
    """Make one placement's days (``rows`` of the daily record) ready to be searched.

    ``received`` are the days on which water was recorded.
    """
    part = slice(int(rows[0]), int(rows[-1]) + 1)
    state = carried(daily.state[part], settings.follow_days)
    layer_mm = thickness_mm(daily.depths_cm, layers)
    gained = _gained(state, layer_mm)
    threshold = np.maximum(settings.layer_rise, NOISE_FACTOR * bend_noise(state))
    wettest = wettest_of(state, threshold, settings)
    return Span(
        days=daily.days[part], hours=hours,
        watered=_watered(daily.days[part], received), state=state, held=daily.held[part],
        depths_cm=daily.depths_cm, layer_mm=layer_mm, threshold=threshold, wettest=wettest,
        gained_mm=gained,
    )  # fmt: skip


def _gained(state: Floats, layer_mm: Floats) -> Floats:
    gained = np.zeros(len(state))
    gained[1:] = np.nansum(np.diff(state, axis=0) * layer_mm, axis=1)
    return gained


def rises_since(
    daily: Daily, layers: tuple[Layer, ...], since: np.datetime64, settings: Settings
) -> bool:
    """Tell whether any day from one on may begin a wetting: most days none does."""
    before = np.timedelta64(int(settings.follow_days) + SAME_EVENT_DAYS, "D")
    state = carried(daily.state[daily.days >= since - before], settings.follow_days)
    gained = _gained(state, thickness_mm(daily.depths_cm, layers))
    return bool((gained > settings.wetting_mm).any())


def _watered(days: Times, received: Times) -> Bools:
    """Mark days whose pre-dawn state may show water recorded on them or the day before."""
    wet = np.zeros(len(days), bool)
    row = (received - days[0]).astype(np.int64)
    for shown in (row, row + 1):
        wet[shown[(shown >= 0) & (shown < len(days))]] = True
    return wet


def events_of(span: Span, settings: Settings, since: int = 0) -> list[Event]:
    """Find a span's wettings, in order of time; a rise that no layer answers is noise.

    ``since`` leaves out those whose rises ended before that row, all but the last of them.
    """
    noise = NOISE_FACTOR * float(bend_noise(np.cumsum(span.gained_mm)[:, None])[0])
    rises = np.flatnonzero(span.gained_mm > max(settings.wetting_mm, noise))
    whole = runs(rises, SAME_EVENT_DAYS)
    over = sum(int(group[-1]) < since for group in whole)
    groups = [
        part for group in whole[max(over - 1, 0) :] for part in _parted(span, group, settings)
    ]
    starts = [int(group[0]) for group in groups] + [len(span.state)]
    events = (
        _follow(span, group, until - 1, settings)
        for group, until in zip(groups, starts[1:], strict=True)
    )
    return [event for event in events if event is not None]


def _parted(span: Span, group: NDArray[np.intp], settings: Settings) -> list[NDArray[np.intp]]:
    """Part rises on neighbouring days where the record itself shows a pause between them.

    Only where water was recorded for the second: without, it is the rest of the first, such
    as snow that melts by day and rests by night.
    """
    if span.hours is None or len(group) < 2:  # noqa: PLR2004 - a pause lies between two
        return [group]
    rising = [_rise(span, span.hours, int(day)) for day in group]
    cuts = [
        at + 1
        for at, (one, following) in enumerate(pairwise(rising))
        if one and following and span.watered[group[at + 1]]
        and gap_h(span.hours, one[1], following[0]) >= settings.same_event_h
    ]  # fmt: skip
    return np.split(group, cuts)


def _rise(span: Span, hours: Hours, day: int) -> tuple[int, int] | None:
    """Rows of the record between which a day's rise took place; None where it does not tell."""
    whole = window(hours, span.days[day - 1], span.days[day])
    part = unbroken(hours, whole)
    if part != whole or part.start == part.stop:
        return None
    water = (hours.theta[part] * span.layer_mm)[:, span.layer_mm > 0.0].sum(axis=1)
    first, last = rise_hours(water, float(span.gained_mm[day]))
    return part.start + first, part.start + last


def _follow(
    span: Span, group: NDArray[np.intp], latest: int, settings: Settings
) -> Event | None:
    start, end = int(group[0]), int(group[-1])
    stop = min(end + int(settings.follow_days), latest)
    before = span.state[start - 1]
    risen = span.state[start : stop + 1] - before
    above = _lasting(risen > span.threshold) & (span.layer_mm > 0.0)
    at, peak = _by_the_hour(span, start, stop)
    hourly = ~np.isnat(at) & (peak > BY_THE_HOUR * span.threshold)
    layers = np.flatnonzero(above.any(axis=0) | hourly)
    if len(layers) == 0:
        return None  # nothing answered: noise common to all sensors, not water
    came = _state_day(span, at)
    daily = np.where(above.any(axis=0), start + above.argmax(axis=0), stop)
    arrival = np.where(np.isnat(at), daily, np.clip(came, start, stop))[layers]
    steady = min(max(end, int(arrival.max())) + int(settings.steady_days), latest)
    deepest, bypass = _reach(_silent(span, risen, start, stop), layers, arrival)
    held_before = span.held[max(start - SAME_EVENT_DAYS, 0) : start].any(axis=0)
    return Event(
        start=start, end=end, layers=layers, arrival=arrival, arrival_at=_utc(span, at)[layers],
        rise=np.fmax(np.nanmax(risen[:, layers], axis=0), np.where(hourly, peak, 0.0)[layers]),
        stored_mm=((span.state[steady] - before) * span.layer_mm)[layers],
        gained_mm=float(span.gained_mm[group].sum()),
        depth_cm=float(span.depths_cm[deepest]), bypass=bypass,
        thawed=bool((held_before & ~span.held[end]).any()),
    )  # fmt: skip


def _by_the_hour(span: Span, start: int, stop: int) -> tuple[Times, Floats]:
    """Wall time at which each layer first stood above its threshold to stay, and its peak rise.

    Hours of days on which a layer was held tell nothing.
    """
    k, hours = len(span.depths_cm), span.hours
    at, peak = np.full(k, np.datetime64("NaT"), "datetime64[us]"), np.full(k, np.nan)
    if hours is None:
        return at, peak
    part = unbroken(hours, window(hours, span.days[start - 1], span.days[stop]))
    if part.start == part.stop:
        return at, peak
    rise = hours.theta[part] - span.state[start - 1]
    rise[:, span.held[start - 1 : stop + 1].any(axis=0) | (span.layer_mm <= 0.0)] = np.nan
    row = first_above(rise, span.threshold)
    at[row >= 0] = hours.wall[part][row[row >= 0]]
    peak[row >= 0] = np.nanmax(rise[:, row >= 0], axis=0)
    return at, peak


def _state_day(span: Span, at: Times) -> NDArray[np.intp]:
    """Row of the first day whose pre-dawn state can show what came at an hour."""
    if span.hours is None:
        return np.zeros(len(at), np.intp)
    days = (at + (DAY - span.hours.dawn)).astype("datetime64[D]") - span.days[0]
    return np.where(np.isnat(at), 0, days.astype(np.int64)).astype(np.intp)


def _utc(span: Span, at: Times) -> Times:
    """Give the instants of hours on the wall."""
    if span.hours is None:
        return at
    row = np.minimum(np.searchsorted(span.hours.wall, at), len(span.hours.utc) - 1)
    return np.where(np.isnat(at), at, span.hours.utc[row])


def _lasting(above: Bools) -> Bools:
    """Keep what is above on the next day too: one stray reading is no answer."""
    lasting = above.copy()
    lasting[:-1] &= above[1:]
    return lasting


def _silent(span: Span, risen: Floats, start: int, stop: int) -> Bools:
    """Layers that could have answered, were they reached.

    One that was missing or held could not be seen, and one already at its wettest has no room.
    """
    seen = np.isfinite(risen).any(axis=0) & (span.layer_mm > 0.0)
    thawed = ~span.held[start : stop + 1].all(axis=0)
    return seen & thawed & (span.state[start - 1] < span.wettest)


def _reach(
    could: Bools, layers: NDArray[np.intp], arrival: NDArray[np.intp]
) -> tuple[int, bool]:
    """Deepest layer of the unbroken answer, and whether water came round a layer."""
    answered = np.zeros(len(could), dtype=bool)
    answered[layers] = True
    silent = could & ~answered
    bypass = bool(silent[: layers[-1]].any())
    deepest, latest, unbroken = int(layers[0]), int(arrival[0]), True
    for layer, day in zip(layers, arrival, strict=True):
        early = day < latest - 1
        bypass |= bool(early)
        unbroken &= not early and not silent[layers[0] : layer].any()
        deepest = int(layer) if unbroken else deepest
        latest = max(latest, int(day))
    return deepest, bypass
