"""One site's case for water: its outlook, what is worth storing, and why."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from dataclasses import field as given
from datetime import date, timedelta
from typing import NamedTuple

import numpy as np
import pandas as pd

from analytics.errors import InputRefused
from analytics.model import Bools, Daily, Floats, Layer, OffSeason, Points
from analytics.settings import Settings
from analytics.soil.profile import thickness_mm, zone_weights
from analytics.soil.texture import root_depth_cm
from analytics.water.balance import soil_of
from analytics.water.demand import Crop
from analytics.water.growth import Versions, at_station, crop_for, worth_of
from analytics.water.outlook import Outlook, check_known, look_ahead
from analytics.water.pumping import M3_PER_MM_HA
from analytics.water.queue import Source, Thirst, opening_of
from analytics.water.season import Season
from analytics.water.target import (
    Target,
    bank_needed,
    season_demand,
    value_steps,
    worth_storing,
)
from analytics.water.years import Years, past_years


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SiteAdviceInputs:
    """One site's part. ``water_mm`` (k,) is its layers today; ``planting`` None if unknown.

    ``standing`` names the crop that still grows there, None on bare ground; ``root_limit_cm``
    is the depth of a layer that roots cannot pass, None where none is known. At ``silent_cm``
    no sensor was read lately: what ``water_mm`` tells there stands in. The ground is frozen to
    ``frozen_cm`` today, 0 where it is not.
    ``daily``, ``off_seasons``, ``water`` (date, kind, mm) and ``tally`` (whole-profile rows)
    serve the grade and the recharge relation only.
    """

    field: str
    site: str
    source: str | None
    area_ha: float
    layers: tuple[Layer, ...]
    points: Points
    water_mm: Floats
    crop: str | None
    planting: date | None
    station: str | None
    standing: str | None = None
    daily: Daily | None = None
    off_seasons: tuple[OffSeason, ...] = ()
    water: pd.DataFrame | None = None
    tally: pd.DataFrame | None = None
    root_limit_cm: float | None = None
    silent_cm: tuple[float, ...] = ()
    frozen_cm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """What all sites share: weather by station, today, thresholds and crops."""

    weather: Mapping[str, pd.DataFrame]
    as_of: date
    settings: Settings
    crops: Versions = given(default_factory=dict)
    rain_on: tuple[float, date] | None = None


class Cuts:
    """The weather stretches that many sites share, each cut once."""

    def __init__(self, ground: Ground) -> None:
        self.ground = ground
        self._years: dict[tuple[str, int], Years] = {}
        self._seasons: dict[tuple[str, str, Crop, date], tuple[Floats, Floats]] = {}

    def to_planting(self, station: str, planting: date) -> Years:
        """From tomorrow to the day before planting."""
        days = (planting - self.ground.as_of).days - 1
        key = (station, days)
        if key not in self._years:
            start = self.ground.as_of + timedelta(days=1)
            years = past_years(self.ground.weather[station], start, days, self.ground.settings)
            self._years[key] = _rained(years, self.ground.rain_on, start)
        return self._years[key]

    def season(
        self, station: str, name: str, crop: Crop, planting: date
    ) -> tuple[Floats, Floats]:
        """Give demand and rain of a crop's season, its coefficients fitted to the station."""
        key = (station, name, crop, planting)
        if key not in self._seasons:
            days, settings = self.ground.weather[station], self.ground.settings
            fitted = at_station(name, crop, days, pd.Timestamp(planting))
            self._seasons[key] = season_demand(days, fitted, planting, settings)
        return self._seasons[key]


def _rained(years: Years, rain_on: tuple[float, date] | None, start: date) -> Years:
    at = (rain_on[1] - start).days if rain_on is not None else -1
    if rain_on is None or not 0 <= at < years.weather.water_mm.shape[1]:
        return years
    water = years.weather.water_mm.copy()
    water[:, at] += rain_on[0]
    weather = years.weather._replace(water_mm=water)
    return Years(starts=years.starts, weather=weather, missing_days=years.missing_days)


