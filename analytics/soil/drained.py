"""Values at which a layer had stopped draining after a wetting, and ponded layers."""

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from analytics.model import Bools, Floats
from analytics.settings import Settings
from analytics.soil.series import runs, step_noise

NOISE_FACTOR = 3.0
QUICK_DAYS, SLOW_DAYS = 3, 10  # a rise is seen over three days, a slow front over ten
SLOW_FACTOR = 2.0  # a slow front must bring twice as much, so that drift is none
TREND_DAYS = 5  # a decline is judged on five values, four days
LEAST_VALUES = 3
HOURS = 24.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drained:
    """Drained values of one layer, one a wetting."""

    day: NDArray[np.intp]  # row of the value
    value: Floats  # m3/m3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Below:
    """The layer beneath, the witness that water went on; all NaN under the last one."""

    state: Floats  # (D,)
    level: Floats  # (D,) smoothed
    rise: float  # least rise that is an answer


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Column:
    """One layer's record as the search for drained values needs it."""

    state: Floats  # (D,)
    level: Floats  # (D,) smoothed
    calm: Bools  # (D,) days that may be learned from, on which the layer hardly moves
    still: Bools  # (D,) and less than that
    starts: NDArray[np.intp]  # rows on which its wettings begin
    below: Below
    texture_full: float


def drained_values(
    state: Floats, allowed: Bools, texture_full: Floats, settings: Settings
) -> tuple[Drained, ...]:
    """Read, after each wetting of each layer, the value at which it had drained.

    Parameters
    ----------
    state : (D, k) float
        Daily state of one placement, m3/m3, NaN where nothing good was read.
    allowed : (D, k) bool
        Days that may be learned from: unfrozen, settled, no crop taking water, not ponded.
    texture_full : (k,) float
        Full point that the layer's texture suggests, m3/m3.
    settings : Settings

    Returns
    -------
    tuple of Drained
        One a layer.

    Notes
    -----
    Ratliff, Ritchie & Cassel (1983): the water content after thorough wetting, once drainage
    has become negligible. The wait is at least 48 h (Veihmeyer & Hendrickson) and at most
    450 h (Jabro et al. 2009) from the layer's peak. A layer that was only wetted part of the
    way also flattens out, at a value that means nothing. The rule that tells them apart is
    ours: what drains must turn up in the layer beneath, so a value counts where that layer
    rose. Where it cannot be seen (the last layer, a dead sensor) the
    layer must have come down from a higher peak: by ``drained_from``, or by ``drained_far``
    where it ends below the full point that its texture suggests.
    """
    slope, level = trend(state)
    threshold = np.maximum(settings.layer_wetting, NOISE_FACTOR * step_noise(state))
    calm = allowed & (np.abs(slope) < settings.drained_rate)
    still = np.abs(slope) < settings.drained_share * level
    still[:, :1] = True  # evaporation never lets the top layer rest: its first calm day serves
    rising = _rising(state, threshold)
    wettings = [runs(np.flatnonzero(column), QUICK_DAYS) for column in rising.T]
    starts = [np.array([run[0] for run in one], dtype=np.intp) for one in wettings]
    witnesses = _witnesses(state, level, settings)
    columns = (
        Column(
            state=state[:, j], level=level[:, j], calm=calm[:, j], still=still[:, j],
            starts=starts[j], below=witnesses[j], texture_full=float(texture_full[j]),
        )
        for j in range(state.shape[1])
    )  # fmt: skip
    return tuple(_one_layer(column, settings) for column in columns)


def _one_layer(layer: Column, settings: Settings) -> Drained:
    ends = np.append(layer.starts, len(layer.state))[1:]
    days = [
        day
        for start, until in zip(layer.starts, ends, strict=True)
        if (day := _drained_day(layer, int(start), int(until), settings)) is not None
    ]
    rows = np.array(days, dtype=np.intp)
    return Drained(day=rows, value=layer.level[rows])


def _drained_day(layer: Column, start: int, until: int, settings: Settings) -> int | None:
    found = _calm_day(layer, start, until, settings)
    if found is None:
        return None
    peak, day = found
    passed = _passed(layer.below, start, day)
    if passed is None:
        short = layer.level[day] < layer.texture_full
        least = settings.drained_far if short else settings.drained_from
        passed = peak - layer.level[day] > least
    return day if passed else None


def _passed(below: Below, start: int, day: int) -> bool | None:
    """Say whether water went on into the layer beneath; None where that cannot be seen."""
    before = below.state[max(start - TREND_DAYS, 0) : start]
    after = below.level[start : day + 1]
    before, after = before[np.isfinite(before)], after[np.isfinite(after)]
    if len(before) == 0 or len(after) == 0:
        return None
    return bool(after.max() - before.mean() > below.rise)


def _witnesses(state: Floats, level: Floats, settings: Settings) -> list[Below]:
    rise = np.maximum(settings.layer_rise, NOISE_FACTOR * step_noise(state))
    unseen = np.full(len(state), np.nan)
    beneath = [
        Below(state=state[:, j], level=level[:, j], rise=rise[j])
        for j in range(1, state.shape[1])
    ]
    return [*beneath, Below(state=unseen, level=unseen, rise=np.inf)]


def _calm_day(
    layer: Column, start: int, until: int, settings: Settings
) -> tuple[float, int] | None:
    """Peak of a wetting and the day by which it had drained, if one came before new water.

    That is the first still day after the wait, or, where new water or the cap cut it short,
    the last calm one.
    """
    risen = layer.state[start : min(until, start + SLOW_DAYS)]
    if not np.isfinite(risen).any():
        return None
    top = int(np.nanargmax(risen))
    peak = start + top
    first = peak + round(settings.drain_wait_h / HOURS)
    last = min(peak + round(settings.drain_cap_h / HOURS), until - TREND_DAYS)
    calm_days = first + np.flatnonzero(layer.calm[first : last + 1])
    if last < first or len(calm_days) == 0:
        return None
    still = calm_days[layer.still[calm_days]]
    return float(risen[top]), int(still[0] if len(still) else calm_days[-1])


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


def trend(state: Floats) -> tuple[Floats, Floats]:
    """Least-squares slope over the five days from each day, and the fitted value on that day.

    Parameters
    ----------
    state : (D, k) float

    Returns
    -------
    slope : (D, k) float
        m3/m3/d, NaN where fewer than three of the five days were read.
    level : (D, k) float
        m3/m3, the line's value on the first of the days.
    """
    padded = np.concatenate([state, np.full((TREND_DAYS - 1, state.shape[1]), np.nan)])
    windows = np.stack([padded[lag : lag + len(state)] for lag in range(TREND_DAYS)])
    seen = np.isfinite(windows)
    lag = np.arange(TREND_DAYS, dtype=float)[:, None, None] * seen
    y = np.where(seen, windows, 0.0)
    n, sx, sy = seen.sum(axis=0), lag.sum(axis=0), y.sum(axis=0)
    spread = n * (lag * lag).sum(axis=0) - sx * sx
    enough = (n >= LEAST_VALUES) & (spread > 0)
    slope = (n * (lag * y).sum(axis=0) - sx * sy) / np.where(enough, spread, np.nan)
    level = (sy - slope * sx) / np.where(enough, n, 1)
    return slope, level


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
