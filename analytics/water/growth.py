"""One crop as it grows: its coefficient and its roots by day, fitted to climate and dates."""

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
import pandas as pd

from analytics.model import Floats, Layer, Season
from analytics.settings import Settings
from analytics.soil.profile import MM_PER_CM
from analytics.soil.texture import CROP_NAMES
from analytics.water.demand import Crop, crop_coefficients, crop_named

# FAO-56 Table 12, greatest crop height in m; the middle where a range is printed.
HEIGHT_M = {
    "cotton": 1.35, "maize": 2.0, "sorghum": 1.5, "winter wheat": 1.0, "soybean": 0.75,
    "millet": 1.5,
}  # fmt: skip
KC_END_LEAST = 0.45  # FAO-56 Eq. 65: a smaller one is of a crop left to dry, and stands
RULE = (0.4, 0.3, 0.2, 0.1)  # share of each quarter of the root zone, FAO-56 p. 180
RH_RANGE, WIND_RANGE, HEIGHT_RANGE = (20.0, 80.0), (1.0, 6.0), (0.1, 10.0)  # of Eq. 62
STANDARD_WIND, STANDARD_RH = 2.0, 45.0


class Air(NamedTuple):
    """What the air was like around mid-season: wind at 2 m in m/s, least humidity in %."""

    wind_m_s: float
    rh_min: float


def plain_name(crop: str | None) -> str:
    """Give a crop's trade name as the tables spell it."""
    plain = " ".join((crop or "").replace("_", " ").lower().split())
    return CROP_NAMES.get(plain, plain)


Versions = Mapping[tuple[str, str], Crop]
"""Coefficients that people set: by plain crop name and field, "" for every field."""


def crop_for(name: str | None, field: str, versions: Versions) -> Crop | None:
    """Find a crop's coefficients: as set for the field, for every field, or of the tables.

    None when no coefficients are known for it.
    """
    plain = plain_name(name)
    for where in (field, ""):
        if (plain, where) in versions:
            return versions[plain, where]
    return crop_named(name)


def worth_of(crop: str | None, settings: Settings) -> float:
    """Say what a mm of water weighs for a crop beside others, where there is not enough.

    Parameters
    ----------
    crop : str or None
        Trade name.
    settings : Settings
        Uses worth_maize and its like for other crops; worth_other where there is none.

    Returns
    -------
    float
        By default the seasonal yield response factor Ky of FAO-56 Table 24: the share of its
        yield that a crop loses by the share of its water that it lacks (Eq. 90). Prices, and
        how much water a whole crop takes, are not in it.
    """
    own = f"worth_{plain_name(crop).replace(' ', '_')}"
    return float(getattr(settings, own, settings.worth_other))


def suited(crop: Crop, height_m: float, air: Air) -> Crop:
    """Fit a crop's coefficients to a climate (FAO-56 Eq. 62 and 65).

    Parameters
    ----------
    crop : Crop
        Of Table 12, which speaks of 2 m/s and 45 % least humidity.
    height_m : float
    air : Air
        Kept within what the equation was made for: 1-6 m/s, 20-80 %.

    Returns
    -------
    Crop
        ``kc_mid`` moved; ``kc_end`` too where it is 0.45 or more.
    """
    wind = float(np.clip(air.wind_m_s, *WIND_RANGE)) - STANDARD_WIND
    damp = float(np.clip(air.rh_min, *RH_RANGE)) - STANDARD_RH
    tall = float(np.clip(height_m, *HEIGHT_RANGE)) / 3.0
    moved = (0.04 * wind - 0.004 * damp) * tall**0.3
    end = crop.kc_end + (moved if crop.kc_end >= KC_END_LEAST else 0.0)
    return crop._replace(kc_mid=crop.kc_mid + moved, kc_end=end)