def outlooks(sites: Sequence[SiteAdviceInputs], cut: Cuts) -> list[Outlook | str]:
    """Run sites to planting: those of as many layers through the same weather at once.

    Parameters
    ----------
    sites : sequence of SiteAdviceInputs
    cut : Cuts

    Returns
    -------
    list of Outlook or str
        One a site; a sentence where a crop stands (the ground is run on bare), where there is
        no planting still to come, no station, no water of today or too few past years.
    """
    found: list[Outlook | str] = [""] * len(sites)
    together: dict[tuple[str, date, int], list[int]] = defaultdict(list)
    for at, site in enumerate(sites):
        try:
            _check_bare(site)  # first: to a field under a crop no date of planting is any help
            station, planting = _placed(site, cut.ground)
            years = cut.to_planting(station, planting)
            check_known(site.water_mm, years, cut.ground.settings)
        except InputRefused as refused:
            found[at] = str(refused)
        else:
            together[station, planting, len(site.layers)].append(at)
    settings = cut.ground.settings
    for (station, planting, _), where in together.items():
        some = [sites[at] for at in where]
        soils = [soil_of(one.layers, one.points.full, one.points.lower, settings)
                 for one in some]  # fmt: skip
        years = cut.to_planting(station, planting)
        ahead = look_ahead([one.water_mm for one in some], soils, years, settings)
        for at, outlook in zip(where, ahead, strict=True):
            found[at] = outlook
    return found


def site_thirst(site: SiteAdviceInputs, outlook: Outlook, bank: Floats, cut: Cuts) -> Thirst:
    """Make a field's case for water from its site's outlook to planting, and its bank."""
    ground = cut.ground
    station, planting = _placed(site, ground)
    years = cut.to_planting(station, planting)
    floor = root_depth_cm(site.crop, site.root_limit_cm)
    split = ground.settings.zone_split_cm
    roots = zone_weights(site.layers, split, root_limit_cm=floor)["profile"]
    refill = site.points.refill * thickness_mm(site.layers)
    target = worth_storing(outlook, roots, refill, bank, ground.settings)
    return _thirst(site, outlook, target, planting, years, ground, roots)


def _placed(site: SiteAdviceInputs, ground: Ground) -> tuple[str, date]:
    where = f"field {site.field}"
    if site.planting is None or (site.planting - ground.as_of).days <= 1:
        found = "no planting is still to come."
        raise InputRefused(where, found, "Add the coming season with its planting date.")
    if site.station is None or site.station not in ground.weather:
        found = "there is no weather station for it."
        raise InputRefused(where, found, "Import a station and its daily weather.")
    return site.station, site.planting


def _check_bare(site: SiteAdviceInputs) -> None:
    if site.standing is not None:
        where, found = f"field {site.field}", f"{site.standing} still stands there."
        remedy = "It is judged from its harvest on: import the date once it is harvested."
        raise InputRefused(where, found, remedy)


def bank_of(site: SiteAdviceInputs, source: Source | None, cut: Cuts) -> Floats:
    """Give the bank needed in each past season.

    Empty where crop, planting, station or capacity is not known.
    """
    sown, rate = _sown(site, cut), capacity_mm_d(source)
    if sown is None or np.isnan(rate):
        return np.empty(0)
    crop_mm, rain_mm = sown.crop_mm, sown.rain_mm
    days = np.datetime64(sown.planting, "D") + 1 + np.arange(crop_mm.shape[1])
    return bank_needed(crop_mm, rain_mm, np.where(opening_of(source).on(days), rate, 0.0))


class _Sown(NamedTuple):
    """What a field is to be sown with and when; demand and rain of its past seasons."""

    crop: str
    planting: date
    crop_mm: Floats
    rain_mm: Floats


def _sown(site: SiteAdviceInputs, cut: Cuts) -> _Sown | None:
    """Cut a field's coming season; None where its crop, planting or station is not known.

    Nor where the station knows fewer such seasons than ``least_years``.
    """
    crop = crop_for(site.crop, site.field, cut.ground.crops)
    if crop is None or site.crop is None:
        return None
    try:
        station, planting = _placed(site, cut.ground)
    except InputRefused:
        return None
    crop_mm, rain_mm = cut.season(station, site.crop, crop, planting)
    if len(crop_mm) < cut.ground.settings.least_years:  # no chance can be told from so few
        return None
    return _Sown(site.crop, planting, crop_mm, rain_mm)


