"""The truth behind the demonstration: what every field really held, before any sensor."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from demo_data import SEED, START, TODAY
from demo_data.cases import CASES
from demo_data.district import DISTRICT, SITE_INDEX, depths_of, nearest_station
from demo_data.heat import (
    NODE_CM,
    STEPS_A_DAY,
    Singles,
    Snow,
    air_c,
    ice_share,
    snow_pack,
    soil_heat_k,
)
from demo_data.irrigation import irrigation_mm
from demo_data.rotations import Cover, Season, cover, seasons
from demo_data.soils import MIDS_CM, THICK_CM, TOPS_CM, Soil, soils
from demo_data.water_model import DAY_SHARE, ICE_BLOCKS, Flow, Forcing, run
from demo_data.weather import Weather, grow_weather, reference_et_mm

Floats = NDArray[np.float64]

MELT_SHARE = np.array([0, 0, 0, 0.2, 0.4, 0.3, 0.1, 0])
RESIDUE = 0.75  # stubble lets so much of the drying power reach a bare soil


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Truth:
    """Everything the simulation knows.

    Arrays by day are (days, sites) in mm; by step (three hours, local standard time, the state
    at the step's end) they are (steps, sites, ...). ``flow.water_mm`` holds the water of each
    5 cm slice; ``soil.full_mm`` and ``soil.wilt_mm`` its drained and wilting limits.
    """

    days: NDArray[np.datetime64]
    weather: Weather
    soil: Soil
    seasons: list[Season]
    cover: Cover
    rain_mm: Floats
    snow_mm: Floats
    irrigation_mm: Floats
    snow: Snow
    heat_k: Singles
    flow: Flow


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayerTruth:
    """One site's truth by sensor layer: ``water_mm`` (steps, k), the rest (k,)."""

    depths_cm: Floats
    tops_cm: Floats
    bottoms_cm: Floats
    water_mm: Floats
    full_mm: Floats
    wilt_mm: Floats


def layer_edges(depths_cm: Floats) -> tuple[Floats, Floats]:
    """Give tops and bottoms [cm] of sensor layers: midpoints, surface, half a spacing below."""
    middle = (depths_cm[:-1] + depths_cm[1:]) / 2
    last = depths_cm[-1] + (depths_cm[-1] - depths_cm[-2]) / 2
    return np.concatenate([[0.0], middle]), np.concatenate([middle, [last]])


def overlap_share(tops_cm: Floats, bottoms_cm: Floats) -> Floats:
    """Share of each slice that lies in each layer: (slices, layers), 0-1."""
    low = np.maximum(TOPS_CM[:, None], tops_cm[None, :])
    high = np.minimum(TOPS_CM[:, None] + THICK_CM, bottoms_cm[None, :])
    return np.maximum(high - low, 0.0) / THICK_CM


def layer_truth(truth: Truth, site: str) -> LayerTruth:
    """Sum a site's slices into the layers that its sensors speak for."""
    index = SITE_INDEX[site]
    depths = np.array(depths_of(DISTRICT[index]))
    tops, bottoms = layer_edges(depths)
    share = overlap_share(tops, bottoms)
    return LayerTruth(
        depths_cm=depths,
        tops_cm=tops,
        bottoms_cm=bottoms,
        water_mm=truth.flow.water_mm[:, index].astype(float) @ share,
        full_mm=truth.soil.full_mm[index] @ share,
        wilt_mm=truth.soil.wilt_mm[index] @ share,
    )


def zone_fill(truth: Truth, top_cm: float, bottom_cm: float, step: int = -1) -> Floats:
    """Share of the available water held in a zone at a step, each field (sites,)."""
    share = overlap_share(np.array([top_cm]), np.array([bottom_cm]))[:, 0]
    held = (truth.flow.water_mm[step] - truth.soil.wilt_mm) @ share
    return held / ((truth.soil.full_mm - truth.soil.wilt_mm) @ share)


def _field_precipitation(
    rng: np.random.Generator, weather: Weather, keep: slice, near: NDArray[np.int64]
) -> tuple[Floats, Floats]:
    """Give each field its own share of its station's rain and snow [mm]."""
    rain, snow = weather.rain_mm[keep][:, near], weather.snow_mm[keep][:, near]
    month = weather.days[keep].astype("datetime64[M]").astype(int) % 12
    patchy = np.where((month >= 4) & (month <= 8), 0.15, 0.04)[:, None]
    own = np.exp(patchy * rng.normal(0, 1, rain.shape))
    return (rain * own).round(1), (snow * own).round(1)


def _storm_shape(rng: np.random.Generator, days: int) -> Floats:
    """Share a day's rain among its steps (days, steps a day): one run of one to four steps."""
    first = rng.integers(0, STEPS_A_DAY, days)
    long = rng.integers(1, 5, days)
    step = np.arange(STEPS_A_DAY)[None, :]
    wet = (step >= first[:, None]) & (step < (first + long)[:, None])
    weight = wet * rng.uniform(0.3, 1.0, wet.shape)
    return weight / weight.sum(axis=1, keepdims=True)


def _supply_mm(
    rng: np.random.Generator,
    rain: Floats,
    melt: Floats,
    irrigation: Floats,
    near: NDArray[np.int64],
) -> Floats:
    """Spread what reaches the ground over the steps: (steps, sites) mm."""
    count, sites = rain.shape
    shapes = np.stack([_storm_shape(rng, count) for _ in range(int(near.max()) + 1)], axis=2)
    pivot = np.zeros((count, STEPS_A_DAY, sites))
    when = rng.integers(0, STEPS_A_DAY, (count, sites))
    np.put_along_axis(pivot, when[:, None, :], 1.0, axis=1)
    total = rain[:, None] * shapes[:, :, near] + irrigation[:, None] * pivot
    return (total + melt[:, None] * MELT_SHARE[None, :, None]).reshape(-1, sites)


def _heat(
    weather: Weather, keep: slice, near: NDArray[np.int64], snow: Snow, crop: Cover
) -> Singles:
    tmin, tmax = weather.tmin_c[keep][:, near], weather.tmax_c[keep][:, near]
    sun = weather.rs_mj_m2[keep][:, near] / 30.0
    bare = air_c(tmin + 0.3, tmax + 3.0 * sun)
    swe = np.repeat(snow.lying_mm, STEPS_A_DAY, axis=0)
    shade = np.repeat(np.clip(crop.kc, 0, 1), STEPS_A_DAY, axis=0)
    shield = 1 - (1 - 0.45 * shade) * (1 - 0.75 * swe / (swe + 14.0))
    return soil_heat_k(np.where(swe > 1, np.minimum(bare, 0.0), bare), shield, start_c=7.0)


def _start_mm(rng: np.random.Generator, soil: Soil) -> Floats:
    """Draw the water at the start: a usual early March, the never-full field dry beneath."""
    share = rng.uniform(0.45, 0.75, (len(DISTRICT), 1)) * np.ones_like(soil.full_mm)
    share[SITE_INDEX[CASES["never_full"].site], MIDS_CM > 70] = 0.12
    return soil.wilt_mm + share * (soil.full_mm - soil.wilt_mm)


def _forcing(
    eto: Floats, crop: Cover, snow: Snow, supply: Floats, heat: Singles,
) -> Forcing:  # fmt: skip
    shade = np.clip(crop.kc / 1.15, 0, 1)
    bare = np.where(snow.lying_mm > 1, 0.1, (1 - shade) * np.where(crop.growing, 1, RESIDUE))
    share = DAY_SHARE[None, :, None]
    sites = eto.shape[1]
    blocked = np.repeat(ice_share(heat)[..., : int(130 / NODE_CM)] > ICE_BLOCKS, 2, axis=2)
    return Forcing(
        supply_mm=supply,
        evaporation_mm=((eto * bare)[:, None] * share).reshape(-1, sites),
        uptake_mm=((eto * crop.kc)[:, None] * share).reshape(-1, sites),
        roots_cm=crop.roots_cm,
        blocked=blocked,
    )


def simulate(seed: int = SEED, *, days: int | None = None) -> Truth:
    """Grow the district's true water and heat.

    Parameters
    ----------
    seed : int
        Same seed, same truth.
    days : int, optional
        Only so many days from the start of the record (tests); all by default.
    """
    streams = [np.random.default_rng(s) for s in np.random.SeedSequence(seed).spawn(6)]
    weather = grow_weather(streams[0])
    soil, rows = soils(streams[1]), seasons(streams[2])
    whole = (TODAY - START).days + 1
    first = int((np.datetime64(START) - weather.days[0]).astype(int))
    keep = slice(first, first + min(whole, days or whole))
    near = np.array([nearest_station(plot) for plot in DISTRICT])
    crop = cover(weather.days[keep], rows)
    rain, fallen = _field_precipitation(streams[3], weather, keep, near)
    tmin, tmax = weather.tmin_c[keep][:, near], weather.tmax_c[keep][:, near]
    snow = snow_pack(fallen, tmax, (tmin + tmax) / 2)
    eto = reference_et_mm(weather)[keep][:, near]
    irrigation = irrigation_mm(weather.days[keep], rain, eto * crop.kc, crop)
    heat = _heat(weather, keep, near, snow, crop)
    supply = _supply_mm(streams[4], rain, snow.melt_mm, irrigation, near)
    forcing = _forcing(eto, crop, snow, supply, heat)
    return Truth(
        days=weather.days[keep], weather=weather, soil=soil, seasons=rows, cover=crop,
        rain_mm=rain, snow_mm=fallen, irrigation_mm=irrigation, snow=snow, heat_k=heat,
        flow=run(soil, forcing, _start_mm(streams[5], soil)),
    )  # fmt: skip
