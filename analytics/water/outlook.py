"""What the soil may hold at planting: today's layers through every past year of weather."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analytics.errors import InputRefused
from analytics.model import Floats, Layer
from analytics.settings import Settings
from analytics.soil.profile import zone_weights
from analytics.water.balance import Soil, abreast, bare_soil
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


def check_known(start_mm: Floats, years: Years, settings: Settings) -> None:
    """Refuse to look ahead from what is not known well enough.

    Parameters
    ----------
    start_mm : (k,) float
        Water of each layer today.
    years : Years
    settings : Settings
        Uses least_years, water_known_days.

    Raises
    ------
    InputRefused
        With a layer unknown, or fewer years than ``least_years``.
    """
    if not np.isfinite(start_mm).all():
        unknown = int(np.isnan(start_mm).sum())
        found = (
            f"{unknown} of {len(start_mm)} layers have no water today: they were not read "
            f"within {settings.water_known_days:.0f} days."
        )
        raise InputRefused(WHERE, found, "Bring their readings in.")
    if len(years) < settings.least_years:
        found = f"only {len(years)} past years of weather cover the days to planting."
        remedy = f"Import at least {settings.least_years:.0f} years of daily weather."
        raise InputRefused(WHERE, found, remedy)


def look_ahead(
    starts_mm: Sequence[Floats], soils: Sequence[Soil], years: Years, settings: Settings
) -> list[Outlook]:
    """Run today's layers to planting once for every past year, all sites at once.

    Parameters
    ----------
    starts_mm : sequence of (k,) float
        Water of each layer today, a row a site; of as many layers everywhere, all known.
    soils : sequence of Soil
        One a site.
    years : Years
        The stretch from tomorrow to the day before planting.
    settings : Settings
        Uses full_tolerance and the balance's own.

    Returns
    -------
    list of Outlook
        One a site.
    """
    start = np.stack(starts_mm)[:, None]
    run = bare_soil(start, abreast(soils), years.weather, settings)
    each = zip(starts_mm, soils, run.layers_mm, run.drained_mm, strict=True)
    return [_outlook(*one, settings) for one in each]


def _outlook(
    start_mm: Floats, soil: Soil, layers_mm: Floats, drained_mm: Floats, settings: Settings
) -> Outlook:
    span = soil.full_mm - soil.lower_mm
    mark = soil.full_mm - settings.full_tolerance * span
    fill = (layers_mm - soil.lower_mm).sum(axis=2) / span.sum()
    now = float((start_mm - soil.lower_mm).sum() / span.sum())
    return Outlook(
        soil=soil, start_mm=start_mm, end_mm=layers_mm[:, -1],
        filled=((layers_mm >= mark).any(axis=1) | (start_mm >= mark)).astype(np.float64),
        highest_fill=np.maximum(fill.max(axis=1), now), drained_mm=drained_mm,
    )  # fmt: skip


def outlook_columns(
    outlook: Outlook,
    layers: tuple[Layer, ...],
    settings: Settings,
    root_limit_cm: float | None = None,
) -> dict[str, list]:
    """Lay an outlook out by zone and layer.

    Parameters
    ----------
    outlook : Outlook
    layers : tuple of k Layer
    settings : Settings
        Uses zone_split_cm.
    root_limit_cm : float, optional
        Depth of a layer that roots cannot pass: the zones end there.

    Returns
    -------
    dict of str to list
        The columns of a frame: ``zone`` (upper, deep, profile, layer), ``depth_cm`` (layers
        only), ``now_mm`` (lacking today), ``q10_mm`` to ``q90_mm`` and ``mean_mm`` (lacking at
        planting), ``chance_full`` (share of years in which every layer of it fills unaided),
        ``years``.
    """
    weights = zone_weights(layers, settings.zone_split_cm, root_limit_cm=root_limit_cm)
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
    return {
        "zone": [zone for zone, _, _ in parts], "depth_cm": [depth for _, depth, _ in parts],
        "now_mm": (whole @ now).tolist(),
        **{f"q{q * 100:.0f}_mm": mm.tolist() for q, mm in zip(QUANTILES, spread, strict=True)},
        "mean_mm": lacking.mean(axis=0).tolist(),
        "chance_full": (unfilled == 0.0).mean(axis=0).tolist(),
        "years": [len(outlook.end_mm)] * len(parts),
    }  # fmt: skip
