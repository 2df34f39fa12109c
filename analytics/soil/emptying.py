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
    opened = int(np.argmax(placement == placement[until]))
    begun = np.maximum(_rows([one.planted_on for one in seasons], zero), max(since, opened, 0))
    ended = np.minimum(_rows([one.harvested_on or date.max for one in seasons], zero), until)
    told = np.flatnonzero(begun < ended)
    fall = water[begun[told]] - water[ended[told]]
    if not (fall > least_mm).any():
        return None
    return seasons[told[np.nanargmax(fall)]]


def _rows(days: list[date], zero: np.datetime64) -> NDArray[np.int64]:
    return (np.array(days, "datetime64[D]") - zero).astype(np.int64)
