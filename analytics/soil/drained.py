"""Values at which a layer had stopped draining after a wetting, and ponded layers."""

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from analytics.model import Bools, Floats, Layer
from analytics.settings import Settings
from analytics.soil.falls import Column, Fall, drained_day, drawn_on, fall_after, trend
from analytics.soil.series import runs, step_noise
from analytics.soil.standin import stand_in
from analytics.soil.texture import TexturePoints

NOISE_FACTOR = 3.0
QUICK_DAYS, SLOW_DAYS = 3, 10  # a rise is seen over three days, a slow front over ten
SLOW_FACTOR = 2.0  # a slow front must bring twice as much, so that drift is none
EARLIER_DAYS = 5  # what the layer beneath stood at before a wetting came


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drained:
    """Drained values of one layer, one a wetting."""

    day: NDArray[np.intp]  # row of the value
    value: Floats  # m3/m3
    sure: Bools  # the soil around was wet as well, so that the layer was wetted throughout


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Below:
    """The layers beneath: witnesses that water went on, and that they were wet themselves."""

    column: Column
    drained: Drained
    next: Column | None  # the one beneath that


def drained_values(
    state: Floats, allowed: Bools, layers: tuple[Layer, ...], settings: Settings
) -> tuple[Drained, ...]:
    """Read, after each wetting of each layer, the value at which it had drained.

    Parameters
    ----------
    state : (D, k) float
        Daily state of one placement, m3/m3, NaN where nothing good was read.
    allowed : (D, k) bool
        Days that may be learned from: unfrozen, settled, no crop taking water, not ponded.
    layers : tuple of k Layer
    settings : Settings

    Returns
    -------
    tuple of Drained
        One a layer.

    Notes
    -----
    Ratliff, Ritchie & Cassel (1983): the water content after thorough wetting, once drainage
    has slowed to ``drained_rate``. The wait follows from how the layer drains: at least 48 h
    (Veihmeyer & Hendrickson) and at most 450 h (Jabro et al. 2009) from the layer's peak. A
    layer that was only wetted part of the way also flattens out, at a value that means
    nothing. The rule that tells them apart is ours, see `_thorough`.
    """
    slope, level = trend(state)
    noise = NOISE_FACTOR * step_noise(state)
    rising = _rising(state, np.maximum(settings.layer_wetting, noise))
    rise = np.maximum(settings.layer_rise, noise)
    found: list[Drained] = []
    below: Below | None = None
    for j in reversed(range(state.shape[1])):
        begun = [run[0] for run in runs(np.flatnonzero(rising[:, j]), QUICK_DAYS)]
        layer = Column(
            state=state[:, j], level=level[:, j], slope=slope[:, j], allowed=allowed[:, j],
            rise=float(rise[j]), starts=np.array(begun, dtype=np.intp),
            texture=stand_in(layers[j]),
        )  # fmt: skip
        found.append(_one_layer(layer, below, settings))
        next_one = None if below is None else below.column
        below = Below(column=layer, drained=found[-1], next=next_one)
    return tuple(reversed(found))


def _one_layer(layer: Column, below: Below | None, settings: Settings) -> Drained:
    ends = np.append(layer.starts, len(layer.state))[1:]
    pairs = zip(layer.starts.tolist(), ends.tolist(), strict=True)
    falls = [fall for one in pairs if (fall := fall_after(layer, *one, settings)) is not None]
    rate = settings.drained_rate + drawn_on(layer, falls, settings)
    found = [
        (day, sure)
        for fall in falls
        if (day := drained_day(layer, fall.days, rate, settings)) is not None
        and (sure := _thorough(layer, below, fall, day, settings)) is not None
    ]
    rows = np.array([day for day, _ in found], dtype=np.intp)
    sure = np.array([one for _, one in found], dtype=bool)
    return Drained(day=rows, value=layer.level[rows], sure=sure)


