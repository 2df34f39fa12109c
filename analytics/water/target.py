"""How much water before planting is worth putting on a field."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from analytics.model import Floats
from analytics.settings import Settings
from analytics.water.demand import Crop, crop_coefficients
from analytics.water.outlook import Outlook
from analytics.water.years import past_years


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Winters:
    """A root zone at planting in each past winter (Y,), and the bank of each season (S,), mm.

    ``span_mm`` is what the zone can hold between lower and full points; ``held_mm`` what lies
    above the lower points, ``drawable_mm`` above the refill points, ``deficit_mm`` what is
    lacking below the full points. ``bank_mm`` is empty where crop or capacity is not known.
    ``highest_fill`` is the highest share of the span that is usually reached before planting.
    """

    span_mm: float
    held_mm: Floats
    drawable_mm: Floats
    deficit_mm: Floats
    bank_mm: Floats
    highest_fill: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Target:
    """What is worth storing in one field's root zone before planting, mm.

    ``need_mm`` is all that the zone lacks today; ``bank_mm`` what the season asks of the soil
    at the chosen reliability (NaN where crop or capacity is not known); ``lacking_mm`` (N,)
    sorted, what would have been worth adding in each past winter and season; ``target_mm``
    its quantile at the reliability. ``stored_spring`` and ``stored_autumn`` are the shares of
    net water that stay.
    """

    need_mm: float
    bank_mm: float
    lacking_mm: Floats
    target_mm: float
    room_mm: float
    drawable_mm: float
    stored_spring: float
    stored_autumn: float
    winters: Winters


def room_below(winters: Winters, ceiling: float) -> Floats:
    """Room below the ceiling at planting in each past winter, (Y,) mm."""
    return np.maximum(ceiling * winters.span_mm - winters.held_mm, 0.0)


def lacking_below(winters: Winters, ceiling: float) -> Floats:
    """Give what the zone lacks below the ceiling in each past winter, (Y,) mm."""
    return np.minimum(winters.deficit_mm, room_below(winters, ceiling))


def worth_adding(winters: Winters, ceiling: float) -> Floats:
    """Pair every past winter with every season, and find what was worth adding in each.

    Parameters
    ----------
    winters : Winters
    ceiling : float
        Share of the span that is filled at most.

    Returns
    -------
    (Y * S,) float
        mm, sorted: the least of what the season asks of the soil, less what lies above the
        refill points by then (that is already banked); what the zone lacks; and the room
        below the ceiling. Winter and season are paired as if they were independent.
    """
    most = lacking_below(winters, ceiling)[:, None]
    if not len(winters.bank_mm):
        return np.sort(most, axis=None)
    asked = np.maximum(winters.bank_mm - winters.drawable_mm[:, None], 0.0)
    return np.sort(np.minimum(asked, most), axis=None)


def need_curve(deficit_mm: Floats) -> Floats:
    """Net water that wets down to the bottom of each layer, (..., k) mm.

    Deficits cumulate from the top, since water passes a layer only when it is full.
    """
    return np.cumsum(np.maximum(deficit_mm, 0.0), axis=-1)


def wetted_depth_cm(net_mm: float, deficit_mm: Floats, bottom_cm: Floats) -> float:
    """Tell how deep a net depth of water wets: the need curve read the other way, cm."""
    curve = np.concatenate([[0.0], need_curve(deficit_mm)])
    depth = np.concatenate([[0.0], bottom_cm])
    at = int(np.searchsorted(curve, net_mm, side="right")) - 1
    if at >= len(bottom_cm):
        return float(depth[-1])
    share = (net_mm - curve[at]) / (curve[at + 1] - curve[at])
    return float(depth[at] + share * (depth[at + 1] - depth[at]))


def season_demand(
    days: pd.DataFrame, crop: Crop, planting: date, settings: Settings
) -> tuple[Floats, Floats]:
    """Crop demand and effective rain by day, for every past year of weather.

    Parameters
    ----------
    days : DataFrame
        Of :func:`analytics.water.years.daily_weather`.
    crop : Crop
    planting : date
    settings : Settings
        Uses light_rain and year_holes_days.

    Returns
    -------
    crop_mm, rain_mm : (Y, D) float
        ETc = Kc ETo (FAO-56 Eq. 58). Rain of a day below light_rain x ETo is left out
        (FAO-56 p. 170); what is too much drains in :func:`bank_needed`.
    """
    kc = crop_coefficients(crop)
    weather = past_years(days, planting, len(kc), settings).weather
    light = weather.water_mm < settings.light_rain * weather.eto_mm
    return kc * weather.eto_mm, np.where(light, 0.0, weather.water_mm)


def bank_needed(crop_mm: Floats, rain_mm: Floats, capacity_mm_d: float | Floats) -> Floats:
    """Work out the water that the soil must have banked at planting, for each year.

    Parameters
    ----------
    crop_mm, rain_mm : (Y, D) float
        Demand and effective rain by day of the season.
    capacity_mm_d : float or (D,) float
        Net irrigation that can be given every day, or by day of the season.

    Returns
    -------
    (Y,) float
        mm: the largest running shortfall of demand - rain - capacity. The shortfall is made
        good by later surplus and never falls below nought, since more drains.
    """
    short = crop_mm - rain_mm - capacity_mm_d
    running = np.concatenate([np.zeros((len(short), 1)), np.cumsum(short, axis=1)], axis=1)
    return (running - np.minimum.accumulate(running, axis=1)).max(axis=1)


def storage_efficiency(fill: float | Floats, most: float, knee: float) -> Floats:
    """Share of off-season net irrigation that is stored.

    Parameters
    ----------
    fill : float
        Highest share of the available range held between watering and planting.
    most, knee : float
        The share stored in a drier profile, and the fill from which it declines.

    Returns
    -------
    float
        ``most`` up to ``knee``, from there straight down to nought at 1. Level and knee are
        Stone, Lamm, Schlegel & Klocke (2008); the straight line between is ours.
    """
    return most * np.clip((1.0 - np.asarray(fill)) / (1.0 - knee), 0.0, 1.0)


def worth_storing(
    outlook: Outlook,
    weights: Floats,
    refill_mm: Floats,
    bank_mm: Floats,
    settings: Settings,
) -> Target:
    """Work out what is worth storing in the root zone before planting.

    Parameters
    ----------
    outlook : Outlook
        (Y, k): the layers at planting in every past winter, unaided.
    weights : (k,) float
        Share of each layer inside the root zone.
    refill_mm : (k,) float
        Water of each layer at its refill point.
    bank_mm : (S,) float
        Of :func:`bank_needed`; empty where crop or capacity is not known, and then only what
        the zone lacks and the ceiling count.
    settings : Settings
        Uses reliability, ceiling and the storage efficiencies.

    Returns
    -------
    Target

    Notes
    -----
    The target is the amount that would have sufficed in ``reliability`` of the pairs of
    :func:`worth_adding`, so that no quantile of the outlook need be chosen apart.
    """
    soil, end = outlook.soil, outlook.end_mm
    winters = Winters(
        span_mm=float((soil.full_mm - soil.lower_mm) @ weights),
        held_mm=(end - soil.lower_mm) @ weights,
        drawable_mm=np.maximum(end - refill_mm, 0.0) @ weights,
        deficit_mm=outlook.deficit_mm @ weights, bank_mm=bank_mm,
        highest_fill=float(np.median(outlook.highest_fill)),
    )  # fmt: skip
    lacking = worth_adding(winters, settings.ceiling)
    target = float(np.quantile(lacking, settings.reliability))
    spring, autumn = stored_shares(winters, target, settings)
    return Target(
        need_mm=float(np.maximum(soil.full_mm - outlook.start_mm, 0.0) @ weights),
        bank_mm=float(np.quantile(bank_mm, settings.reliability)) if len(bank_mm) else np.nan,
        lacking_mm=lacking, target_mm=target,
        room_mm=float(np.median(room_below(winters, settings.ceiling))),
        drawable_mm=float(np.median(winters.drawable_mm)), winters=winters,
        stored_spring=spring, stored_autumn=autumn,
    )  # fmt: skip


def stored_shares(
    winters: Winters, target_mm: float, settings: Settings
) -> tuple[float, float]:
    """Say which share of net water stays where a target is put on, in spring and in autumn.

    Read at the highest fill between watering and planting: what winters reach unaided, or
    what the target makes of it.
    """
    reached = (float(np.median(winters.held_mm)) + target_mm) / winters.span_mm
    fill = max(winters.highest_fill, reached)
    return (
        float(storage_efficiency(fill, settings.stored_spring, settings.spring_knee)),
        float(storage_efficiency(fill, settings.stored_autumn, settings.autumn_knee)),
    )


def value_steps(
    lacking_mm: Floats, target_mm: float, steps: int
) -> tuple[tuple[float, float], ...]:
    """Lay a target out in steps, each with the chance that its water is truly lacking.

    Parameters
    ----------
    lacking_mm : (N,) float
        Of :class:`Target`.
    target_mm : float
    steps : int

    Returns
    -------
    tuple of (width mm, chance)
        Empty for no target. The chance, share of pairs that lack more than the step's middle,
        never rises from one step to the next: the first mm is the surest to be missed.
    """
    if target_mm <= 0.0:
        return ()
    width = target_mm / steps
    middles = width * (np.arange(steps) + 0.5)
    chance = 1.0 - np.searchsorted(lacking_mm, middles, side="right") / max(len(lacking_mm), 1)
    return tuple((width, float(one)) for one in chance)
