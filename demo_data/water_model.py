"""The soil's water, slice by slice in three-hour steps, for all fields at once.

A model of its own: a wetting soaks in as a front, what lies above a slice's drained limit moves
down at a pace that grows with the excess, the top dries, roots drink by day, ice blocks.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from demo_data.heat import STEP_H, STEPS_A_DAY
from demo_data.soils import MIDS_CM, SLICES, Soil

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]

FRONT_CM = 30.0  # a front soaks in no deeper than this in one step
FRONT_SHARE = 0.55  # of the pores above the drained limit that a front fills
POND_MM, POND_FROZEN_MM = 3.0, 12.0
ICE_BLOCKS = 0.35
SPAN = 0.17  # excess [m3/m3] at which drainage has its full pace
LEAST_ROOTED = 0.9
ROOTS_THIN = 3.2  # the larger, the fewer roots near their tip
_FRONT = (MIDS_CM < FRONT_CM).astype(float)
_DRY_SHARE = np.exp(-MIDS_CM / 6.0) * (MIDS_CM < 25)
_DRY_SHARE = _DRY_SHARE / _DRY_SHARE.sum()
DAY_SHARE = np.array([0, 0, 0.05, 0.24, 0.36, 0.27, 0.08, 0])
"""Share of a day's demand that falls in each step; none at night."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Forcing:
    """What drives the water: (steps, sites) mm a step, ice (steps, sites, slices) as bool."""

    supply_mm: Floats
    evaporation_mm: Floats
    uptake_mm: Floats
    roots_cm: Floats  # (days, sites)
    blocked: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Flow:
    """What came of it. ``water_mm`` (steps, sites, slices); the rest (steps, sites) [mm]."""

    start_mm: Floats  # (sites, slices)
    end_mm: Floats  # (sites, slices), unrounded
    water_mm: Singles
    drainage_mm: Floats
    runoff_mm: Floats
    et_mm: Floats
    ponded_mm: Floats  # (sites,) at the end


def root_share(roots_cm: Floats) -> Floats:
    """Share roots among the slices (sites, slices): denser above, none below their tip."""
    reach = np.maximum(roots_cm, 1.0)[:, None]
    dense = np.exp(-ROOTS_THIN * MIDS_CM / reach) * (reach > MIDS_CM)
    total = dense.sum(axis=1, keepdims=True)
    return np.where(roots_cm[:, None] > 0, dense / np.maximum(total, 1e-9), 0.0)


def soak(room: Floats, supply: Floats) -> Floats:
    """Fill the room of the slices from the top with the supply; give what each took [mm]."""
    above = np.cumsum(room, axis=1) - room
    return np.minimum(np.maximum(supply[:, None] - above, 0.0), room)


def infiltrate(
    water: Floats, soil: Soil, front_mm: Floats, offered: Floats, open_: Floats
) -> tuple[Floats, Floats, Floats]:
    """Let what is offered soak in above any ice; the rest waits on the ground or runs off.

    Gives what each slice took (sites, slices), what waits and what ran off (sites,) [mm].
    """
    clear: Floats = np.cumprod(open_, axis=1, dtype=float)
    room = np.maximum(front_mm - water, 0.0) * _FRONT * clear
    taken = soak(room, np.minimum(offered, soil.intake_mm))
    rest = offered - taken.sum(axis=1)
    hard = (open_[:, :3] == 0).any(axis=1)
    waits = np.minimum(rest, np.where(hard, POND_FROZEN_MM, POND_MM))
    return taken, waits, rest - waits


def drain(water: Floats, soil: Soil, pace: Floats, open_: Floats) -> Floats:
    """Give what leaves each slice downwards in a step [mm]; ice here or below stops it."""
    excess = np.maximum(water - soil.full_mm, 0.0)
    speed = pace * np.sqrt(excess)
    out = excess * speed / (1.0 + speed) * open_
    room = np.maximum(soil.sat_mm - water, 0.0) * open_
    np.minimum(out[:, :-1], room[:, 1:], out=out[:, :-1])
    return out


def drink(
    water: Floats, soil: Soil, roots: Floats, *, air_mm: Floats, crop_mm: Floats, open_: Floats
) -> Floats:
    """Give what sun and roots take from each slice in a step [mm]."""
    damp = np.clip((water - soil.dry_mm) / (soil.full_mm - soil.dry_mm), 0.0, 1.0)
    dried = air_mm[:, None] * _DRY_SHARE * damp * damp * open_
    ease = np.clip((water - soil.wilt_mm) / (0.45 * (soil.full_mm - soil.wilt_mm)), 0.0, 1.0)
    rooted = roots * ease * open_
    pull = crop_mm / np.maximum(rooted.sum(axis=1), LEAST_ROOTED)
    wanted = np.minimum(pull[:, None] * rooted, np.maximum(water - soil.wilt_mm, 0.0))
    return np.minimum(dried + wanted, np.maximum(water - soil.dry_mm, 0.0))


def run(soil: Soil, forcing: Forcing, start_mm: Floats) -> Flow:
    """March the water of every field through all steps."""
    steps, sites = forcing.supply_mm.shape
    stored = np.empty((steps, sites, SLICES), np.float32)
    drained, ran, used = (np.zeros((steps, sites)) for _ in range(3))
    front_mm = soil.full_mm + FRONT_SHARE * (soil.sat_mm - soil.full_mm)
    pace = STEP_H / soil.drain_h / np.sqrt(SPAN * 50.0)
    water, pond = start_mm.copy(), np.zeros(sites)
    roots = root_share(forcing.roots_cm[0])
    for step in range(steps):
        if step % STEPS_A_DAY == 0:
            roots = root_share(forcing.roots_cm[step // STEPS_A_DAY])
        open_ = np.where(forcing.blocked[step], 0.0, 1.0)
        offered = pond + forcing.supply_mm[step]
        if offered.any():
            taken, pond, ran[step] = infiltrate(water, soil, front_mm, offered, open_)
            water += taken
        moved = drain(water, soil, pace, open_)
        water -= moved
        water[:, 1:] += moved[:, :-1]
        drained[step] = moved[:, -1]
        if DAY_SHARE[step % STEPS_A_DAY]:
            gone = drink(
                water, soil, roots, open_=open_, air_mm=forcing.evaporation_mm[step],
                crop_mm=forcing.uptake_mm[step],
            )  # fmt: skip
            water -= gone
            used[step] = gone.sum(axis=1)
        stored[step] = water
    return Flow(
        start_mm=start_mm, end_mm=water, water_mm=stored, drainage_mm=drained, runoff_mm=ran,
        et_mm=used, ponded_mm=pond,
    )  # fmt: skip
