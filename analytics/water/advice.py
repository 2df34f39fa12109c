"""From every site's measured layers to the watering order of all of them.

What the store hands over, once its sites are assessed:

- a site: its field's source and irrigated area, its layers and the points in force, the water
  of each layer today (readiness, held values counted), the coming planting and its crop, its
  nearest station; for the grade also its days, off-seasons, water and tally;
- the sources table with the irrigated area each serves and what is spent of its allocation;
- each station's whole weather, laid out by :func:`station_days`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import pandas as pd

from analytics.errors import InputRefused
from analytics.model import Daily, Floats, Layer, OffSeason, Points
from analytics.settings import Settings
from analytics.soil.profile import thickness_mm, zone_weights
from analytics.soil.texture import root_depth_cm
from analytics.water.balance import soil_of
from analytics.water.demand import Crop, crop_named, reference_et
from analytics.water.hindcast import CASE_COLUMNS, grade, hindcasts, past_cases
from analytics.water.order import Order, solve
from analytics.water.outlook import Outlook, look_ahead, outlook_frame
from analytics.water.pumping import M3_PER_MM_HA
from analytics.water.queue import OrderInputs, Source, Thirst
from analytics.water.recharge import Recharge, fit_recharge
from analytics.water.target import (
    Target,
    bank_needed,
    season_demand,
    value_steps,
    worth_storing,
)
from analytics.water.years import Years, daily_weather, past_years


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SiteAdviceInputs:
    """One site's part. ``water_mm`` (k,) is its layers today; ``planting`` None if unknown.

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
    daily: Daily | None = None
    off_seasons: tuple[OffSeason, ...] = ()
    water: pd.DataFrame | None = None
    tally: pd.DataFrame | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Advice:
    """The order and all that stands beside it.

    ``outlook`` has a row a site, zone and layer; ``grades`` a row a kind of forecast and zone
    over all sites, ``cases`` each forecast graded; ``left_out`` field, site and why (a
    sentence). ``recharge`` is None where winters are too few. ``inputs`` is what the order
    was worked out from, for what-if.
    """

    order: pd.DataFrame
    plan: pd.DataFrame
    sources: pd.DataFrame
    outlook: pd.DataFrame
    grades: pd.DataFrame
    cases: pd.DataFrame
    recharge: Recharge | None
    left_out: pd.DataFrame
    inputs: OrderInputs


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """What all sites share: weather by station, today, thresholds, crops and their worth."""

    weather: Mapping[str, pd.DataFrame]
    as_of: date
    settings: Settings
    crops: dict[str, Crop] | None = None
    worth: Mapping[str, float] | None = None
    rain_on: tuple[float, date] | None = None


def station_days(
    weather: pd.DataFrame, latitude: float, elevation_m: float, settings: Settings
) -> pd.DataFrame:
    """Lay one station's whole weather out by day, with reference evapotranspiration."""
    eto = reference_et(weather, latitude, elevation_m, settings)
    return daily_weather(weather, eto)


def sources_of(
    table: pd.DataFrame,
    group_ha: Mapping[str, float],
    used_m3: Mapping[str, float],
    settings: Settings,
) -> tuple[Source, ...]:
    """Turn the sources table into records, a missing efficiency or pass from the settings.

    Parameters
    ----------
    table : DataFrame
        Contract table ``sources``.
    group_ha : mapping of source to ha
        Irrigated area each serves, watered now or not.
    used_m3 : mapping of source to m3
        Spent of this season's allocation.
    settings : Settings
        Uses source_efficiency, pass_mm.
    """
    standing = {"efficiency": settings.source_efficiency, "max_pass_mm": settings.pass_mm}
    rows = table.fillna(standing).to_dict("records")
    return tuple(
        Source(
            source=row["source"], capacity_l_s=float(row["capacity_l_s"]),
            group_ha=group_ha.get(row["source"], 0.0), efficiency=float(row["efficiency"]),
            max_pass_mm=float(row["max_pass_mm"]), allocation_mm=float(row["allocation_mm"]),
            used_m3=used_m3.get(row["source"], 0.0),
            available_from=_date(row["available_from"]),
            available_until=_date(row["available_until"]),
        )
        for row in rows
    )  # fmt: skip


def _date(value: object) -> date | None:
    return None if pd.isna(value) else pd.Timestamp(value).date()  # pyright: ignore[reportArgumentType, reportCallIssue]


