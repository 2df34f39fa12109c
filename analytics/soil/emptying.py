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
    since: NDArray[np.int64],
    until: NDArray[np.int64],
    seasons: tuple[Season, ...],
    least_mm: Floats,
) -> list[Season | None]:
    """Name for some soils the season over which each lost most, between two days.

    Parameters
    ----------
    water : (D, m) float
        Water of m soils, mm, the latest good value so far.
    placement : (D,) int16
        Falls are never read across a change.
    zero : datetime64[D]
        The first of the D days.
    since, until : (m,) int
        Day last full (below 0: not on record) and the day asked about.
    seasons : tuple of Season
        The field's.
    least_mm : (m,) float
        A smaller fall is none.

    Returns
    -------
    list of Season or None, length m
    """
    if not seasons:
        return [None] * len(until)
    planted = _rows([one.planted_on for one in seasons], zero)[:, None]
    harvested = _rows([one.harvested_on or date.max for one in seasons], zero)[:, None]
    opened = [int(np.argmax(placement == placement[one])) for one in until]
    begun = np.maximum(planted, np.maximum(np.maximum(since, opened), 0))
    ended = np.minimum(harvested, until)
    soil = np.arange(water.shape[1])
    fall = water[np.minimum(begun, until), soil] - water[np.maximum(ended, 0), soil]
    fall = np.where((begun < ended) & (fall > least_mm), fall, 0.0)
    most = fall.argmax(axis=0)
    return [seasons[one] if fall[one, at] > 0.0 else None for at, one in enumerate(most)]


def _rows(days: list[date], zero: np.datetime64) -> NDArray[np.int64]:
    return (np.array(days, "datetime64[D]") - zero).astype(np.int64)
