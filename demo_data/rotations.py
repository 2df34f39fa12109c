"""What grew where and when: the seasons, their demand and their roots, day by day."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from demo_data import TODAY
from demo_data.district import DISTRICT

Floats = NDArray[np.float64]

FIRST_YEAR = 2019


@dataclass(frozen=True, slots=True, kw_only=True)
class Crop:
    """A crop's habits: dates are (month, day); ``kc`` at start, full cover and end."""

    name: str
    planted: tuple[int, int]
    harvested: tuple[int, int]
    emerges_d: int
    matures_d: int
    kc: tuple[float, float, float]
    stages: tuple[float, float, float]
    roots_cm: float


CROPS = {
    "C": Crop(
        name="corn", planted=(5, 2), harvested=(9, 27), emerges_d=9, matures_d=126,
        kc=(0.15, 1.15, 0.45), stages=(0.18, 0.42, 0.75), roots_cm=150,
    ),
    "K": Crop(
        name="cotton", planted=(5, 17), harvested=(11, 8), emerges_d=8, matures_d=150,
        kc=(0.15, 1.08, 0.40), stages=(0.20, 0.46, 0.72), roots_cm=140,
    ),
    "S": Crop(
        name="sorghum", planted=(6, 4), harvested=(10, 3), emerges_d=7, matures_d=108,
        kc=(0.15, 1.05, 0.50), stages=(0.18, 0.42, 0.75), roots_cm=150,
    ),
    "W": Crop(
        name="winter wheat", planted=(10, 14), harvested=(6, 24), emerges_d=10, matures_d=241,
        kc=(0.25, 1.10, 0.30), stages=(0.62, 0.78, 0.90), roots_cm=140,
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """One crop in one field; ``harvested_on`` is the day it is expected to come off."""

    index: int
    crop: Crop
    planted_on: date
    harvested_on: date


def _season(rng: np.random.Generator, index: int, letter: str, year: int) -> Season:
    crop = CROPS[letter]
    early = year - 1 if letter == "W" else year
    shift = [timedelta(days=int(days)) for days in rng.integers(-5, 6, 2)]
    return Season(
        index=index,
        crop=crop,
        planted_on=date(early, *crop.planted) + shift[0],
        harvested_on=date(year, *crop.harvested) + shift[1],
    )


def _after_wheat(index: int) -> Season:
    planted, harvested = date(2026, 7, 1), date(2026, 10, 20)
    return Season(index=index, crop=CROPS["S"], planted_on=planted, harvested_on=harvested)


def seasons(rng: np.random.Generator) -> list[Season]:
    """Lay out every field's crops, from the one in the ground at the start to next spring's.

    A field whose plan ends in wheat carries it today; sorghum follows it in the summer.
    """
    out: list[Season] = []
    for index, plot in enumerate(DISTRICT):
        for offset, letter in enumerate(plot.plan):
            if letter != "F":
                out.append(_season(rng, index, letter, FIRST_YEAR + offset))
        if plot.plan.endswith("W"):
            out.append(_after_wheat(index))
    return out


def _curve(share: Floats, crop: Crop) -> Floats:
    start, full, end = crop.kc
    first, second, third = crop.stages
    return np.interp(share, [0, first, second, third, 1], [start, start, full, full, end])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cover:
    """Crop cover by day and site (days, sites): crop coefficient, root depth, in-crop."""

    kc: Floats
    roots_cm: Floats
    growing: NDArray[np.bool_]


def cover(days: NDArray[np.datetime64], rows: list[Season]) -> Cover:
    """Spread the seasons over the days of the record."""
    shape = (len(days), len(DISTRICT))
    kc, roots, growing = np.zeros(shape), np.zeros(shape), np.zeros(shape, bool)
    for row in rows:
        emerged = np.datetime64(row.planted_on) + row.crop.emerges_d
        mature = emerged + row.crop.matures_d - row.crop.emerges_d
        lived = min(np.datetime64(row.harvested_on), mature)
        inside = (days >= emerged) & (days <= lived)
        share = (days[inside] - emerged).astype(float) / max((mature - emerged).astype(int), 1)
        kc[inside, row.index] = _curve(share, row.crop)
        deep = np.clip(share / row.crop.stages[2], 0, 1) ** 0.9
        roots[inside, row.index] = 12 + (row.crop.roots_cm - 12) * deep
        growing[inside, row.index] = True
    return Cover(kc=kc, roots_cm=roots, growing=growing)


def harvested_by_today(row: Season) -> bool:
    """Tell whether the crop is off the field on the scenario's today."""
    return row.harvested_on <= TODAY