def advise(
    sites: list[SiteAdviceInputs],
    sources: tuple[Source, ...],
    ground: Ground,
    *,
    graded: bool = True,
) -> Advice:
    """Work out outlook, targets, order and grade for a whole store.

    Parameters
    ----------
    sites : list of SiteAdviceInputs
    sources : tuple of Source
    ground : Ground
        ``rain_on`` (mm, day) adds rain to come to every past year's run.
    graded : bool
        Without, no past forecast is run: for a what-if that answers at once.

    Returns
    -------
    Advice
        A field with several probes is judged by the one that lacks most. A site without
        planting, station, today's water or enough years is left out, with the reason.
    """
    cut = _Cuts(ground)
    thirsts: dict[str, Thirst] = {}
    frames: list[pd.DataFrame] = []
    left: list[dict[str, str]] = []
    for site in sites:
        try:
            outlook, thirst = _site(site, sources, cut)
        except InputRefused as refused:
            left.append({"field": site.field, "site": site.site, "why": str(refused)})
            continue
        frame = outlook_frame(outlook, site.layers, ground.settings)
        frames.append(frame.assign(field=site.field, site=site.site))
        other = thirsts.get(site.field)
        if other is None or thirst.target_mm > other.target_mm:
            thirsts[site.field] = thirst
    inputs = _inputs(tuple(thirsts.values()), sources, ground)
    cases = _cases(sites, ground) if graded else pd.DataFrame(columns=CASE_COLUMNS)
    return _advice(
        solve(inputs), inputs, frames, cases, left, _recharge(sites, ground.settings)
    )


def _advice(  # noqa: PLR0917 - each is a part of its own kind
    order: Order, inputs: OrderInputs, frames: list[pd.DataFrame], cases: pd.DataFrame,
    left: list[dict[str, str]], recharge: Recharge | None,
) -> Advice:  # fmt: skip
    return Advice(
        order=order.order, plan=order.plan, sources=order.sources,
        outlook=pd.concat(frames, ignore_index=True) if frames else pd.DataFrame(),
        grades=grade(cases), cases=cases, recharge=recharge, inputs=inputs,
        left_out=pd.DataFrame(left, columns=["field", "site", "why"]),
    )  # fmt: skip


class _Cuts:
    """The weather stretches that many sites share, each cut once."""

    def __init__(self, ground: Ground) -> None:
        self.ground = ground
        self._years: dict[tuple[str, int], Years] = {}
        self._seasons: dict[tuple[str, Crop, date], tuple[Floats, Floats]] = {}

    def to_planting(self, station: str, planting: date) -> Years:
        """From tomorrow to the day before planting."""
        days = (planting - self.ground.as_of).days - 1
        key = (station, days)
        if key not in self._years:
            start = self.ground.as_of + timedelta(days=1)
            years = past_years(self.ground.weather[station], start, days, self.ground.settings)
            self._years[key] = _rained(years, self.ground.rain_on, start)
        return self._years[key]

    def season(self, station: str, crop: Crop, planting: date) -> tuple[Floats, Floats]:
        """Give demand and rain of the coming crop's season."""
        key = (station, crop, planting)
        if key not in self._seasons:
            days, settings = self.ground.weather[station], self.ground.settings
            self._seasons[key] = season_demand(days, crop, planting, settings)
        return self._seasons[key]


def _rained(years: Years, rain_on: tuple[float, date] | None, start: date) -> Years:
    at = (rain_on[1] - start).days if rain_on is not None else -1
    if rain_on is None or not 0 <= at < years.weather.water_mm.shape[1]:
        return years
    water = years.weather.water_mm.copy()
    water[:, at] += rain_on[0]
    weather = years.weather._replace(water_mm=water)
    return Years(starts=years.starts, weather=weather, missing_days=years.missing_days)


def _site(
    site: SiteAdviceInputs, sources: tuple[Source, ...], cut: _Cuts
) -> tuple[Outlook, Thirst]:
    ground = cut.ground
    station, planting = _placed(site, ground)
    soil = soil_of(site.layers, site.points.full, site.points.lower, ground.settings)
    years = cut.to_planting(station, planting)
    outlook = look_ahead(site.water_mm, soil, years, ground.settings)
    split = ground.settings.zone_split_cm
    zones = zone_weights(site.layers, split, root_depth_cm(site.crop))
    roots = zones["upper"] + zones["deep"]
    bank = _bank(site, sources, cut, station, planting)
    refill = site.points.refill * thickness_mm(site.layers)
    target = worth_storing(outlook, roots, refill, bank, ground.settings)
    return outlook, _thirst(site, outlook, target, planting, years, ground, roots)


def _placed(site: SiteAdviceInputs, ground: Ground) -> tuple[str, date]:
    where = f"field {site.field}"
    if site.planting is None or (site.planting - ground.as_of).days <= 1:
        found = "no planting is still to come."
        raise InputRefused(where, found, "Add the coming season with its planting date.")
    if site.station is None or site.station not in ground.weather:
        found = "there is no weather station for it."
        raise InputRefused(where, found, "Import a station and its daily weather.")
    return site.station, site.planting


