"""Moments at which a probe was disturbed: most sensors jump at once, some of them down."""

from typing import Any

import numpy as np

from analytics.model import Bools, Floats, Record
from analytics.settings import Settings

SIDE_READINGS = 6  # readings either side that must agree on a jump: a power dip is none
LEAST_SENSORS = 3


def disturbed(record: Record, usable: Bools, settings: Settings) -> Bools:
    """Find the first reading after each disturbance.

    Ours. At least ``step_share`` of the sensors seen (three or more) jump by more than
    ``step_theta`` between two readings at most ``step_gap_days`` apart, at least one of them
    down, which water cannot do, and the median of the readings after differs as much from that
    before. Unusable readings, frozen ones among them, are left out.

    Parameters
    ----------
    record : Record
    usable : (n, k) bool
    settings : Settings

    Returns
    -------
    (n,) bool
    """
    found = np.zeros(len(record.times), np.bool_)
    jump = np.diff(record.theta, axis=0)
    big = np.abs(jump) > settings.step_theta
    rows = np.flatnonzero(big.sum(axis=1) >= settings.step_share * LEAST_SENSORS)
    both = usable[rows] & usable[rows + 1]
    moved = big[rows] & both
    wait: Any = (record.times[rows + 1] - record.times[rows]) / np.timedelta64(1, "D")
    at_once = _most(moved, both, settings) & (wait <= settings.step_gap_days)
    falls = (moved & (jump[rows] < 0)).any(axis=1)
    for row in rows[at_once & falls] + 1:
        found[row] = _lasts(record.theta, usable, int(row), settings)
    return found


def _most(moved: Bools, seen: Bools, settings: Settings) -> Bools:
    count = seen.sum(axis=-1)
    enough = moved.sum(axis=-1) >= settings.step_share * count
    return enough & (count >= LEAST_SENSORS)


def _lasts(theta: Floats, usable: Bools, row: int, settings: Settings) -> bool:
    before = _middle(theta, usable, slice(max(row - SIDE_READINGS, 0), row))
    after = _middle(theta, usable, slice(row, row + SIDE_READINGS))
    change = np.abs(after - before)
    return bool(_most(change > settings.step_theta, np.isfinite(change), settings))


def _middle(theta: Floats, usable: Bools, rows: slice) -> Floats:
    """Median of the usable readings of each sensor, NaN where there is none."""
    return np.array(
        [
            np.median(values[good]) if good.any() else np.nan
            for values, good in zip(theta[rows].T, usable[rows].T, strict=True)
        ]
    )
