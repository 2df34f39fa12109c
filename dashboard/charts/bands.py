"""Bands stacked down a plot, one a layer, all on one scale of water content.

In band i (0 at the surface) a water content w stands at ``i + 1 - MARGIN - share(w) * USED``.
"""

from dataclasses import dataclass

import pandas as pd

_MARGIN, _USED = 0.06, 0.86
_STEP = 0.05  # m3/m3, to which the scale is rounded


@dataclass(frozen=True, slots=True, kw_only=True)
class Bands:
    """Which band each depth has, and the water contents at its lower and upper edge."""

    depths: tuple[float, ...]
    low: float
    high: float

    def at(self, depth_cm: pd.Series, theta: pd.Series) -> pd.Series:
        """Place water contents, m3/m3, each in the band of its depth."""
        share = (theta.astype(float) - self.low) / (self.high - self.low)
        return self.floor(depth_cm) - _MARGIN - share * _USED

    def floor(self, depth_cm: pd.Series) -> pd.Series:
        """Give the lower edge of each depth's band."""
        order = {depth: i for i, depth in enumerate(self.depths)}
        return depth_cm.map(order) + 1.0

    @property
    def ticks(self) -> list[float]:
        """Two water contents in the inside of a band, rounded to the step."""
        third = (self.high - self.low) / 4
        rounded = [round(round(one / _STEP) * _STEP, 2) for one in
                   (self.low + third, self.high - third)]  # fmt: skip
        return list(dict.fromkeys(rounded))


def bands_of(points: pd.DataFrame, limits: pd.DataFrame) -> Bands:
    """Stack the depths of a record on a scale that holds its values and its limits.

    Parameters
    ----------
    points : DataFrame
        depth_cm, value, low, high (m3/m3).
    limits : DataFrame
        full, lower (m3/m3); may be empty.
    """
    seen = [points["low"].min(), points["high"].max(), points["value"].min(),
            points["value"].max()]  # fmt: skip
    for name in ("full", "lower"):
        if len(limits):
            seen += [limits[name].min(), limits[name].max()]
    known = [float(one) for one in seen if one == one]  # noqa: PLR0124 - not NaN
    low, high = (min(known), max(known)) if known else (0.0, 0.5)
    low, high = low // _STEP * _STEP, -(-high // _STEP) * _STEP
    return Bands(depths=tuple(sorted(points["depth_cm"].unique())), low=float(low),
                 high=float(high if high > low else low + _STEP))  # fmt: skip