def _bank(
    site: SiteAdviceInputs,
    sources: tuple[Source, ...],
    cut: _Cuts,
    station: str,
    planting: date,
) -> Floats:
    """Bank needed in each past season; empty where crop or capacity is not known."""
    crop = crop_named(site.crop, cut.ground.crops)
    source = next((one for one in sources if one.source == site.source), None)
    rate = 0.0
    if source is not None:
        area = source.group_ha * M3_PER_MM_HA
        rate = source.m3_a_day * source.efficiency / area if area > 0 else np.nan
    if crop is None or np.isnan(rate):
        return np.empty(0)
    return bank_needed(*cut.season(station, crop, planting), rate)


def _thirst(  # noqa: PLR0917 - each is a record of its own kind
    site: SiteAdviceInputs, outlook: Outlook, target: Target, planting: date, years: Years,
    ground: Ground, roots: Floats,
) -> Thirst:  # fmt: skip
    settings = ground.settings
    known = ground.worth or {}
    steps = value_steps(target.lacking_mm, target.target_mm, int(settings.value_steps))
    return Thirst(
        field=site.field, source=site.source, area_ha=site.area_ha, need_mm=target.need_mm,
        target_mm=target.target_mm, steps=steps, stored_spring=target.stored_spring,
        stored_autumn=target.stored_autumn, planting=planting,
        spring_from=planting - timedelta(days=int(settings.autumn_days)),
        lacking_mm=target.lacking_mm, room_mm=target.room_mm,
        worth=known.get(site.crop or "", 1.0), frozen=_frozen(years),
        why=_why(outlook, target, settings, roots),
    )  # fmt: skip


def _frozen(years: Years) -> np.ndarray:
    """Days on which the ground was frozen in most past years."""
    return years.weather.frozen.mean(axis=0) > 0.5  # noqa: PLR2004 - most


def _why(
    outlook: Outlook, target: Target, settings: Settings, roots: Floats
) -> dict[str, object]:
    brought = target.need_mm - float(np.median(outlook.deficit_mm @ roots))
    facts = {
        "bank_mm": target.bank_mm, "drawable_mm": target.drawable_mm,
        "room_mm": target.room_mm, "brought_mm": brought, "stored_share": target.stored_spring,
    }  # fmt: skip
    told = {name: round(value, 3) for name, value in facts.items() if np.isfinite(value)}
    return {"code": _settled_by(target, settings), **told}


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


def _inputs(
    thirsts: tuple[Thirst, ...], sources: tuple[Source, ...], ground: Ground
) -> OrderInputs:
    """Give all fields the same days: from tomorrow to the day before the last planting."""
    start = np.datetime64(ground.as_of, "D") + 1
    last = max((one.planting for one in thirsts), default=ground.as_of)
    days = start + np.arange(max((last - ground.as_of).days - 1, 0))
    fields = tuple(_padded(one, len(days)) for one in thirsts)
    return OrderInputs(fields=fields, sources=sources, days=days, settings=ground.settings)


def _padded(one: Thirst, days: int) -> Thirst:
    if one.frozen is None:
        return one
    frozen = np.zeros(days, bool)
    frozen[: len(one.frozen)] = one.frozen
    return replace(one, frozen=frozen)


def _cases(sites: list[SiteAdviceInputs], ground: Ground) -> pd.DataFrame:
    """Grade the forecast on every site that can tell."""
    frames = []
    for site in sites:
        days = ground.weather.get(site.station or "")
        if site.daily is None or days is None or site.planting is None:
            continue
        water = site.water if site.water is not None else pd.DataFrame({"kind": []})
        lead = (site.planting - ground.as_of).days
        cases = past_cases(
            site.daily, site.layers, site.points, site.off_seasons, water, lead_d=lead,
            settings=ground.settings,
        )  # fmt: skip
        frames.append(hindcasts(cases, site.layers, site.points, days, ground.settings))
    return (
        pd.concat(frames, ignore_index=True) if frames else pd.DataFrame(columns=CASE_COLUMNS)
    )


def _recharge(sites: list[SiteAdviceInputs], settings: Settings) -> Recharge | None:
    """Fit the farm's recharge relation on its closed off-seasons; None where too few."""
    parts = []
    for site in sites:
        if site.tally is None or site.tally.empty:
            continue
        lower = float(site.points.lower @ thickness_mm(site.layers))
        closed = site.tally[~site.tally["open"].astype(bool)]
        parts.append(
            np.stack(
                [closed["start_mm"] - lower, closed["end_mm"] - lower, closed["received_mm"]]
            )
        )
    if not parts:
        return None
    start, spring, water = np.concatenate(parts, axis=1).astype(np.float64)
    try:
        return fit_recharge(start, spring, water, settings)
    except InputRefused:
        return None
