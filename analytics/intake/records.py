"""Readings of one site gathered into a Record: instants ascending, depths ascending."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.model import Bools, Floats, Record, Times, nothing_replaced


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gathered:
    """One site's record, and what became of rows that speak of the same instant again.

    ``repeated`` rows share an instant (and depth) with a later one; ``overruled`` of them gave
    a value that a later row contradicts, listed in ``replaced``.
    """

    record: Record
    repeated: int
    overruled: int
    replaced: pd.DataFrame


def together(made: Sequence[Gathered]) -> dict[str, Any]:
    """Add up the repeats of several sites, under the names that ``Taken`` has for them."""
    frames = [one.replaced for one in made if len(one.replaced)]
    return {
        "rows_repeated": sum(one.repeated for one in made),
        "rows_overruled": sum(one.overruled for one in made),
        "replaced": pd.concat(frames, ignore_index=True) if frames else nothing_replaced(),
    }


def from_wide(
    site: str, times: Times, theta: dict[float, Floats], temp: dict[float, Floats]
) -> Gathered:
    """Gather rows that are each an instant.

    Of an instant that stands in several rows, each sensor's last value wins; a missing value
    overrules none, so that a file says the same in one piece or in two.

    Parameters
    ----------
    site : str
    times : (n,) datetime64[us]
        UTC, in file order.
    theta, temp : dict of depth in cm to (n,) float
        m3/m3 and degrees C. Depths that never read anything are left out, unless none did.
    """
    depths = sorted({*theta, *temp})
    nothing = np.full(len(times), np.nan)
    # Laid down sensor by sensor, as they come and as a part keeps them.
    both = [np.array([one.get(d, nothing) for d in depths]).T for one in (theta, temp)]
    read = np.isfinite(both[0]).any(axis=0) | np.isfinite(both[1]).any(axis=0)
    if not read.all() and read.any():
        depths = np.array(depths)[read].tolist()
        both = [one[:, read] for one in both]
    if (times[1:] > times[:-1]).all():  # as nearly every logger writes: nothing to settle
        record = Record(
            site=site, times=times, depths_cm=np.array(depths), theta=both[0], temp_c=both[1]
        )
        return Gathered(record=record, repeated=0, overruled=0, replaced=nothing_replaced())
    return _settled(site, times, np.array(depths), both)


def _settled(site: str, times: Times, depths_cm: Floats, given: list[Floats]) -> Gathered:
    """Bring rows into the order of time, one an instant."""
    instants, row = np.unique(times, return_inverse=True)
    first, second = (_last(row, len(instants), one) for one in given)
    record = Record(site=site, times=instants, depths_cm=depths_cm, theta=first, temp_c=second)
    gone = _differs(given[0], first[row]) | _differs(given[1], second[row])
    place, sensor = np.nonzero(gone)
    return Gathered(
        record=record,
        repeated=len(times) - len(instants),
        overruled=int(gone.any(axis=1).sum()),
        replaced=_replaced(record, row[place], sensor, given[0][gone], given[1][gone]),
    )


def from_long(
    site: str, times: Times, depths_cm: Floats, theta: Floats, temp: Floats
) -> Gathered:
    """Gather rows that are each one sensor's reading; all (n,), in file order.

    Of a reading that stands in several rows, the last value of each kind wins.
    """
    instants, row = np.unique(times, return_inverse=True)
    levels, column = np.unique(depths_cm, return_inverse=True)
    size = (len(instants), len(levels))
    cell = row * len(levels) + column
    given = np.column_stack([theta, temp])
    settled = _last(cell, size[0] * size[1], given)
    gone = _differs(given, settled[cell]).any(axis=1)
    record = Record(
        site=site,
        times=instants,
        depths_cm=levels,
        theta=settled[:, 0].reshape(size),
        temp_c=settled[:, 1].reshape(size),
    )
    return Gathered(
        record=record,
        repeated=len(times) - len(np.unique(cell)),
        overruled=int(gone.sum()),
        replaced=_replaced(record, row[gone], column[gone], theta[gone], temp[gone]),
    )


def _last(place: NDArray[np.intp], places: int, given: Floats) -> Floats:
    """Give each place the last known value of every column."""
    settled = np.full((places, given.shape[1]), np.nan)
    for j in range(given.shape[1]):
        known = ~np.isnan(given[:, j])
        settled[place[known], j] = given[known, j]  # of repeated places numpy keeps the last
    return settled


def _differs(given: Floats, settled: Floats) -> Bools:
    return ~np.isnan(given) & (given != settled)


def _replaced(
    record: Record, row: NDArray[np.intp], sensor: NDArray[np.intp], theta: Floats, temp: Floats
) -> pd.DataFrame:
    if not len(row):
        return nothing_replaced()
    return pd.DataFrame(
        {
            "site": pd.Series(record.site, index=range(len(row)), dtype="str"),
            "time": pd.Series(record.times[row]).dt.tz_localize("UTC"),
            "depth_cm": record.depths_cm[sensor],
            "vwc": theta,
            "soil_temp_c": temp,
            "vwc_now": record.theta[row, sensor],
            "soil_temp_c_now": record.temp_c[row, sensor],
        }
    )
