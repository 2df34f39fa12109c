"""Which slice of soil each sensor speaks for, and the water in layers and zones."""

from collections.abc import Iterable
from itertools import pairwise

import numpy as np

from analytics.errors import InputRefused
from analytics.model import Floats, Layer

MM_PER_CM = 10.0


def resolve_layers(
    site: str, depths_cm: Floats, layers: tuple[Layer, ...], soil: str | None
) -> tuple[Layer, ...]:
    """Give every sensor its layer.

    A layer reaches to the midpoints between sensors; the first starts at the surface, the last
    ends half the last spacing below its sensor. A lone sensor speaks for the soil from the
    surface to twice its depth. A top or bottom in the layer table overrides, texture falls back
    on the field's soil, points known beforehand are kept.

    Parameters
    ----------
    site : str
    depths_cm : (k,) float
        Sensor depths, ascending.
    layers : tuple of Layer
        Rows of the layer table, of any site; NaN top or bottom where it names none.
    soil : str or None
        The field's texture class.

    Returns
    -------
    tuple of k Layer

    Raises
    ------
    InputRefused
        When a layer would end where it starts, or above.
    """
    given = {round(one.depth_cm, 2): one for one in layers if one.site == site}
    edges = _edges(np.asarray(depths_cm, np.float64))
    return tuple(
        _layer(
            site,
            float(depth),
            (float(top), float(bottom)),
            given.get(round(float(depth), 2)),
            soil,
        )
        for depth, (top, bottom) in zip(depths_cm, pairwise(edges), strict=True)
    )


def _edges(depths_cm: Floats) -> Floats:
    if not len(depths_cm):
        return np.zeros(1)
    middles = (depths_cm[1:] + depths_cm[:-1]) / 2
    half = depths_cm[-1] - middles[-1] if len(middles) else depths_cm[-1]
    return np.r_[0.0, middles, depths_cm[-1] + half]


def _layer(
    site: str,
    depth_cm: float,
    between: tuple[float, float],
    given: Layer | None,
    soil: str | None,
) -> Layer:
    if given is None:
        top, bottom = between
        return Layer(site=site, depth_cm=depth_cm, top_cm=top, bottom_cm=bottom, texture=soil)
    top, bottom = (
        own if own is not None and np.isfinite(own) else midpoint
        for own, midpoint in zip((given.top_cm, given.bottom_cm), between, strict=True)
    )
    if not top < bottom:
        where = f"layers: site {site!r}, depth {depth_cm:g} cm"
        found = f"the layer goes from {top:g} to {bottom:g} cm."
        raise InputRefused(where, found, "Give a bottom_cm that is deeper than top_cm.")
    return Layer(
        site=site, depth_cm=depth_cm, top_cm=top, bottom_cm=bottom,
        texture=given.texture or soil, full=given.full, refill=given.refill, lower=given.lower,
        limits_from=given.limits_from, limits_by=given.limits_by,
        sand=given.sand, silt=given.silt, clay=given.clay,
    )  # fmt: skip


def thickness_mm(layers: Iterable[Layer]) -> Floats:
    """Thickness of each layer, (k,) mm."""
    return np.array([MM_PER_CM * one.thickness_cm for one in layers], np.float64)


def layer_water_mm(theta: Floats, layers: Iterable[Layer]) -> Floats:
    """Water of each layer: volumetric content times thickness.

    Parameters
    ----------
    theta : (..., k) float
        m3/m3.
    layers : k Layer

    Returns
    -------
    (..., k) float
        mm; NaN where theta is.
    """
    return np.asarray(theta) * thickness_mm(layers)


def zone_weights(
    layers: tuple[Layer, ...],
    split_cm: float,
    floor_cm: float | None = None,
    *,
    root_limit_cm: float | None = None,
) -> dict[str, Floats]:
    """Share each layer out to the zones by thickness.

    Every zone ends at a layer that roots cannot pass: the water beneath it is no store for a
    crop (FAO-56, Eq. 82, counts the depth that roots reach).

    Parameters
    ----------
    layers : k Layer
    split_cm : float
        Depth that parts the upper zone from the deep one.
    floor_cm : float, optional
        A crop's root depth; the deep zone ends there, or at the bottom of the probe when that
        is less. The whole profile is not cut by it.
    root_limit_cm : float, optional
        Depth of a layer that no root can pass.

    Returns
    -------
    dict of str to (k,) float
        ``upper``, ``deep`` and ``profile``: the share, 0 to 1, of the layer inside the zone.
    """
    deepest = floor_of(layers, root_limit_cm)
    floor = deepest if floor_cm is None else min(floor_cm, deepest)
    return {
        "upper": _inside(layers, 0.0, min(split_cm, deepest)),
        "deep": _inside(layers, split_cm, max(floor, split_cm)),
        "profile": _inside(layers, 0.0, deepest),
    }


def floor_of(layers: tuple[Layer, ...], root_limit_cm: float | None) -> float:
    """Give the depth [cm] at which the profile ends: where the probe does, or roots must."""
    deepest = max((one.bottom_cm for one in layers), default=0.0)
    return deepest if root_limit_cm is None else min(root_limit_cm, deepest)


def _inside(layers: tuple[Layer, ...], top_cm: float, bottom_cm: float) -> Floats:
    return np.array(
        [
            max(0.0, min(one.bottom_cm, bottom_cm) - max(one.top_cm, top_cm)) / one.thickness_cm
            for one in layers
        ],
        np.float64,
    )


def zone_sum(values: Floats, weights: Floats) -> Floats:
    """Sum layers into a zone, unknown as soon as any layer of the zone is.

    Parameters
    ----------
    values : (..., k) float
        Such as mm of water a layer.
    weights : (k,) float
        Of :func:`zone_weights`.

    Returns
    -------
    (...) float
        NaN where a layer with a weight is NaN, and for a zone without layers.
    """
    counted = weights > 0
    total = (np.asarray(values)[..., counted] * weights[counted]).sum(axis=-1)
    return total if counted.any() else np.full_like(total, np.nan)


def zone_sum_seen(
    values: Floats, weights: Floats, layers: tuple[Layer, ...]
) -> tuple[Floats, Floats]:
    """Sum the layers that were seen, and tell how much of the zone that is.

    Whoever shows the sum shows the share beside it: a sum over part of a zone is no zone sum.

    Parameters
    ----------
    values : (..., k) float
    weights : (k,) float
    layers : k Layer

    Returns
    -------
    total : (...) float
        Over the layers seen; NaN where none was.
    seen : (...) float
        Share of the zone's thickness seen, 0 to 1; NaN for a zone without layers.
    """
    there = np.isfinite(values)
    part = weights * thickness_mm(layers)
    whole = float(part.sum())
    seen = (there * part).sum(axis=-1) / whole if whole > 0 else there.sum(axis=-1) * np.nan
    total = (np.where(there, values, 0.0) * weights).sum(axis=-1)
    return np.where(seen > 0, total, np.nan), np.asarray(seen)
