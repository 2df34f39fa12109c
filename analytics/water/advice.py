"""From every site's measured layers to the watering order of all of them.

What the store hands over, once its sites are assessed:

- a site: its field's source and irrigated area, its layers and the points in force, the water
  of each layer today (readiness, held values counted), the coming planting and its crop, its
  nearest station; for the grade also its days, off-seasons, water and tally;
- the sources table with the irrigated area each serves and what is spent of its allocation;
- each station's whole weather, laid out by :func:`station_days`.
"""

from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from dataclasses import field as made_by
from datetime import date
from functools import partial
from itertools import chain
from typing import NamedTuple

import numpy as np
import pandas as pd

from analytics.errors import InputRefused
from analytics.settings import Settings
from analytics.soil.profile import thickness_mm
from analytics.water.demand import reference_et
from analytics.water.errors import dressed, shown_outlook
from analytics.water.hindcast import CASE_COLUMNS, grade, hindcasts, past_cases
from analytics.water.order import Order, solve
from analytics.water.outlook import Outlook, outlook_columns
from analytics.water.queue import OrderInputs, Source, Thirst, source_named
from analytics.water.recharge import Recharge, fit_recharge
from analytics.water.season import Season, season_tables
from analytics.water.thirst import (
    Cuts,
    Ground,
    SiteAdviceInputs,
    bank_of,
    coming_season,
    outlooks,
    site_thirst,
)
from analytics.water.years import daily_weather

APART = 500
"""Sites that one task makes the case of; fewer are not worth sending away.

Those of one station and probe run through its past years together: the more, the less each
takes. A thousand on two cores took 4.8 s by 125 and take 3.1 s so.
"""
_WINTER = ("start_mm", "end_mm", "received_mm")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Advice:
    """The order and all that stands beside it.

    ``outlook`` has a row a site, zone and layer; ``grades`` a row a kind of forecast and zone
    over all sites, ``cases`` each forecast graded; ``left_out`` field, site and why (a
    sentence). ``recharge`` is None where winters are too few. ``inputs`` is what the order
    was worked out from, for what-if. ``season_windows`` and ``season_demand`` tell of the
    coming season (:mod:`analytics.water.season`).
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
    season_windows: pd.DataFrame = made_by(default_factory=pd.DataFrame)
    season_demand: pd.DataFrame = made_by(default_factory=pd.DataFrame)


def station_days(
    weather: pd.DataFrame, latitude: float, elevation_m: float, settings: Settings
) -> pd.DataFrame:
    """Lay one station's whole weather out by day, with reference evapotranspiration."""
    eto = reference_et(weather, latitude, elevation_m, settings)
    return daily_weather(weather, eto, settings)


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
        Uses source_efficiency, pass_mm, allocation_month.
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
            month=int(settings.allocation_month),
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
    executor: Executor | None = None,
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
    executor : Executor, optional
        Runs the sites' own part of a large store; else it is done here.

    Returns
    -------
    Advice
        A field with several probes is judged by the one that lacks most. A site without
        planting, station, today's water or enough years is left out, with the reason.
    """
    executor = executor if len(sites) > APART else None
    thirsts: dict[str, Thirst] = {}
    columns: list[dict[str, list]] = []
    left: list[dict[str, str]] = []
    seasons: dict[str, Season] = {}
    for site, case in zip(
        sites, _cases_for_water(sites, sources, ground, executor), strict=True
    ):
        if isinstance(case, NotJudged):
            left.append({"field": site.field, "site": site.site, "why": case.why})
            if case.season:
                seasons.setdefault(site.field, case.season)
            continue
        columns.append(case.outlook)
        other = thirsts.get(site.field)
        if other is None or case.thirst.target_mm > other.target_mm:
            thirsts[site.field] = case.thirst
            if case.season:
                seasons[site.field] = case.season
    inputs = _inputs(tuple(thirsts.values()), sources, ground)
    cases = _cases(sites, ground) if graded else pd.DataFrame(columns=CASE_COLUMNS)
    made = _advice(
        solve(inputs, executor), inputs, columns, cases, left, _recharge(sites, ground.settings)
    )
    windows, demand = season_tables(list(seasons.values()), ground.settings)
    return replace(made, season_windows=windows, season_demand=demand)


class CaseForWater(NamedTuple):
    """One site's outlook as columns, its case for water, and the season to come."""

    outlook: dict[str, list]
    thirst: Thirst
    season: Season | None


