"""Daily water balances: a bare, layered soil before planting, and a crop's root zone.

In both, water arrives early in the day: what is too much drains before anything is taken.
FAO-56 Eq. 85 and 88 read literally take evapotranspiration first; the printed Example 38
follows the convention used here.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from analytics.model import Bools, Floats, Layer
from analytics.settings import Settings
from analytics.soil.profile import MM_PER_CM
from analytics.water.surface import depletion_of, evaporate, reach, take


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Soil:
    """The points of one site's layers as water, and its surface.

    ``full_mm``, ``lower_mm`` and ``thick_mm`` are (k,), shallowest first. ``rew_mm`` and
    ``tew_mm`` are the readily and totally evaporable water of the surface layer (FAO-56).
    Of several sites :func:`abreast` all have axes for site and year before these.
    """

    full_mm: Floats
    lower_mm: Floats
    thick_mm: Floats
    rew_mm: float | Floats
    tew_mm: float | Floats


class Weather(NamedTuple):
    """Days of weather, one row a year, each (Y, D); water in mm, ``frozen`` a flag."""

    water_mm: Floats
    eto_mm: Floats
    frozen: Bools


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Run:
    """Where a balance went: ``layers_mm`` at each day's end, and what left over the span.

    Of sites abreast all but the last have an axis of sites first.
    """

    layers_mm: Floats  # (Y, D, k)
    evaporated_mm: Floats  # (Y,)
    drained_mm: Floats  # (Y,)
    surface_mm: Floats  # (Y,) still lying frozen on the ground at the end


# FAO-56 Table 19: middle of the printed range of readily evaporable water, mm.
REW_MM = {
    "sand": 4.5, "loamy sand": 6.0, "sandy loam": 8.0, "loam": 9.0, "silt loam": 9.5,
    "silt": 9.5, "silty clay loam": 9.5, "silty clay": 10.0, "clay": 10.0,
}  # fmt: skip
REW_OTHER_MM = 9.0  # no row in Table 19: as loam; ours


def soil_of(layers: tuple[Layer, ...], full: Floats, lower: Floats, settings: Settings) -> Soil:
    """Turn a site's points into the water its layers and its surface can hold.

    Parameters
    ----------
    layers : tuple of k Layer
    full, lower : (k,) float
        m3/m3.
    settings : Settings
        Uses surface_cm.

    Returns
    -------
    Soil
        Evaporable water by FAO-56 Eq. 73, TEW = 1000 (full - 0.5 lower) Ze, from the site's
        own top layer; the readily evaporable part by texture (Table 19).
    """
    thick = np.array([MM_PER_CM * one.thickness_cm for one in layers], np.float64)
    tew = float((full[0] - 0.5 * lower[0]) * MM_PER_CM * settings.surface_cm)
    name = " ".join((layers[0].texture or "").replace("_", " ").lower().split())
    rew = REW_MM.get(name, REW_OTHER_MM)
    return Soil(
        full_mm=full * thick, lower_mm=lower * thick, thick_mm=thick,
        rew_mm=min(rew, tew), tew_mm=tew,
    )  # fmt: skip


def abreast(soils: Sequence[Soil]) -> Soil:
    """Lay the soils of S sites, each of k layers, side by side: (S, 1, k) and (S, 1)."""
    return Soil(
        full_mm=np.stack([one.full_mm for one in soils])[:, None],
        lower_mm=np.stack([one.lower_mm for one in soils])[:, None],
        thick_mm=np.stack([one.thick_mm for one in soils])[:, None],
        rew_mm=np.array([[one.rew_mm] for one in soils]),
        tew_mm=np.array([[one.tew_mm] for one in soils]),
    )


def bare_soil(start_mm: Floats, soil: Soil, weather: Weather, settings: Settings) -> Run:
    """Run the days before planting through a bare, layered soil, all years at once.

    Parameters
    ----------
    start_mm : (k,) or (Y, k) float
        Water of each layer at the start; (S, 1, k) of sites abreast.
    soil : Soil
    weather : Weather
        (Y, D) each.
    settings : Settings
        Uses bare_kc, snow_kc, surface_cm.

    Returns
    -------
    Run

    Notes
    -----
    Each day, in this order: what falls on a frozen day lies on the surface and loses snow_kc
    x ETo; on the first day that is not frozen it enters with that day's water. Water fills
    the layers from the top, each to its full point before any passes on, within the day;
    what leaves the bottom has drained. Then the surface dries by the two-stage dual-Kc form
    (FAO-56 Eq. 71-77, Kcb = 0, so that Ke max = bare_kc), out of the layers within
    surface_cm. Runoff, upward flow from below and weeds are left out; how far that matters
    shows in the outlook's own grade.
    """
    years, days = weather.water_mm.shape
    shape = np.broadcast_shapes(np.shape(start_mm), soil.full_mm.shape, (years, 1))
    water = np.broadcast_to(np.asarray(start_mm, np.float64), shape).copy()
    reached = reach(soil.lower_mm, soil.thick_mm, settings.surface_cm * MM_PER_CM)
    depletion = depletion_of(water, soil.full_mm, reached, soil.tew_mm)
    path = np.empty((*shape[:-1], days, shape[-1]))
    lying, lost, drained = np.zeros(years), np.zeros(shape[:-1]), np.zeros(shape[:-1])
    for day in range(days):
        frozen, eto = weather.frozen[:, day], weather.eto_mm[:, day]
        lying = lying + weather.water_mm[:, day]
        sublimed = np.where(frozen, np.minimum(lying, settings.snow_kc * eto), 0.0)
        entering = np.where(frozen, 0.0, lying)
        lying = lying - sublimed - entering
        water, through = cascade(water, soil.full_mm, entering)
        dried = evaporate(
            depletion, entering, np.where(frozen, 0.0, eto), kc_max=settings.bare_kc,
            rew_mm=soil.rew_mm, tew_mm=soil.tew_mm,
        )  # fmt: skip
        depletion = dried.depletion_mm
        water, gone = take(water, dried.evaporated_mm, reached)
        path[..., day, :] = water
        lost, drained = lost + sublimed + gone, drained + through
    return Run(layers_mm=path, evaporated_mm=lost, drained_mm=drained, surface_mm=lying)


def cascade(water_mm: Floats, full_mm: Floats, entering_mm: Floats) -> tuple[Floats, Floats]:
    """Let water down through the layers, each filled to its full point first.

    Parameters
    ----------
    water_mm : (..., Y, k) float
        A layer above its full point gives off what is too much.
    full_mm : (k,) float, or with the axes of the water
    entering_mm : (Y,) float
        Not negative.

    Returns
    -------
    water_mm : (..., Y, k) float
    drained_mm : (..., Y) float
        What left the bottom layer.

    Notes
    -----
    With room r = full - water, what passes layer j is max(0, what passes j - 1 less r_j). Its
    closed form, S_j - min(0, S_1, ..., S_j) with S_j = entering - (r_1 + ... + r_j), spares
    the loop over layers.
    """
    entering = np.broadcast_to(entering_mm, water_mm.shape[:-1])[..., None]
    left = entering - np.cumsum(full_mm - water_mm, axis=-1)
    passing = left - np.minimum(np.minimum.accumulate(left, axis=-1), 0.0)
    above = np.concatenate([entering, passing[..., :-1]], axis=-1)
    return water_mm + above - passing, passing[..., -1]


class RootZone(NamedTuple):
    """One crop's root zone day by day, each (..., D) mm."""

    start_mm: Floats
    end_mm: Floats
    drained_mm: Floats
    stress: Floats  # Ks, 1
    taken_mm: Floats  # ETc adjusted
    given_mm: Floats  # of what was offered


