"""A farm's own recharge relation: what winters gave, by how wet the soil went in."""

from dataclasses import dataclass

import numpy as np

from analytics.errors import InputRefused
from analytics.model import Floats
from analytics.settings import Settings

WHERE = "the farm's recharge relation"


@dataclass(frozen=True, slots=True, kw_only=True)
class Recharge:
    """AW_spring = AW_start + (a - b AW_start) P, fitted on ``n`` site-winters."""

    a: float  # 1
    b: float  # 1/mm
    n: int
    r2: float
    error_mm: float  # standard error of a gain

    def spring_mm(self, start_mm: Floats | float, water_mm: Floats | float) -> Floats:
        """Expect the available water in spring, mm."""
        start = np.asarray(start_mm, np.float64)
        return start + (self.a - self.b * start) * np.asarray(water_mm)


def fit_recharge(
    start_mm: Floats, spring_mm: Floats, water_mm: Floats, settings: Settings
) -> Recharge:
    """Fit the relation on the store's own site-winters.

    Parameters
    ----------
    start_mm, spring_mm : (n,) float
        Available water of the profile (above the lower point) at both ends.
    water_mm : (n,) float
        What fell and was put on meanwhile.
    settings : Settings
        Uses recharge_least, recharge_rain_mm.

    Returns
    -------
    Recharge

    Raises
    ------
    InputRefused
        With fewer usable winters than ``recharge_least``.

    Notes
    -----
    Form of Lamm & Rogers (1985): storage efficiency falls linearly with the soil's water at
    the start. Their coefficients are not used. Least squares of the gain on P and
    -AW_start P, without a constant; R2 is that of the gain about its mean.
    """
    start, spring, water = (
        np.asarray(one, np.float64) for one in (start_mm, spring_mm, water_mm)
    )
    kept = np.isfinite(start + spring + water) & (water >= settings.recharge_rain_mm)
    n = int(kept.sum())
    if n < settings.recharge_least:
        found = f"{n} winters can be used."
        remedy = f"It takes {settings.recharge_least:.0f}; the daily outlook stands alone."
        raise InputRefused(WHERE, found, remedy)
    gain = (spring - start)[kept]
    terms = np.stack([water[kept], -start[kept] * water[kept]], axis=1)
    (a, b), *_ = np.linalg.lstsq(terms, gain, rcond=None)
    rest = gain - terms @ np.array([a, b])
    spread = float(((gain - gain.mean()) ** 2).sum())
    r2 = 1.0 - float((rest**2).sum()) / spread if spread > 0 else float("nan")
    error = float(np.sqrt((rest**2).sum() / (n - 2)))
    return Recharge(a=float(a), b=float(b), n=n, r2=r2, error_mm=error)
