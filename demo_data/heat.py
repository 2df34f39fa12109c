"""Snow on the ground and heat in it: how cold each depth is, how much water is ice."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

STEP_H = 3
STEPS_A_DAY = 24 // STEP_H
NODE_CM = 10.0
NODES = 20
NODE_MIDS_CM = (np.arange(NODES) + 0.5) * NODE_CM
DIFFUSIVITY_M2_S = 0.30e-6
LATENT_K = 26.0  # freezing takes as much heat as cooling the soil by so many degrees
FREEZE_BAND_K = 0.5  # soil water freezes little by little over this band below 0 C


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Snow:
    """Snow by day and site (days, sites) [mm of water]: what lies at day's end, what melts."""

    lying_mm: Floats
    melt_mm: Floats


def snow_pack(snow_mm: Floats, tmax_c: Floats, tmean_c: Floats) -> Snow:
    """Keep a degree-day snow pack: snow falls first, then up to 4 mm a degree and day melts."""
    lying, melt = np.zeros_like(snow_mm), np.zeros_like(snow_mm)
    warm = 4.0 * np.maximum(0.6 * tmean_c + 0.4 * tmax_c - 0.8, 0.0)
    pack = np.zeros(snow_mm.shape[1])
    for day in range(len(snow_mm)):
        pack = pack + snow_mm[day]
        melt[day] = np.minimum(pack, warm[day])
        pack = pack - melt[day]
        lying[day] = pack
    return Snow(lying_mm=lying, melt_mm=melt)


def air_c(tmin_c: Floats, tmax_c: Floats) -> Floats:
    """Spread daily extremes (days, sites) over the steps of the day (steps, sites)."""
    hour = (np.arange(STEPS_A_DAY) + 0.5) * STEP_H
    wave = np.cos(2 * np.pi * (hour - 15) / 24)
    mean, half = (tmin_c + tmax_c) / 2, (tmax_c - tmin_c) / 2
    return (mean[:, None] + wave[None, :, None] * half[:, None]).reshape(-1, tmin_c.shape[1])


def temperature_c(heat_k: Singles) -> Singles:
    """Turn heat content [K above freezing point] into temperature [C]."""
    band = np.clip(heat_k, -LATENT_K, 0) * np.float32(FREEZE_BAND_K / LATENT_K)
    return np.maximum(heat_k, 0) + band + np.minimum(heat_k + np.float32(LATENT_K), 0)


def ice_share(heat_k: Singles) -> Singles:
    """Turn heat content into the share of the freezable water that is ice (0-1)."""
    return np.clip(heat_k * np.float32(-1 / LATENT_K), 0, 1)


def soil_heat_k(surface_c: Floats, cover_share: Floats, start_c: float) -> Singles:
    """March heat down (steps, sites, nodes): explicit diffusion with freezing.

    Parameters
    ----------
    surface_c : (steps, sites) float
        Temperature of the bare surface.
    cover_share : (steps, sites) float
        How much snow and canopy shield the surface (0 bare, 1 wholly).
    start_c : float
        Temperature of the whole profile at the start.
    """
    steps, sites = surface_c.shape
    pace = np.float32(DIFFUSIVITY_M2_S * STEP_H * 3600 / (NODE_CM / 100) ** 2)
    out = np.empty((steps, sites, NODES), np.float32)
    heat: Singles = np.full((sites, NODES), start_c, np.float32)
    edges = np.empty((sites, NODES + 1), np.float32)
    surface, share = surface_c.astype(np.float32), cover_share.astype(np.float32)
    for step in range(steps):
        temp = temperature_c(heat)
        first = temp[:, 0]
        edges[:, 0] = 2 * (surface[step] - first) * (1 - share[step])
        np.subtract(temp[:, :-1], temp[:, 1:], out=edges[:, 1:-1])
        edges[:, -1] = 0.0
        heat += pace * (edges[:, :-1] - edges[:, 1:])
        out[step] = heat
    return out