def root_zone(
    depletion_mm: float | Floats,
    water_mm: Floats,
    crop_mm: Floats,
    *,
    available_mm: Floats,
    ready_mm: Floats,
    entering_mm: Floats | None = None,
    offered_mm: Floats | None = None,
) -> RootZone:
    """Run a crop's root-zone depletion by day (FAO-56 Eq. 82-88).

    Parameters
    ----------
    depletion_mm : (...) float
        Dr at the end of the day before.
    water_mm, crop_mm : (..., D) float
        Rain and irrigation that enter early in the day; ETc without stress.
    available_mm, ready_mm : (..., D) float
        TAW and RAW of each day's root depth.
    entering_mm : (..., D) float, optional
        Depletion of the subsoil that roots grow into on the day, 1000 (full - theta) dZr
        (Example 38, note 5): the *measured* subsoil enters here. Nought when left out.
    offered_mm : (..., D) float, optional
        What a source could give on the day; no more is given than there is room for.

    Returns
    -------
    RootZone
        Water enters and drains before the crop takes its share (Example 38 as printed); the
        stress coefficient is that of the depletion at the start of the day (Eq. 84).
    """
    none = np.zeros(1)
    parts = (water_mm, crop_mm, available_mm, ready_mm,
             none if entering_mm is None else entering_mm,
             none if offered_mm is None else offered_mm)  # fmt: skip
    water, crop, available, ready, grown, offered = np.broadcast_arrays(*parts)
    first = np.asarray(depletion_mm, np.float64)
    shape = np.broadcast_shapes(first.shape, water.shape[:-1])
    depletion = np.broadcast_to(first, shape)
    out = np.empty((6, *shape, water.shape[-1]))
    for day in range(water.shape[-1]):
        before = depletion + grown[..., day] - water[..., day]
        drained, start = np.maximum(-before, 0.0), np.maximum(before, 0.0)
        given = np.minimum(offered[..., day], start)
        start = start - given
        taw, raw = available[..., day], ready[..., day]
        stress = np.clip((taw - start) / np.maximum(taw - raw, _TINY), 0.0, 1.0)
        stress = np.where(start <= raw, 1.0, stress)
        taken = np.minimum(stress * crop[..., day], np.maximum(taw - start, 0.0))
        depletion = np.minimum(start + taken, np.maximum(taw, start))
        out[..., day] = np.stack([start, depletion, drained, stress, taken, given])
    return RootZone(*out)


_TINY = float(np.finfo(float).tiny)
