"""How a layer falls after a wetting, and the day on which it had drained."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.model import Bools, Floats
from analytics.settings import Settings
from analytics.soil.texture import TexturePoints

LEAST_VALUES = 3
TINY = 1e-12
HOURS = 24.0
HALF_DAYS = 3  # the pace of a fall is judged on seven values, three to either side


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Column:
    """One layer's record as the search for drained values needs it."""

    state: Floats  # (D,)
    level: Floats  # (D,) smoothed
    slope: Floats  # (D,) m3/m3/d
    allowed: Bools  # (D,) days that may be learned from
    starts: NDArray[np.intp]  # rows on which its wettings begin
    rise: float  # least rise that is an answer to the layer above
    texture: TexturePoints


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fall:
    """One wetting's fall: the days on which the layer may have drained."""

    start: int
    peak: float
    days: NDArray[np.intp]


def fall_after(layer: Column, start: int, until: int, settings: Settings) -> Fall | None:
    """Find the days from the wait after a wetting's peak until new water or the longest wait.

    Parameters
    ----------
    layer : Column
    start, until : int
        Rows on which this wetting and the next begin.
    settings : Settings
        Uses ``drain_wait_h`` and ``drain_cap_h``.

    Returns
    -------
    Fall or None
        None where nothing was read.
    """
    risen = layer.state[start:until]
    if not np.isfinite(risen).any():
        return None
    top = int(np.nanargmax(risen))
    first = start + top + round(settings.drain_wait_h / HOURS)
    last = min(start + top + round(settings.drain_cap_h / HOURS), until - HALF_DAYS - 1)
    days = first + np.flatnonzero((layer.allowed & np.isfinite(layer.slope))[first : last + 1])
    return Fall(start=start, peak=float(risen[top]), days=days)


def drawn_on(layer: Column, falls: list[Fall], settings: Settings) -> float:
    """Loss that does not slow as the layer drains: what air and dry soil draw, m3/m3/d.

    Drainage follows conductivity, which falls off with water content about exponentially
    (Libardi et al. 1980); evaporation and drier soil draw on at nearly the same pace. So the
    part of the loss that no exponential explains, over the falls of all wettings, is drawn.

    Parameters
    ----------
    layer : Column
    falls : list of Fall
        Of all its wettings.
    settings : Settings
        Uses drained_rate, steady_fall_days, steady_below, steady_most, steepness_sand and
        steepness_clay; between those two their geometric mean is tried.

    Returns
    -------
    float
        From nought to ``steady_most`` of the drained rate.
    """
    days = np.concatenate([one.days for one in falls]) if falls else np.empty(0, dtype=np.intp)
    days = days[-layer.slope[days] < settings.steady_below * settings.drained_rate]
    if len(days) < settings.steady_fall_days:
        return 0.0
    theta, loss = layer.level[days], -layer.slope[days]
    sand, clay = settings.steepness_sand, settings.steepness_clay
    fits = [
        _steady_share(np.exp(steep * (theta - theta.max())), loss)
        for steep in (sand, np.sqrt(sand * clay), clay)
    ]
    _, best = min(fits)
    return min(max(best, 0.0), settings.steady_most * settings.drained_rate)


def _steady_share(drainage: Floats, loss: Floats) -> tuple[float, float]:
    """Squared error of loss = steady + c x drainage, and its steady part."""
    apart = drainage - drainage.mean()
    times = float((apart * loss).sum() / max((apart * apart).sum(), TINY))
    steady = float(loss.mean()) - times * float(drainage.mean())
    return float(((loss - steady - times * drainage) ** 2).sum()), steady


def drained_day(
    layer: Column, days: NDArray[np.intp], rate: float, settings: Settings
) -> int | None:
    """Day by which a layer had drained: the first at rest, else the first calm one.

    What is calm before the fall is steepest is the flat top of the peak.

    Parameters
    ----------
    layer : Column
    days : (n,) int
        Rows of one wetting's fall.
    rate : float
        A layer that loses less a day is calm, m3/m3/d.
    settings : Settings
        Uses ``drained_share``: a calm layer that loses less than this share of its water a
        day, three days running, is at rest.

    Returns
    -------
    int or None
        Row; None where it was never calm.
    """
    if len(days) == 0:
        return None
    slope = layer.slope[days]
    steepest = int(np.argmin(slope))
    since = slice(steepest if slope[steepest] <= -rate else 0, None)
    days, slope = days[since], slope[since]
    calm = np.flatnonzero(np.abs(slope) < rate)
    if len(calm) == 0:
        return None
    still = np.abs(slope[calm]) < settings.drained_share * layer.level[days[calm]]
    lasting = np.flatnonzero(still[:-2] & still[1:-1] & still[2:])
    return int(days[calm[lasting[0] if len(lasting) else 0]])


def trend(state: Floats) -> tuple[Floats, Floats]:
    """Least-squares slope over the seven days about each day, and the mean of three on it.

    Parameters
    ----------
    state : (D, k) float

    Returns
    -------
    slope : (D, k) float
        m3/m3/d, NaN where fewer than three of the days were read.
    level : (D, k) float
        m3/m3, the mean of the middle day and its neighbours: a longer mean would lie above a
        fall that slows.
    """
    edge = np.full((HALF_DAYS, state.shape[1]), np.nan)
    padded = np.concatenate([edge, state, edge])
    windows = np.stack([padded[lag : lag + len(state)] for lag in range(2 * HALF_DAYS + 1)])
    seen = np.isfinite(windows)
    lag = np.arange(-HALF_DAYS, HALF_DAYS + 1, dtype=float)[:, None, None] * seen
    y = np.where(seen, windows, 0.0)
    n, sx, sy = seen.sum(axis=0), lag.sum(axis=0), y.sum(axis=0)
    spread = n * (lag * lag).sum(axis=0) - sx * sx
    enough = (n >= LEAST_VALUES) & (spread > 0)
    slope = (n * (lag * y).sum(axis=0) - sx * sy) / np.where(enough, spread, np.nan)
    core = slice(HALF_DAYS - 1, HALF_DAYS + 2)
    return slope, y[core].sum(axis=0) / np.where(
        seen[core].any(axis=0), seen[core].sum(axis=0), np.nan
    )
