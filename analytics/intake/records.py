"""Readings of one site gathered into a Record: instants ascending, depths ascending."""

import numpy as np
from numpy.typing import NDArray

from analytics.model import Floats, Record, Times


def from_wide(
    site: str, times: Times, theta: dict[float, Floats], temp: dict[float, Floats]
) -> tuple[Record, int]:
    """Gather rows that are each an instant.

    Parameters
    ----------
    site : str
    times : (n,) datetime64[us]
        UTC, in file order.
    theta, temp : dict of depth in cm to (n,) float
        m3/m3 and degrees C.

    Returns
    -------
    record : Record
        Depths that never read anything are left out, unless none ever did.
    repeated : int
        Rows replaced by a later row of the same instant.
    """
    order = np.argsort(times, kind="stable")
    ordered = times[order]
    last = np.append(ordered[1:] != ordered[:-1], np.True_) if len(ordered) else order > 0
    order = order[last]
    depths = sorted({*theta, *temp})
    nothing = np.full(len(times), np.nan)
    both = [
        np.column_stack([one.get(d, nothing) for d in depths])[order] for one in (theta, temp)
    ]
    read = np.isfinite(both[0]).any(axis=0) | np.isfinite(both[1]).any(axis=0)
    keep = read if read.any() else np.ones(len(depths), dtype=bool)
    record = Record(
        site=site,
        times=times[order],
        depths_cm=np.array(depths)[keep],
        theta=np.ascontiguousarray(both[0][:, keep]),
        temp_c=np.ascontiguousarray(both[1][:, keep]),
    )
    return record, len(times) - len(order)


def from_long(
    site: str, times: Times, depths_cm: Floats, theta: Floats, temp: Floats
) -> tuple[Record, int]:
    """Gather rows that are each one sensor's reading; all (n,), in file order.

    Returns
    -------
    record : Record
    repeated : int
        Rows replaced by a later row of the same instant and depth.
    """
    instants, row = np.unique(times, return_inverse=True)
    levels, column = np.unique(depths_cm, return_inverse=True)
    cell = _cells(row, column, len(levels))
    grids = []
    for values in (theta, temp):
        grid = np.full(len(instants) * len(levels), np.nan)
        grid[cell] = values  # numpy lets the last of repeated places win
        grids.append(grid.reshape(len(instants), len(levels)))
    record = Record(
        site=site, times=instants, depths_cm=levels, theta=grids[0], temp_c=grids[1]
    )
    seen = np.zeros(len(instants) * len(levels), dtype=bool)
    seen[cell] = True
    return record, len(times) - int(seen.sum())


def _cells(row: NDArray[np.intp], column: NDArray[np.intp], width: int) -> NDArray[np.intp]:
    return row.ravel() * width + column.ravel()