class NotJudged(NamedTuple):
    """Why a site has no case for water; its coming season may be known all the same."""

    why: str
    season: Season | None


def _cases_for_water(
    sites: list[SiteAdviceInputs], sources: tuple[Source, ...], ground: Ground,
    executor: Executor | None,
) -> list[CaseForWater | NotJudged]:  # fmt: skip
    """Make each site's case, or say why it cannot be made."""
    if executor is None:
        return cases_for_water(sites, sources, ground)
    parts = [sites[at : at + APART] for at in range(0, len(sites), APART)]
    made = executor.map(partial(cases_for_water, sources=sources, ground=ground), parts)
    return [case for some in made for case in some]


def cases_for_water(
    sites: list[SiteAdviceInputs], sources: tuple[Source, ...], ground: Ground
) -> list[CaseForWater | NotJudged]:
    """Make the cases of some sites, as a task of its own."""
    cut = Cuts(ground)
    return [
        _case_for_water(site, one, source_named(sources, site.source), cut)
        for site, one in zip(sites, outlooks(sites, cut), strict=True)
    ]


def _case_for_water(
    site: SiteAdviceInputs, outlook: Outlook | str, source: Source | None, cut: Cuts
) -> CaseForWater | NotJudged:
    bank = bank_of(site, source, cut)
    season = coming_season(site, source, bank, cut)
    if isinstance(outlook, str):
        return NotJudged(outlook, season)
    columns = outlook_columns(outlook, site.layers, cut.ground.settings, site.root_limit_cm)
    rows = len(columns["zone"])
    return CaseForWater(
        outlook={**columns, "field": [site.field] * rows, "site": [site.site] * rows},
        thirst=site_thirst(site, outlook, bank, cut), season=season,
    )  # fmt: skip


def _advice(  # noqa: PLR0917 - each is a part of its own kind
    order: Order, inputs: OrderInputs, columns: list[dict[str, list]], cases: pd.DataFrame,
    left: list[dict[str, str]], recharge: Recharge | None,
) -> Advice:  # fmt: skip
    return Advice(
        order=order.order, plan=order.plan, sources=order.sources,
        outlook=shown_outlook(_stacked(columns), cases, inputs.settings)
        if columns else pd.DataFrame(),
        grades=grade(dressed(cases, inputs.settings)), cases=cases, recharge=recharge,
        inputs=inputs,
        left_out=pd.DataFrame(left, columns=["field", "site", "why"]),
    )  # fmt: skip


def _stacked(columns: list[dict[str, list]]) -> pd.DataFrame:
    """Lay the columns of all sites under each other: one frame, not one a site."""
    return pd.DataFrame(
        {name: list(chain.from_iterable(one[name] for one in columns)) for name in columns[0]}
    )


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
        frames.append(
            hindcasts(
                cases,
                site.layers,
                site.points,
                days,
                ground.settings,
                root_limit_cm=site.root_limit_cm,
            )
        )
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
        closed = ~site.tally["open"].to_numpy(bool)
        told = (site.tally[name].to_numpy(np.float64)[closed] for name in _WINTER)
        start, spring, water = told
        parts.append(np.stack([start - lower, spring - lower, water]))
    if not parts:
        return None
    start, spring, water = np.concatenate(parts, axis=1)
    try:
        return fit_recharge(start, spring, water, settings)
    except InputRefused:
        return None
