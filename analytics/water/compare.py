"""Two probes compared on the soil they share, with what may and may not be said of it.

Probes end at different depths and have layers of different thickness. Water is therefore laid
onto common layers by overlap (each layer even in itself), and sums run only as deep as both
probes reach. A difference is called one only beyond its own 8-in-10 interval, and never where
one figure rests on points seen in place and the other on a table: unlike numbers are shown
side by side, not ranked.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from analytics.model import Floats
from analytics.units import EIGHT_IN_TEN

IN_PLACE = frozenset({"learned", "provisional", "set"})
"""States of a full point that rest on this soil's own record, or on a person's judgement."""
Footing = Literal["in place", "table", "mixed", "not known"]
Verdict = Literal["shorter", "less short", "not told apart", "unlike", "not known"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One shortage less another, mm; ``verdict`` tells what may be said of the first."""

    difference_mm: float
    sd_mm: float
    verdict: Verdict


def overlap(edges: ArrayLike, onto: ArrayLike) -> Floats:
    """Give the share of each layer that lies in each layer of another division of the soil.

    Parameters
    ----------
    edges : (n, 2) float
        Top and bottom of the layers that are divided, cm.
    onto : (m, 2) float
        Top and bottom of the layers they are laid onto, cm.

    Returns
    -------
    (m, n) float
        Between 0 and 1.
    """
    own, to = np.asarray(edges, float), np.asarray(onto, float)
    common = np.minimum(own[None, :, 1], to[:, None, 1])
    common -= np.maximum(own[None, :, 0], to[:, None, 0])
    return np.clip(common, 0.0, None) / (own[:, 1] - own[:, 0])[None, :]


def laid_onto(edges: ArrayLike, amount: ArrayLike, onto: ArrayLike) -> Floats:
    """Lay amounts of water onto other layers.

    Parameters
    ----------
    edges : (n, 2) float
        Top and bottom of the probe's layers, cm.
    amount : (n,) float
        Water of each, mm; NaN where not known.
    onto : (m, 2) float
        Layers wanted, cm.

    Returns
    -------
    (m,) float
        mm; NaN where a layer is not covered wholly by layers that are known.
    """
    values, to = np.asarray(amount, float), np.asarray(onto, float)
    known = np.isfinite(values)
    if not known.any():
        return np.full(len(to), np.nan)
    own = np.asarray(edges, float)[known]
    share = overlap(own, to)
    covered = share @ (own[:, 1] - own[:, 0])
    whole = covered >= (to[:, 1] - to[:, 0]) - 1e-6  # a hair below float noise in cm
    return np.where(whole, share @ values[known], np.nan)


def zone_sum(
    edges: ArrayLike, amount: ArrayLike, sd: ArrayLike, states: list[str],
    span: tuple[float, float],
) -> tuple[float, float]:  # fmt: skip
    """Sum a shortage between two depths, with its standard deviation.

    Errors of points seen in place are taken as independent and added in quadrature; those of
    a table err alike and are added as they are, as readiness does.

    Parameters
    ----------
    edges : (n, 2) float
        cm.
    amount, sd : (n,) float
        mm.
    states : list of str
        State of each layer's full point.
    span : (top, bottom)
        cm.

    Returns
    -------
    amount, sd : float
        mm; NaN where not every part is known.
    """
    total = float(laid_onto(edges, amount, [span])[0])
    if not np.isfinite(total):
        return np.nan, np.nan
    share = overlap(edges, [span])[0]
    spread = np.where(share > 0, share * np.asarray(sd, float), 0.0)
    own = np.array([one in IN_PLACE for one in states])
    return total, float(np.hypot(np.linalg.norm(spread[own]), spread[~own].sum()))


def footing(states: list[str]) -> Footing:
    """Say what several layers' full points rest on together."""
    if not states:
        return "not known"
    own = {one in IN_PLACE for one in states}
    return "mixed" if len(own) > 1 else ("in place" if own.pop() else "table")


def told_apart(
    apart_mm: Floats | float, one_sd_mm: Floats | float, other_sd_mm: Floats | float
) -> NDArray[np.bool_]:
    """Ask whether a difference lies beyond its own 8-in-10 interval.

    Errors of two probes are independent of each other. Arguments broadcast.
    """
    return np.abs(apart_mm) > EIGHT_IN_TEN * np.hypot(one_sd_mm, other_sd_mm)


def difference(
    one: tuple[float, float, Footing], other: tuple[float, float, Footing]
) -> Difference:
    """Compare two shortages.

    Parameters
    ----------
    one, other : (shortage_mm, sd_mm, footing)
        Over the same depths.

    Returns
    -------
    Difference
        ``one`` less ``other``; errors of two probes are independent of each other.
    """
    apart, sd = one[0] - other[0], float(np.hypot(one[1], other[1]))
    if not np.isfinite(apart) or not np.isfinite(sd):
        return Difference(difference_mm=np.nan, sd_mm=np.nan, verdict="not known")
    verdict: Verdict = "shorter" if apart > 0 else "less short"
    if one[2] != other[2]:
        verdict = "unlike"
    elif not told_apart(apart, one[1], other[1]):
        verdict = "not told apart"
    return Difference(difference_mm=apart, sd_mm=sd, verdict=verdict)
