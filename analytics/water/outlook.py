"""What the soil may hold at planting: today's layers through every past year of weather."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.errors import InputRefused
from analytics.model import Floats, Layer
from analytics.settings import Settings
from analytics.soil.profile import zone_weights
from analytics.water.balance import Soil, bare_soil
from analytics.water.years import Years

QUANTILES = (0.1, 0.25, 0.5, 0.75, 0.9)  # the 80 % interval, its quarters and its middle
WHERE = "the outlook to planting"
ZONES = ("upper", "deep", "profile")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outlook:
    """One site's possible plantings, a row a past year.

    ``end_mm`` (Y, k) is each layer's water at planting, ``filled`` (Y, k) whether the layer
    stood at its full point on any day until then, ``highest_fill`` (Y,) the wettest that the
    whole profile became, as a share of its available range.
    """

    soil: Soil
    start_mm: Floats
    end_mm: Floats
    filled: Floats
    highest_fill: Floats
    drained_mm: Floats

    @property
    def deficit_mm(self) -> Floats:
        """What each layer lacks at planting, (Y, k) mm, never below nought."""
        return np.maximum(self.soil.full_mm - self.end_mm, 0.0)


def look_ahead(start_mm: Floats, soil: Soil, years: Years, settings: Settings) -> Outlook:
    """Run today's layers to planting once for every past year.

    Parameters
    ----------
    start_mm : (k,) float
        Water of each layer today; every layer must be known.
    soil : Soil
    years : Years
        The stretch from tomorrow to the day before planting.
    settings : Settings
        Uses full_tolerance, least_years and the balance's own.

    Returns
    -------
    Outlook

    Raises
    ------
    InputRefused
        With a layer unknown, or fewer years than ``least_years``.
    """
    if not np.isfinite(start_mm).all():
        unknown = int(np.isnan(start_mm).sum())
        found = f"{unknown} of {len(start_mm)} layers have no water today."
        raise InputRefused(WHERE, found, "Bring their readings in.")
    if len(years) < settings.least_years:
        found = f"only {len(years)} past years of weather cover the days to planting."
        remedy = f"Import at least {settings.least_years:.0f} years of daily weather."
        raise InputRefused(WHERE, found, remedy)
    run = bare_soil(start_mm, soil, years.weather, settings)
    span = soil.full_mm - soil.lower_mm
    mark = soil.full_mm - settings.full_tolerance * span
    fill = (run.layers_mm - soil.lower_mm).sum(axis=2) / span.sum()
    now = float((start_mm - soil.lower_mm).sum() / span.sum())
    return Outlook(
        soil=soil, start_mm=start_mm, end_mm=run.layers_mm[:, -1],
        filled=((run.layers_mm >= mark).any(axis=1) | (start_mm >= mark)).astype(np.float64),
        highest_fill=np.maximum(fill.max(axis=1), now), drained_mm=run.drained_mm,
    )  # fmt: skip


def outlook_frame(
    outlook: Outlook, layers: tuple[Layer, ...], settings: Settings
) -> pd.DataFrame:
    """Lay an outlook out by zone and layer.

    Parameters
    ----------
    outlook : Outlook
    layers : tuple of k Layer
    settings : Settings
        Uses zone_split_cm.

    Returns
    -------
    DataFrame
        ``zone`` (upper, deep, profile, layer), ``depth_cm`` (layers only), ``now_mm`` (lacking
        today), ``q10_mm`` to ``q90_mm`` and ``mean_mm`` (lacking at planting),
        ``chance_full`` (share of years in which every layer of it fills unaided), ``years``.
    """
    weights = zone_weights(layers, settings.zone_split_cm)
    parts = [(zone, np.nan, weights[zone]) for zone in ZONES if weights[zone].any()]
    parts += [
        ("layer", layer.depth_cm, own)
        for layer, own in zip(layers, np.eye(len(layers)), strict=True)
    ]
    whole = np.array([weight for _, _, weight in parts])
    now = np.maximum(outlook.soil.full_mm - outlook.start_mm, 0.0)
    lacking = outlook.deficit_mm @ whole.T
    spread = np.quantile(lacking, QUANTILES, axis=0)
    unfilled = (1.0 - outlook.filled) @ (whole > 0).T
    return pd.DataFrame({
        "zone": [zone for zone, _, _ in parts], "depth_cm": [depth for _, depth, _ in parts],
        "now_mm": whole @ now,
        **{f"q{q * 100:.0f}_mm": mm for q, mm in zip(QUANTILES, spread, strict=True)},
        "mean_mm": lacking.mean(axis=0), "chance_full": (unfilled == 0.0).mean(axis=0),
        "years": len(outlook.end_mm),
    })  # fmt: skip
