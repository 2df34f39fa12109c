"""One wetting followed down a profile: which layers answered, when, and how much stayed."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.model import Bools, Daily, Floats, Layer
from analytics.settings import Settings
from analytics.soil.series import carried, runs, step_noise, thickness_mm, wettest_of

NOISE_FACTOR = 3.0  # sigma, methods: max(threshold, 3 sigma)
SAME_EVENT_DAYS = 2  # rises on neighbouring days, or with one quiet day between, are one


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Span:
    """One placement's days, ready to be searched."""

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
    rise: Floats
    stored_mm: Floats
    gained_mm: float
    depth_cm: float
    bypass: bool
    thawed: bool


def span_of(
    daily: Daily, layers: tuple[Layer, ...], rows: NDArray[np.intp], settings: Settings
) -> Span:
    """Make one placement's days (``rows`` of the daily record) ready to be searched."""
    part = slice(int(rows[0]), int(rows[-1]) + 1)
    state = carried(daily.state[part], settings.follow_days)
    layer_mm = thickness_mm(daily.depths_cm, layers)
    gained = np.zeros(len(state))
    gained[1:] = np.nansum(np.diff(state, axis=0) * layer_mm, axis=1)
    threshold = np.maximum(settings.layer_rise, NOISE_FACTOR * step_noise(state))
    wettest = wettest_of(state, threshold, settings)
    return Span(
        state=state, held=daily.held[part], depths_cm=daily.depths_cm, layer_mm=layer_mm,
        threshold=threshold, wettest=wettest, gained_mm=gained,
    )  # fmt: skip


def events_of(span: Span, settings: Settings) -> list[Event]:
    """Find a span's wettings, in order of time; a rise that no layer answers is noise."""
    noise = NOISE_FACTOR * float(step_noise(np.cumsum(span.gained_mm)[:, None])[0])
    rises = np.flatnonzero(span.gained_mm > max(settings.wetting_mm, noise))
    groups = runs(rises, SAME_EVENT_DAYS)
    starts = [int(group[0]) for group in groups] + [len(span.state)]
    events = (
        _follow(span, group, until - 1, settings)
        for group, until in zip(groups, starts[1:], strict=True)
    )
    return [event for event in events if event is not None]


def _follow(
    span: Span, group: NDArray[np.intp], latest: int, settings: Settings
) -> Event | None:
    start, end = int(group[0]), int(group[-1])
    stop = min(end + int(settings.follow_days), latest)
    before = span.state[start - 1]
    risen = span.state[start : stop + 1] - before
    above = _lasting(risen > span.threshold) & (span.layer_mm > 0.0)
    layers = np.flatnonzero(above.any(axis=0))
    if len(layers) == 0:
        return None  # nothing answered: noise common to all sensors, not water
    arrival = start + above[:, layers].argmax(axis=0)
    steady = min(max(end, int(arrival.max())) + int(settings.steady_days), latest)
    deepest, bypass = _reach(_silent(span, risen, start, stop), layers, arrival)
    held_before = span.held[max(start - SAME_EVENT_DAYS, 0) : start].any(axis=0)
    return Event(
        start=start, end=end, layers=layers, arrival=arrival,
        rise=np.nanmax(risen[:, layers], axis=0),
        stored_mm=((span.state[steady] - before) * span.layer_mm)[layers],
        gained_mm=float(span.gained_mm[group].sum()),
        depth_cm=float(span.depths_cm[deepest]), bypass=bypass,
        thawed=bool((held_before & ~span.held[end]).any()),
    )  # fmt: skip


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
