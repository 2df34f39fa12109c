"""The soil of each field on the simulation's own grid of thin layers."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from demo_data.district import DISTRICT, Plot

Floats = NDArray[np.float64]

THICK_CM = 5.0
SLICES = 26
TOPS_CM = np.arange(SLICES) * THICK_CM
MIDS_CM = TOPS_CM + THICK_CM / 2
THICK_MM = THICK_CM * 10.0

#: texture -> drained, wilting, saturated [m3/m3]; drainage time [h]; intake [mm in 3 h]
TEXTURES: dict[str, tuple[float, float, float, float, float]] = {
    "sandy loam": (0.215, 0.095, 0.42, 1.0, 48.0),
    "loam": (0.26, 0.115, 0.45, 1.5, 38.0),
    "silt loam": (0.30, 0.13, 0.47, 2.0, 30.0),
    "clay loam": (0.335, 0.19, 0.48, 3.0, 20.0),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Soil:
    """Every field's soil: arrays (sites, slices) in mm of water a slice, unless said.

    ``drain_h`` is the time scale of drainage [h]; ``intake_mm`` (sites,) the most that the
    surface takes in three hours.
    """

    full_mm: Floats
    wilt_mm: Floats
    sat_mm: Floats
    dry_mm: Floats
    drain_h: Floats
    intake_mm: Floats


def textures_of(plot: Plot) -> list[str]:
    """Name the texture of each slice of a field's profile, top down."""
    return [plot.texture if mid < plot.change_cm else plot.subsoil for mid in MIDS_CM.tolist()]


def texture_at(plot: Plot, depth_cm: float) -> str:
    """Name the texture at a depth of a field's profile."""
    return plot.texture if depth_cm < plot.change_cm else plot.subsoil


def soils(rng: np.random.Generator) -> Soil:
    """Draw the district's soils: textbook values, each field and slice a little its own."""
    table = np.array([[TEXTURES[name] for name in textures_of(plot)] for plot in DISTRICT])
    shape = table.shape[:2]
    own = rng.normal(0.0, 0.010, (shape[0], 1)) + rng.normal(0.0, 0.005, shape)
    full = table[..., 0] + own
    wilt = table[..., 1] + 0.5 * own
    return Soil(
        full_mm=full * THICK_MM,
        wilt_mm=wilt * THICK_MM,
        sat_mm=table[..., 2] * THICK_MM,
        dry_mm=0.4 * wilt * THICK_MM,
        drain_h=table[..., 3],
        intake_mm=table[:, 0, 4] * np.array([plot.intake for plot in DISTRICT]),
    )
