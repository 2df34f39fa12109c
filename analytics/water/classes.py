"""Five classes of fill, and how sure each is."""

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from analytics.model import Floats

CLASSES = ("depleted", "low", "partial", "near_full", "full")
EDGES = np.array([0.2, 0.4, 0.6, 0.8])
"""Lower edges of low, partial, near_full and full: even fifths of the available range; ours."""


def classify(fill: ArrayLike, sd: ArrayLike) -> tuple[NDArray[np.object_], Floats]:
    """Name the class of a fill and give the probability of every class.

    The error of a fill is taken as normal: P(class) = Phi((upper - fill) / sd) -
    Phi((lower - fill) / sd), the outer classes being open.

    Parameters
    ----------
    fill : (...) float
        Share of available water held, 1; not clipped.
    sd : (...) float
        Its standard deviation, 1; nought makes the class certain.

    Returns
    -------
    name : (...) object
        One of ``CLASSES``; None where the fill is NaN.
    probability : (..., 5) float
        Sums to one; NaN where fill or sd is NaN.
    """
    fill, sd = np.broadcast_arrays(np.asarray(fill, float), np.asarray(sd, float))
    number = np.searchsorted(EDGES, fill, side="right")
    name = np.asarray(np.array([*CLASSES], dtype=object)[number], dtype=object)
    name[np.isnan(fill)] = None
    apart = EDGES - fill[..., None]
    with np.errstate(divide="ignore", invalid="ignore"):
        z = np.where(
            sd[..., None] > 0, apart / sd[..., None], np.where(apart > 0, np.inf, -np.inf)
        )
    below = np.where(np.isnan(fill + sd)[..., None], np.nan, ndtr(z))
    lead = (*below.shape[:-1], 1)
    return name, np.diff(below, axis=-1, prepend=np.zeros(lead), append=np.ones(lead))
