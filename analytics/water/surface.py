"""What dries the soil's surface: the two-stage evaporation of FAO-56's dual coefficient."""

from typing import NamedTuple

import numpy as np

from analytics.model import Floats


class Drying(NamedTuple):
    """One day of the surface layer, each of the shape that went in."""

    depletion_mm: Floats
    evaporated_mm: Floats
    drained_mm: Floats
    kr: Floats
    ke: Floats


def evaporate(
    depletion_mm: Floats,
    water_mm: Floats,
    eto_mm: Floats,
    *,
    kc_max: float | Floats,
    rew_mm: float | Floats,
    tew_mm: float | Floats,
    kcb: float | Floats = 0.0,
    wet_share: float | Floats = 1.0,
) -> Drying:
    """Dry the surface layer for one day (FAO-56 Eq. 71, 74, 77, 79).

    Parameters
    ----------
    depletion_mm : (...) float
        De of the wetted soil at the end of the day before.
    water_mm : (...) float
        What reaches the wetted soil, early in the day.
    eto_mm : (...) float
    kc_max, kcb : float
        Upper limit of crop and soil together; what the crop takes (nought on bare soil).
    rew_mm, tew_mm : float
        Readily and totally evaporable water.
    wet_share : float
        Share of the ground both wet and exposed (few).

    Returns
    -------
    Drying
        ``evaporated_mm`` is over all the ground, ``drained_mm`` out of the wetted soil.
    """
    wet = np.asarray(depletion_mm, np.float64) - water_mm
    drained, start = np.maximum(-wet, 0.0), np.maximum(wet, 0.0)
    slope = np.maximum(np.subtract(tew_mm, rew_mm), np.finfo(float).tiny)
    kr = np.where(start <= rew_mm, 1.0, np.clip((tew_mm - start) / slope, 0.0, 1.0))
    ke = np.minimum(kr * (kc_max - np.asarray(kcb)), np.asarray(wet_share) * kc_max)
    out = np.minimum(ke * eto_mm, (tew_mm - start) * wet_share)
    out = np.maximum(out, 0.0)
    return Drying(start + out / wet_share, out, drained, kr, ke)


class Reach(NamedTuple):
    """The layers that evaporation reaches: share of each within the surface, driest water."""

    share: Floats  # (..., s) 0 to 1
    floor_mm: Floats  # (..., s) what cannot evaporate; without bound where the share is nought


def reach(lower_mm: Floats, thick_mm: Floats, surface_mm: float) -> Reach:
    """Tell which layers lie within the surface layer and how dry evaporation may leave them.

    The part within the surface may fall to half the lower point (FAO-56 Eq. 73), the rest of
    the layer to the lower point.
    """
    tops = np.cumsum(np.insert(thick_mm, 0, 0.0, axis=-1), axis=-1)[..., :-1]
    share = np.clip((surface_mm - tops) / thick_mm, 0.0, 1.0)
    s = int((share > 0).sum(axis=-1).max())  # layers within the surface are the topmost
    share = share[..., :s]
    floor = np.where(share > 0, lower_mm[..., :s] * (1.0 - 0.5 * share), np.inf)
    return Reach(share, floor)


def depletion_of(
    water_mm: Floats, full_mm: Floats, reached: Reach, tew_mm: float | Floats
) -> Floats:
    """Read the surface's depletion from the layers, each as evenly moist, (..., Y) mm."""
    s = reached.share.shape[-1]
    short = ((full_mm[..., :s] - water_mm[..., :s]) * reached.share).sum(axis=-1)
    return np.clip(short, 0.0, tew_mm)


def take(water_mm: Floats, mm: Floats, reached: Reach) -> tuple[Floats, Floats]:
    """Take water out of the surface's layers, topmost first, never below their floor.

    Parameters
    ----------
    water_mm : (..., Y, k) float
    mm : (..., Y) float
    reached : Reach

    Returns
    -------
    water_mm : (..., Y, k) float
    taken_mm : (..., Y) float
    """
    out, left = water_mm.copy(), mm.copy()
    for layer, floor in enumerate(np.moveaxis(reached.floor_mm, -1, 0)):
        here = np.minimum(left, np.maximum(out[..., layer] - floor, 0.0))
        out[..., layer] -= here
        left -= here
    return out, mm - left