def air_of(days: pd.DataFrame, planting: pd.Timestamp, crop: Crop) -> Air:
    """Read the usual air of a crop's mid-season out of a station's whole record.

    Parameters
    ----------
    days : DataFrame
        Of :func:`analytics.water.years.daily_weather`.
    planting : Timestamp
    crop : Crop

    Returns
    -------
    Air
        Means over every year of the days of mid-season; what is never measured there is the
        table's own, so that it moves nothing.
    """
    _, second, third, _ = np.cumsum(crop.stages_d)
    since = (pd.DatetimeIndex(days.index).day_of_year - planting.day_of_year) % 365
    inside = (since >= second) & (since < third)
    told = [
        float(days.loc[inside, name].mean()) if name in days else float("nan")
        for name in ("wind_m_s", "rh_min")
    ]
    wind, damp = (
        usual if np.isnan(one) else one
        for one, usual in zip(told, (STANDARD_WIND, STANDARD_RH), strict=True)
    )
    return Air(wind, damp)


def at_station(
    name: str | None, crop: Crop, days: pd.DataFrame, planting: pd.Timestamp
) -> Crop:
    """Fit a crop to the usual mid-season of the station whose weather it is run with."""
    height = HEIGHT_M.get(plain_name(name))
    return crop if height is None else suited(crop, height, air_of(days, planting, crop))


def stages_told(crop: Crop, season: Season, settings: Settings) -> Crop:
    """Fit stage lengths to the dates that a person recorded.

    Parameters
    ----------
    crop : Crop
    season : Season
        ``emerged_on`` moves the end of the initial stage by as many days as the crop came up
        sooner or later than ``emergence_days``; ``matured_on`` stretches what is left so that
        the late season ends on that day.
    settings : Settings
        Uses emergence_days.

    Returns
    -------
    Crop
        FAO-56 p. 103 asks that stage lengths be fitted to the local crop; the way is ours.
    """
    first, *rest = crop.stages_d
    if season.emerged_on is not None:
        late = (season.emerged_on - season.planted_on).days - int(settings.emergence_days)
        first = max(first + late, 1)
    if season.matured_on is not None:
        whole = (season.matured_on - season.planted_on).days
        share = max(whole - first, len(rest)) / sum(rest)
        marks = [first, *(first + np.rint(np.cumsum(rest) * share).astype(int)).tolist()]
        first, *rest = np.maximum(np.diff(marks, prepend=0), 1).tolist()
    return crop._replace(stages_d=(first, rest[0], rest[1], rest[2]))


def root_depths_cm(crop: Crop, deepest_cm: float, days: int, settings: Settings) -> Floats:
    """Depth of the roots on each day after planting, (days,) cm.

    Straight from ``root_start_cm`` until mid-season begins, then ``deepest_cm`` (FAO-56
    Annex 8, from memory).
    """
    grown = crop.stages_d[0] + crop.stages_d[1]
    share = np.minimum(np.arange(1, days + 1) / max(grown, 1), 1.0)
    start = min(settings.root_start_cm, deepest_cm)
    return start + (deepest_cm - start) * share


def rooted_mm(layers: tuple[Layer, ...], roots_cm: Floats) -> Floats:
    """Thickness of each layer within the roots, (D, k) mm."""
    top = np.array([one.top_cm for one in layers])
    bottom = np.array([one.bottom_cm for one in layers])
    inside = np.minimum(bottom, roots_cm[:, None]) - top
    return np.clip(inside, 0.0, bottom - top) * MM_PER_CM


def root_share(layers: tuple[Layer, ...], roots_cm: float) -> Floats:
    """Share of its water that a crop takes from each layer: 40-30-20-10 by quarter, (k,).

    Nought below the roots; what is above the first layer or below the last is shared out.
    """
    edges = np.linspace(0.0, max(roots_cm, 1.0), len(RULE) + 1)
    reached = np.concatenate([[0.0], np.cumsum(RULE)])
    top = np.interp([one.top_cm for one in layers], edges, reached)
    bottom = np.interp([one.bottom_cm for one in layers], edges, reached)
    share = bottom - top
    return share / share.sum() if share.sum() > 0 else share


def coefficient(crop: Crop, days: int) -> Floats:
    """Coefficient of the day before each morning from that after planting, (days,).

    The last one is kept beyond the late season.
    """
    curve = crop_coefficients(crop)
    curve = np.concatenate([curve[:1], curve])
    return np.pad(curve, (0, max(days - len(curve), 0)), mode="edge")[:days]
