"""Sudden steps of one sensor: the published breaks, and falls that no water can make."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analytics.model import Bools, Floats, Record
from analytics.settings import Settings
from analytics.soil.days import sampling_step

SIDE_READINGS = 12  # readings either side whose medians must differ by a lasting fall
LEAST_SLOPES = 4  # of the day around, for their mean to be one
NEAR = np.arange(-2, 3)  # the readings round t that its bends before, at and after take

Places = NDArray[np.intp]


def breaks(record: Record, settings: Settings) -> tuple[Bools, Bools]:
    """Find drops and jumps.

    Dorigo et al. (2013), flags D07 and D08: abs(x(t) - x(t-1)) above 0.10 x(t) and above
    0.01 m3/m3; abs(x'(t)) above ten times abs(mean x') of the 25 hours around; bends
    abs(x''(t-1) / x''(t)) about 1 and abs(x''(t) / x''(t+1)) above 10. Derivatives are the
    Savitzky-Golay ones of window 3 and order 2. A fall by more than ``zero_fall`` to nought
    is a drop too (an addition of the reference implementation).

    Parameters
    ----------
    record : Record
        Hourly, or shorter steps.
    settings : Settings

    Returns
    -------
    drops, jumps : (n, k) bool
        The first reading after each.
    """
    theta = record.theta
    drops, jumps = (np.zeros(theta.shape, np.bool_) for _ in range(2))
    if len(theta) < len(NEAR):
        return drops, jumps
    change = theta[1:] - theta[:-1]
    rows, sensors = np.nonzero(np.abs(change) > settings.break_change)
    leap, rows = change[rows, sensors], rows + 1
    now = theta[rows, sensors]
    broken = (np.abs(leap) > settings.break_share * np.abs(now)) & (now != 0)
    broken &= _bends(theta, rows, sensors, settings)
    broken &= _steep(theta, rows, sensors, settings)
    emptied = (now == 0) & (leap < -settings.zero_fall)
    together = _at_once(record, rows)
    drops[rows, sensors] = together & ((broken & (leap < 0)) | emptied)
    jumps[rows, sensors] = together & broken & (leap > 0)
    return drops, jumps


def _at_once(record: Record, rows: Places) -> Bools:
    wait: Any = record.times[rows] - record.times[rows - 1]
    return wait / np.timedelta64(1, "h") < 1.5 * sampling_step(record.times)


def _around(theta: Floats, rows: Places, sensors: Places, shift: NDArray[Any]) -> Floats:
    """Take the readings at each shift from each place, the ends repeated beyond the ends."""
    around = np.clip(rows[:, None] + shift, 0, len(theta) - 1)
    return theta[around, sensors[:, None]]


def _bends(theta: Floats, rows: Places, sensors: Places, settings: Settings) -> Bools:
    x = _around(theta, rows, sensors, np.arange(-2, 4))
    bend = x[:, :-2] - 2 * x[:, 1:-1] + x[:, 2:]
    before, at, after = np.abs(bend[:, :3]).T
    even = np.abs(before - at) < settings.break_balance * at
    return (at > 0) & even & (at > settings.break_bend * after)


def _steep(theta: Floats, rows: Places, sensors: Places, settings: Settings) -> Bools:
    reach = round(settings.spike_window_h)
    shift = np.arange(-reach - 1, reach + 2)
    x = _around(theta, rows, sensors, shift)
    slope = (x[:, 2:] - x[:, :-2]) / 2
    centre = rows[:, None] + shift[1:-1]
    known = np.isfinite(slope) & (centre >= 0) & (centre < len(theta))
    count = known.sum(axis=1)
    mean = np.abs(np.where(known, slope, 0.0).sum(axis=1)) / np.maximum(count, 1)
    own = np.abs(slope[:, reach])
    steep = own - settings.break_slope * mean > np.finfo(np.float32).eps * own
    return steep & (count >= LEAST_SLOPES)


def lasting_falls(record: Record, usable: Bools, settings: Settings) -> Bools:
    """Find falls within one step that last: soil loses no water so fast.

    Ours, since a noisy sensor hides a break from the published rule: a fall by more than
    ``step_theta`` between two readings, after which the median of a dozen usable readings
    differs as much from that of the dozen before.

    Parameters
    ----------
    record : Record
        Hourly, or shorter steps.
    usable : (n, k) bool
        Frozen readings are not.
    settings : Settings

    Returns
    -------
    (n, k) bool
        The first reading after each.
    """
    theta = record.theta
    found = np.zeros(theta.shape, np.bool_)
    rows, sensors = np.nonzero(theta[1:] - theta[:-1] < -settings.step_theta)
    rows += 1
    seen = usable[rows, sensors] & usable[rows - 1, sensors] & _at_once(record, rows)
    rows, sensors = rows[seen], sensors[seen]
    if len(rows):
        change = change_over(theta, usable, rows, sensors)
        found[rows, sensors] = change < -settings.step_theta
    return found


def change_over(theta: Floats, usable: Bools, rows: Places, sensors: Places) -> Floats:
    """Median of a dozen usable readings from each place on, less that of those before it.

    Returns
    -------
    (m,) float
        NaN where one side has fewer than half a dozen.
    """
    after = np.arange(SIDE_READINGS)
    return _middle(theta, usable, rows, sensors, after) - _middle(
        theta, usable, rows, sensors, after - SIDE_READINGS
    )


def _middle(
    theta: Floats, usable: Bools, rows: Places, sensors: Places, shift: NDArray[Any]
) -> Floats:
    around = rows[:, None] + shift
    inside = (around >= 0) & (around < len(theta))
    around = np.clip(around, 0, len(theta) - 1)
    good = inside & usable[around, sensors[:, None]]
    values = np.sort(np.where(good, theta[around, sensors[:, None]], np.inf), axis=1)
    count = good.sum(axis=1)
    place = np.arange(len(rows))
    low, high = np.maximum(count - 1, 0) // 2, np.minimum(count // 2, len(shift) - 1)
    enough = count >= SIDE_READINGS // 2
    middle = np.where(enough[:, None], values, 0.0)
    return np.where(enough, (middle[place, low] + middle[place, high]) / 2, np.nan)
