"""A record's own step, where it is fine enough to tell the hour at which water came."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.model import Floats, Placement, Record, Times
from analytics.settings import Settings
from analytics.soil.days import HOUR, sampling_step, site_timezone, wall_time
from analytics.soil.flags import UNUSABLE

LASTING = 3
"""An answer stands for so many readings running: one or two stray ones are none."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hours:
    """One site's usable readings by the site's own clock.

    ``theta`` (n, k) is m3/m3, NaN where a reading is unusable; ``wall`` (n,) never runs back,
    so that the hour repeated in autumn is no step into the past; ``utc`` (n,) is the instant.
    """

    wall: Times
    utc: Times
    theta: Floats
    dawn: np.timedelta64  # from midnight to the end of the pre-dawn hours
    longest: np.timedelta64  # a longer hole between readings leaves the day to be judged


def hours_of(
    record: Record,
    flags: NDArray[np.uint16],
    placements: tuple[Placement, ...],
    settings: Settings,
) -> Hours | None:
    """Make a record's readings ready to be followed by the hour.

    Parameters
    ----------
    record : Record
        n readings of k sensors.
    flags : (n, k) uint16
    placements : tuple of Placement
        For the site's time zone.
    settings : Settings
        Uses ``hourly_step_h``, ``predawn_to_h``.

    Returns
    -------
    Hours or None
        None where the usual step is longer than ``hourly_step_h``: such a record is followed
        by the day.
    """
    if not sampling_step(record.times) <= settings.hourly_step_h:
        return None
    wall = wall_time(record.times, site_timezone(record, placements))
    unusable = (flags & np.uint16(UNUSABLE)) != 0
    return Hours(
        wall=np.maximum.accumulate(wall.astype("datetime64[us]")), utc=record.times,
        theta=np.where(unusable, np.nan, record.theta),
        dawn=np.timedelta64(int(settings.predawn_to_h * 60), "m"),
        longest=np.timedelta64(int(settings.hourly_step_h * 60), "m"),
    )  # fmt: skip


def window(hours: Hours, after: np.datetime64, until: np.datetime64) -> slice:
    """Find the readings from the dawn of one day up to that of another; none across holes."""
    low, high = np.searchsorted(
        hours.wall, np.array([after, until]).astype("datetime64[us]") + hours.dawn
    )
    return slice(int(low), int(high))


def unbroken(hours: Hours, part: slice) -> slice:
    """Cut a window off at its first hole; what is too short to tell anything is empty."""
    broken = np.flatnonzero(np.diff(hours.wall[part]) > hours.longest)
    stop = part.start + int(broken[0]) + 1 if len(broken) else part.stop
    return slice(part.start, stop if stop - part.start > LASTING else part.start)


def first_above(theta: Floats, least: Floats) -> NDArray[np.intp]:
    """Find the first of ``LASTING`` readings running that stand above a value, -1 for none.

    Parameters
    ----------
    theta : (m, k) float
    least : (k,) float

    Returns
    -------
    (k,) int
    """
    above = theta > least
    lasting = above[LASTING - 1 :].copy()
    for back in range(1, LASTING):
        lasting &= above[LASTING - 1 - back : len(above) - back]
    if not len(lasting):
        return np.full(theta.shape[1], -1, np.intp)
    return np.where(lasting.any(axis=0), lasting.argmax(axis=0), -1)


def rise_hours(water_mm: Floats, gain_mm: float) -> tuple[int, int]:
    """Find the readings between which the middle of a rise took place.

    Parameters
    ----------
    water_mm : (m,) float
        The profile's water over one step of the daily record, NaN where unknown.
    gain_mm : float
        How much it rose.

    Returns
    -------
    first, last : int
        The last reading below a fifth of the rise, and the first above four fifths of it
        (middles of three readings, against noise); the whole window where that is not seen.
        A rise that was under way when the window began is measured from where it began: as
        far below the highest as it gained.
    """
    known = np.flatnonzero(np.isfinite(water_mm))
    if len(known) < LASTING:
        return 0, len(water_mm) - 1
    calm = np.median(np.lib.stride_tricks.sliding_window_view(water_mm[known], LASTING), axis=1)
    began = min(float(calm[0]), float(calm.max()) - gain_mm)
    low, high = began + 0.2 * gain_mm, began + 0.8 * gain_mm
    up = np.flatnonzero(calm >= high)
    last = int(up[0]) if len(up) else len(calm) - 1
    below = np.flatnonzero(calm[: last + 1] <= low)
    first = int(below[-1]) if len(below) else 0
    return int(known[first + 1]), int(known[last + 1])


def gap_h(hours: Hours, earlier: int, later: int) -> float:
    """Hours from one reading to another."""
    return float((hours.wall[later] - hours.wall[earlier]) / HOUR)