def _thorough(
    layer: Column, below: Below | None, fall: Fall, day: int, settings: Settings
) -> bool | None:
    """Say whether a layer had been wetted throughout: surely, maybe (False), or not (None).

    Water must have gone on into the layer beneath, and for sure that layer must be wet as
    well, at what it drained to before or at what its texture holds; else it only drew the
    water on. Where the layer itself holds what its texture holds, going on is enough for a
    maybe. Where the layer beneath cannot be seen, this one must have come down from a higher
    peak instead.
    """
    value = float(layer.level[day])
    holds = value >= layer.texture.full
    like_texture = value >= _mark(layer.texture, settings)
    passed = None if below is None else _passed(below.column, fall.start, day)
    if below is None or passed is None:
        least = settings.drained_from if holds else settings.drained_far
        return True if like_texture and fall.peak - value > least else None
    if not passed:
        return None
    wet = _wet_beneath(below, fall.start, day, settings, like_texture=like_texture)
    return True if wet else (False if holds else None)


def _wet_beneath(
    below: Below, start: int, day: int, settings: Settings, *, like_texture: bool
) -> bool:
    """Say whether the soil beneath is as wet as it gets, by its own past or by its texture.

    By texture two layers must agree, for a sensor that reads high makes one of them wet.
    """
    known = below.drained.value[below.drained.sure]
    if len(known):
        least = float(np.median(known)) - settings.cluster_width
        return _latest(below.column.level, start, day) >= least
    witnesses = [one for one in (below.column, below.next) if one is not None]
    return like_texture and all(
        _latest(one.level, start, day) >= _mark(one.texture, settings) for one in witnesses
    )


def _mark(texture: TexturePoints, settings: Settings) -> float:
    return texture.full - settings.wetted_reach * texture.full_sd


def _latest(level: Floats, start: int, day: int) -> float:
    seen = level[start : day + 1]
    seen = seen[np.isfinite(seen)]
    return float(seen[-1]) if len(seen) else -np.inf


def _passed(below: Column, start: int, day: int) -> bool | None:
    """Say whether water went on into the layer beneath; None where that cannot be seen."""
    before = below.state[max(start - EARLIER_DAYS, 0) : start]
    after = below.level[start : day + 1]
    before, after = before[np.isfinite(before)], after[np.isfinite(after)]
    if len(before) == 0 or len(after) == 0:
        return None
    return bool(after.max() - before.mean() > below.rise)


def _rising(state: Floats, threshold: Floats) -> Bools:
    """Mark days above the lowest of the days before: at once, or as a slow front comes.

    A slow front stands higher every day; a layer that drains after a quick rise does not.
    """
    quick = state - _lowest_before(state, QUICK_DAYS) > threshold
    slow = state - _lowest_before(state, SLOW_DAYS) > SLOW_FACTOR * threshold
    highest = -_lowest_before(-state, SLOW_DAYS)
    return quick | (slow & (state > highest))


def _lowest_before(state: Floats, days: int) -> Floats:
    filled = np.where(np.isfinite(state), state, np.inf)
    padded = np.concatenate([np.full((days, state.shape[1]), np.inf), filled])
    lowest = padded[: len(state)]
    for lag in range(1, days):
        lowest = np.minimum(lowest, padded[lag : lag + len(state)])
    return np.where(np.isfinite(lowest), lowest, np.nan)


def ponded_days(state: Floats, settings: Settings) -> Bools:
    """Days of a wet plateau on which a layer stands ponded or perched.

    Parameters
    ----------
    state : (D, k) float
        Carried over short holes, m3/m3.
    settings : Settings

    Returns
    -------
    (D, k) bool
        Days within a window of ``ponded_days`` that lies above ``ponded_theta`` throughout and
        moves by less than ``ponded_range``.
    """
    days = int(settings.ponded_days)
    ponded = np.zeros(state.shape, dtype=bool)
    wet = state > settings.ponded_theta
    for layer in np.flatnonzero(wet.sum(axis=0) >= days):
        windows = sliding_window_view(state[:, layer], days)
        low, high = windows.min(axis=1), windows.max(axis=1)
        still = (low > settings.ponded_theta) & (high - low < settings.ponded_range)
        edges = np.zeros(len(state) + 1)
        np.add.at(edges, np.flatnonzero(still), 1)
        np.add.at(edges, np.flatnonzero(still) + days, -1)
        ponded[:, layer] = np.cumsum(edges)[:-1] > 0
    return ponded
