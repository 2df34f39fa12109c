"""Which crop emptied a layer since it was last full."""

from datetime import date

import numpy as np
from numpy.typing import NDArray

from analytics.model import Floats, Season


def emptied_by(
    water: Floats,
    placement: NDArray[np.int16],
    zero: np.datetime64,
    *,
    since: int,
    until: int,
    seasons: tuple[Season, ...],
    least_mm: float,
) -> Season | None:
    """Name the season over which some soil lost most, between two days.

    Parameters
    ----------
    water : (D,) float
        Water of the soil in question, mm, the latest good value so far.
    placement : (D,) int16
        Falls are never read across a change.
    zero : datetime64[D]
        The first of the D days.
    since, until : int
        Day last full (below 0: not on record) and the day asked about.
    seasons : tuple of Season
        The field's.
    least_mm : float
        A smaller fall is none.
    """
    found, most = None, least_mm
    for one in seasons:
        begun = max(
            _row(one.planted_on, zero), since, int(np.argmax(placement == placement[until]))
        )
        ended = min(_row(one.harvested_on or date.max, zero), until)
        if 0 <= begun < ended and water[begun] - water[ended] > most:
            found, most = one, float(water[begun] - water[ended])
    return found


def _row(day: date, zero: np.datetime64) -> int:
    return int((np.datetime64(day, "D") - zero).astype(np.int64))
