"""What a texture or a crop's name alone says: points, depletion fraction, rooting depth.

Every number is FAO-56 (Allen, Pereira, Raes & Smith 1998), Tables 19 and 22;
what is ours says so.
"""

import math
from typing import NamedTuple

# Table 19, p. 144: (field capacity low, high, wilting point low, high), m3/m3.
FAO56_TABLE_19 = {
    "sand": (0.07, 0.17, 0.02, 0.07),
    "loamy sand": (0.11, 0.19, 0.03, 0.10),
    "sandy loam": (0.18, 0.28, 0.06, 0.16),
    "loam": (0.20, 0.30, 0.07, 0.17),
    "silt loam": (0.22, 0.36, 0.09, 0.21),
    "silt": (0.28, 0.36, 0.12, 0.22),
    "silty clay loam": (0.30, 0.37, 0.17, 0.24),  # printed "silt clay loam"
    "silty clay": (0.30, 0.42, 0.17, 0.29),
    "clay": (0.32, 0.40, 0.20, 0.24),
}

# No row in Table 19: ours is the span of the two rows between which the class lies in the
# texture triangle, from the middle of the one to the middle of the other.
NEIGHBOURS = {
    "clay loam": ("loam", "clay"),
    "sandy clay loam": ("sandy loam", "clay"),
    "sandy clay": ("sandy loam", "clay"),
}
WIDEST = ("loam", "silty clay")  # nothing is known: from the bottom of one to the top of other
SPELLINGS = {"silt clay loam": "silty clay loam", "silt clay": "silty clay"}

# Table 22, pp. 163-165: (least, greatest rooting depth in m, p at ETc of 5 mm a day).
FAO56_TABLE_22 = {
    "cotton": (1.0, 1.7, 0.65),
    "maize": (1.0, 1.7, 0.55),
    "sorghum": (1.0, 2.0, 0.55),
    "winter wheat": (1.5, 1.8, 0.55),
    "spring wheat": (1.0, 1.5, 0.55),
    "soybean": (0.6, 1.3, 0.50),
    "sunflower": (0.8, 1.5, 0.45),
    "alfalfa": (1.0, 2.0, 0.55),
    "onion": (0.3, 0.6, 0.30),
    "tomato": (0.7, 1.5, 0.40),
}
CROP_NAMES = {
    "corn": "maize", "field corn": "maize", "grain corn": "maize", "grain sorghum": "sorghum",
    "milo": "sorghum", "wheat": "winter wheat", "soybeans": "soybean", "soya": "soybean",
    "sunflowers": "sunflower", "upland cotton": "cotton", "lucerne": "alfalfa",
}  # fmt: skip
# "p commonly 0.50" for crops at large (FAO-56, p. 162); the depth for such a crop is ours.
OTHER_CROP = (1.0, 1.0, 0.50)

P_PER_MM = 0.04
P_REFERENCE_MM_D = 5.0
P_LEAST, P_GREATEST = 0.1, 0.8


class TexturePoints(NamedTuple):
    """Points that a texture gives, m3/m3."""

    full: float
    lower: float
    full_sd: float
    lower_sd: float


def _plain(name: str | None) -> str:
    return " ".join((name or "").replace("_", " ").replace("-", " ").lower().split())


def _middle_and_sd(low: float, high: float) -> tuple[float, float]:
    return (low + high) / 2, (high - low) / math.sqrt(12)


def _ranges(texture: str | None) -> tuple[float, float, float, float]:
    name = _plain(texture)
    name = SPELLINGS.get(name, name)
    if name in FAO56_TABLE_19:
        return FAO56_TABLE_19[name]
    if name in NEIGHBOURS:
        one, other = (FAO56_TABLE_19[near] for near in NEIGHBOURS[name])
        middles = [
            (row[0] + row[1]) / 2 if full else (row[2] + row[3]) / 2
            for full in (True, False)
            for row in (one, other)
        ]
        return middles[0], middles[1], middles[2], middles[3]
    lightest, heaviest = (FAO56_TABLE_19[end] for end in WIDEST)
    return lightest[0], heaviest[1], lightest[2], heaviest[3]


def texture_points(texture: str | None) -> TexturePoints:
    """Full and lower point of a texture class, with how unsure they are.

    Parameters
    ----------
    texture : str or None
        USDA class; case, spaces, hyphens do not matter. An unknown or missing class gets the
        span from loam to silty clay, the widest that deep row-crop soils honestly need.

    Returns
    -------
    TexturePoints
        ``full, lower, full_sd, lower_sd`` in m3/m3: the middle of the printed range, and the
        standard deviation of a uniform distribution over it, range / sqrt(12). That reading
        of the range is ours.

    Notes
    -----
    FAO-56, Table 19. Clay loam, sandy clay loam and sandy clay have no row there: theirs is
    the mean of two neighbouring rows, spread over the distance between them.
    """
    full_low, full_high, lower_low, lower_high = _ranges(texture)
    full, full_sd = _middle_and_sd(full_low, full_high)
    lower, lower_sd = _middle_and_sd(lower_low, lower_high)
    return TexturePoints(full, lower, full_sd, lower_sd)


def _crop_row(crop: str | None) -> tuple[float, float, float]:
    name = _plain(crop)
    return FAO56_TABLE_22.get(CROP_NAMES.get(name, name), OTHER_CROP)


def depletion_fraction(crop: str | None, etc_mm_d: float = P_REFERENCE_MM_D) -> float:
    """Share p of the available water that a crop takes before it suffers.

    Parameters
    ----------
    crop : str or None
        Trade name; an unknown one gets 0.50, which FAO-56 calls common.
    etc_mm_d : float
        Crop demand, mm/d.

    Returns
    -------
    float
        FAO-56, Table 22, p = p(table) + 0.04 (5 - ETc), kept within 0.1 and 0.8 (p. 162).
    """
    p = _crop_row(crop)[2] + P_PER_MM * (P_REFERENCE_MM_D - etc_mm_d)
    return min(max(p, P_LEAST), P_GREATEST)


def root_depth_cm(crop: str | None, limit_cm: float | None = None) -> float:
    """Greatest effective rooting depth of a crop, cm.

    Parameters
    ----------
    crop : str or None
        Trade name; an unknown one gets 100 cm (ours).
    limit_cm : float, optional
        Depth of a layer that roots cannot pass, where a person knows of one.

    Returns
    -------
    float
        The middle of the range in FAO-56, Table 22, whose note 1 speaks of soils without a
        restricting layer; no deeper than ``limit_cm``. The note gives the smaller values to
        scheduling and the larger to rainfed modelling; water banked before planting lies
        between the two, so the middle is our choice.
    """
    least, greatest, _ = _crop_row(crop)
    depth = 100.0 * (least + greatest) / 2
    return depth if limit_cm is None else min(depth, limit_cm)
