"""Which wetting a rise of soil water is credited to: the off-season cut into stretches."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.model import Bools, Floats
from analytics.settings import Settings

CAUSES = ("rain", "snow", "irrigation", "thaw", "unexplained")
UNEXPLAINED = CAUSES.index("unexplained")
Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stretches:
    """The time axis cut at every wetting: ``edges[m]`` to ``edges[m + 1]`` is stretch m.

    ``credit[m, j]`` is the cause (index into CAUSES) that a rise of layer j within stretch m
    is credited to; ``credit_profile[m]`` the same for the whole profile; ``wetting[m]`` says
    whether the stretch is a wetting's own window.
    """

    edges: Whole  # (m + 1,) days since 1970
    credit: Whole  # (m, k)
    credit_profile: Whole  # (m,)
    wetting: Bools  # (m,)


def day_numbers(dates: pd.Series) -> Whole:
    """Turn a column of dates into whole days since 1970."""
    return dates.to_numpy("datetime64[D]").astype(np.int64)


def stretches(
    wettings: pd.DataFrame, wetting_layers: pd.DataFrame, depths_cm: Floats, settings: Settings
) -> Stretches:
    """Cut time into wetting windows, the days water is still on its way, and quiet days.

    A window runs from the day before a wetting's start to ``follow_days`` after its end, or
    to the next window. From there to ``trickle_days`` after its end a rise is still credited
    to it, but only in layers at or below the shallowest that answered: water comes from
    above, and a rise with nothing above it has another source. All else is unexplained.

    Parameters
    ----------
    wettings, wetting_layers : DataFrame
        Contract tables of one site.
    depths_cm : (k,) float
        Sensor depths.
    settings : Settings
        Uses ``follow_days`` and ``trickle_days``.
    """
    order = wettings.sort_values("start", ignore_index=True)
    start, end = day_numbers(order["start"]), day_numbers(order["end"])
    opens = start - 1
    upto = np.append(opens[1:], np.iinfo(np.int64).max)
    closes = np.minimum(end + int(settings.follow_days), upto)
    dries = np.maximum(np.minimum(end + int(settings.trickle_days), upto), closes)
    cause = np.array([CAUSES.index(str(one)) for one in order["cause"]], dtype=np.int64)
    answered = _shallowest(start, wetting_layers)
    below = answered[:, None] <= depths_cm
    late = np.where(below, cause[:, None], UNEXPLAINED)
    late_profile = np.where(np.isfinite(answered), cause, UNEXPLAINED)
    k = len(depths_cm)
    own = np.repeat(cause[:, None], k, axis=1)
    quiet = np.full((len(start), k), UNEXPLAINED, dtype=np.int64)
    credit = np.stack([own, late, quiet], axis=1).reshape(-1, k)
    profile = np.stack([cause, late_profile, quiet[:, 0]], axis=1).ravel()
    return Stretches(
        edges=np.stack([opens, closes, dries], axis=1).ravel(),
        credit=np.vstack([np.full((1, k), UNEXPLAINED), credit]),
        credit_profile=np.append(UNEXPLAINED, profile),
        wetting=np.append(False, np.tile([True, False, False], len(start))),
    )


def _shallowest(start: Whole, wetting_layers: pd.DataFrame) -> Floats:
    """Depth (cm) of the shallowest layer that answered each wetting, inf where none did."""
    depth = np.full(len(start), np.inf)
    if len(start) and len(wetting_layers):
        when = day_numbers(wetting_layers["start"])
        at = np.minimum(np.searchsorted(start, when), len(start) - 1)
        known = start[at] == when
        np.minimum.at(depth, at[known], wetting_layers["depth_cm"].to_numpy(float)[known])
    return depth


def gains(steps: Floats, credit: Whole) -> Floats:
    """Sum the rises of each stretch by the cause they are credited to.

    Parameters
    ----------
    steps : (m, r) float
        Change of each row's water over each stretch, mm.
    credit : (m, r) int
        Cause of each stretch and row.

    Returns
    -------
    (len(CAUSES), r) float
        mm; with the falls ``-minimum(steps, 0).sum(0)`` they add up to the change exactly.
    """
    rises = np.maximum(steps, 0.0)
    return np.stack(
        [np.where(credit == one, rises, 0.0).sum(axis=0) for one in range(len(CAUSES))]
    )