def capacity_mm_d(source: Source | None) -> float:
    """Net depth that a source can give every day over all it feeds: nought without one.

    NaN where the area it feeds is not known.
    """
    if source is None:
        return 0.0
    area = source.group_ha * M3_PER_MM_HA
    return source.m3_a_day * source.efficiency / area if area > 0 else float("nan")


def left_mm(source: Source) -> float:
    """Net depth that is left of a source's allocation, over all it feeds; infinite without."""
    area = source.group_ha * M3_PER_MM_HA
    return source.left_m3 * source.efficiency / area if area > 0 else float("inf")


def coming_season(
    site: SiteAdviceInputs, source: Source | None, bank: Floats, cut: Cuts
) -> Season | None:
    """Give a field's coming season; None where its crop, planting or station is not known."""
    sown = _sown(site, cut)
    if sown is None:
        return None
    return Season(
        field=site.field, source=site.source, crop=sown.crop, planting=sown.planting,
        crop_mm=sown.crop_mm,
        bank_mm=float(np.quantile(bank, cut.ground.settings.reliability)) if len(bank)
        else float("nan"),
        capacity_mm_d=float("nan") if source is None else capacity_mm_d(source),
        opening=opening_of(source),
    )  # fmt: skip


def _thirst(  # noqa: PLR0917 - each is a record of its own kind
    site: SiteAdviceInputs, outlook: Outlook, target: Target, planting: date, years: Years,
    ground: Ground, roots: Floats,
) -> Thirst:  # fmt: skip
    settings = ground.settings
    steps = value_steps(target.lacking_mm, target.target_mm, int(settings.value_steps))
    return Thirst(
        field=site.field, source=site.source, area_ha=site.area_ha, need_mm=target.need_mm,
        target_mm=target.target_mm, steps=steps, stored_spring=target.stored_spring,
        stored_autumn=target.stored_autumn, planting=planting,
        spring_from=planting - timedelta(days=int(settings.autumn_days)),
        lacking_mm=target.lacking_mm, room_mm=target.room_mm, winters=target.winters,
        worth=worth_of(site.crop, settings), frozen=_frozen(site, years, settings),
        why=_why(site, outlook, target, settings, roots),
    )  # fmt: skip


def _frozen(site: SiteAdviceInputs, years: Years, settings: Settings) -> Bools:
    """Days on which the ground was frozen in most past years, or may still be from today."""
    frozen = years.weather.frozen.mean(axis=0) > 0.5  # noqa: PLR2004 - most
    if site.frozen_cm > 0.0:
        frozen[: int(settings.frost_stays_days)] = True
    return frozen


def _why(
    site: SiteAdviceInputs, outlook: Outlook, target: Target, settings: Settings,
    roots: Floats,
) -> dict[str, object]:  # fmt: skip
    brought = target.need_mm - float(np.median(outlook.deficit_mm @ roots))
    facts = {
        "bank_mm": target.bank_mm, "drawable_mm": target.drawable_mm,
        "room_mm": target.room_mm, "brought_mm": brought, "stored_share": target.stored_spring,
    }  # fmt: skip
    told = {name: round(value, 3) for name, value in facts.items() if np.isfinite(value)}
    crop = {"crop": site.crop, "worth": worth_of(site.crop, settings)} if site.crop else {}
    silent = {"silent_cm": list(site.silent_cm)} if site.silent_cm else {}
    frozen = {"frozen_cm": site.frozen_cm} if site.frozen_cm else {}
    return {"code": _settled_by(target, settings), **told, **crop, **silent, **frozen}


def _settled_by(target: Target, settings: Settings) -> str:
    """Name what settled the target."""
    if target.need_mm <= settings.least_water_mm:
        return "full"
    if target.bank_mm <= target.drawable_mm:
        return "capacity_suffices"
    if target.room_mm <= settings.least_water_mm:
        return "ceiling"
    if target.target_mm <= settings.least_water_mm:
        return "winter_brings_it"
    return "bank" if target.target_mm < target.room_mm else "ceiling"
