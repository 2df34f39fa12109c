"""Which crop emptied the layers that have not been full since."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from analytics.model import Bools, Floats, Season
from analytics.soil.fullness import NEVER
from analytics.water.picture import Picture, Whole


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Emptying:
    """For each kept date the crop that took most from the layers in question since full."""

    season: tuple[Season | None, ...]  # (n,)
    fall_mm: Floats  # (n,)


def emptied_by(one: Picture, seasons: tuple[Season, ...], short: Bools) -> Emptying:
    """Name the season, after the layers were last full, over which they fell most.

    A season's fall is each layer's water at planting (or at its last full day, if that lies
    within the season) less its water at harvest (or on the date itself while the crop
    stands), summed over the layers by their share in the deep zone.

    Parameters
    ----------
    one : Picture
    seasons : tuple of S Season
        The field's.
    short : (n, k) bool
        Layers to ask about on each date.
    """
    n = len(one.dates)
    if not seasons or not short.any():
        return Emptying(season=(None,) * n, fall_mm=np.full(n, np.nan))
    falls = np.where(short[:, None, :], _falls(one, seasons), np.nan) * one.share[1]
    total = np.where(np.isnan(falls), 0.0, falls).sum(axis=2)
    most = total.argmax(axis=1)
    fall = total[np.arange(n), most]
    named = tuple(
        seasons[at] if mm > 0 else None
        for at, mm in zip(most.tolist(), fall.tolist(), strict=True)
    )
    return Emptying(season=named, fall_mm=np.where(fall > 0, fall, np.nan))


def _falls(one: Picture, seasons: tuple[Season, ...]) -> Floats:
    """Fall of each layer over each season up to each date since full, (n, S, k) mm; NaN."""
    zero = one.daily.days[0]
    planted = _index([season.planted_on for season in seasons], zero)
    ends = [season.harvested_on or date.max for season in seasons]
    gone = np.minimum(_index(ends, zero), one.day[:, None])  # (n, S)
    full = np.where(np.isnat(one.full_on), NEVER, (one.full_on - zero).astype(np.int64))
    begun = np.maximum(planted[None, :, None], full[:, None, :])  # (n, S, k)
    valid = (begun >= 0) & (begun < gone[:, :, None])
    columns = np.arange(len(one.layers))
    first = one.good[np.where(valid, begun, 0), columns]
    last = one.good[np.where(valid, gone[:, :, None], 0), columns]
    placement, today = one.daily.placement, one.placement[:, None, None]
    valid &= (first != NEVER) & (last != NEVER)
    valid &= (placement[first] == today) & (placement[last] == today)
    state = one.daily.state
    return np.where(valid, state[first, columns] - state[last, columns], np.nan) * one.thick


def _index(days: list[date], zero: np.datetime64) -> Whole:
    return (np.array(days, dtype="datetime64[D]") - zero).astype(np.int64)
