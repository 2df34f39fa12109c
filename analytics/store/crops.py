"""The crops of one probe: what is gathered to follow them, and the tables that come of it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd

from analytics.model import Season, SiteInputs, no_readings
from analytics.nightly import Night
from analytics.settings import Settings
from analytics.soil.profile import resolve_layers
from analytics.soil.recent import Known, days_of
from analytics.soil.wetting import received_water
from analytics.store import connection, preferences, statements
from analytics.store.inputs import site_told
from analytics.store.shared import shared, weather_of
from analytics.water.followed import Place, Span, follow, no_rows, spans_of
from analytics.water.news import news
from analytics.water.queue import opening_of, source_named
from analytics.water.thirst import capacity_mm_d, left_mm
from analytics.water.today import Standing, Supply, standing

CROP_TABLES = ("depletion", "crop_water", "season_cases", "news")


def crop_tables(
    store: Path, inputs: SiteInputs, tables: Mapping[str, pd.DataFrame], settings: Settings
) -> dict[str, pd.DataFrame]:
    """Follow every crop of one probe, and say what of it needs a person.

    Parameters
    ----------
    store : Path
    inputs : SiteInputs
    tables : mapping of str to DataFrame
        What the site's assessment gave; ``daily``, ``limits`` and ``wettings`` are used.
    settings : Settings

    Returns
    -------
    dict of str to DataFrame
        Contract tables ``depletion``, ``crop_water``, ``season_cases`` and ``news``; without
        rows where there is no weather or nothing was read.
    """
    place = _place(store, inputs, tables, settings)
    if place is None:
        return {name: no_rows(name) for name in CROP_TABLES}
    spans = spans_of(place, inputs.seasons, inputs.as_of, settings)
    told = follow(place, spans, settings)
    words = _words(store, place, spans, tables["wettings"], inputs.as_of, settings)
    return {**told, "news": words}


def night_tables(
    store: Path, inputs: SiteInputs, night: Night, known: Known, settings: Settings
) -> dict[str, pd.DataFrame]:
    """Follow the crops that stand through a night's new days, and say what needs a person.

    Parameters
    ----------
    store : Path
    inputs : SiteInputs
    night : Night
    known : Known
        Its points are used.
    settings : Settings

    Returns
    -------
    dict of str to DataFrame
        Contract tables ``depletion``, only days from the night's first on, ``crop_water`` of
        those crops, and ``news``.
    """
    names = ("depletion", "crop_water", "news")
    days = weather_of(store, inputs.placements[-1], inputs.as_of, settings)
    if days is None:
        return {name: no_rows(name) for name in names}
    place = Place(
        site=inputs.record.site, field=inputs.field, daily=night.daily, layers=night.layers,
        limits=known.tables["limits"], received=night.received, days=days,
        crops=shared(store, inputs.as_of, settings).crops, root_limit_cm=inputs.root_limit_cm,
    )  # fmt: skip
    first: date = night.fresh.astype("datetime64[D]").item()
    late = [one for one in inputs.seasons if _may_stand(one, first, inputs)]
    spans = spans_of(place, inputs.seasons, inputs.as_of, settings) if late else ()
    going = tuple(one for one in spans if one.until >= first)
    told = follow(place, going, settings, graded=False)
    if going:
        late = told["depletion"]["date"].to_numpy("datetime64[D]") >= night.fresh
        told["depletion"] = told["depletion"][late]
    wettings = night.tables.get("wettings", known.tables["wettings"])
    words = _words(store, place, going, wettings, inputs.as_of, settings)
    return {"depletion": told["depletion"], "crop_water": told["crop_water"], "news": words}


def _may_stand(one: Season, first: date, inputs: SiteInputs) -> bool:
    return one.planted_on <= inputs.as_of and (
        one.harvested_on is None or one.harvested_on >= first
    )


def _words(  # noqa: PLR0917 - as `news`
    store: Path, place: Place, spans: tuple[Span, ...], wettings: pd.DataFrame, as_of: date,
    settings: Settings,
) -> pd.DataFrame:  # fmt: skip
    stand = [
        found
        for span in spans
        if span.open and (found := standing(place, span.season, as_of, settings))
    ]
    supply = supply_of(store, place.field, as_of, settings)
    return news(place, stand, wettings, supply, as_of, settings)


def _place(
    store: Path, inputs: SiteInputs, tables: Mapping[str, pd.DataFrame], settings: Settings
) -> Place | None:
    own = tables.get("daily")
    if own is None or own.empty or "limits" not in tables:
        return None
    days = weather_of(store, inputs.placements[-1], inputs.as_of, settings)
    if days is None:
        return None
    record = inputs.record
    crops = shared(store, inputs.as_of, settings).crops
    return Place(
        site=record.site, field=inputs.field, daily=days_of(record.site, own),
        layers=resolve_layers(record.site, record.depths_cm, inputs.layers, inputs.soil),
        limits=tables["limits"], received=received_water(inputs.water, inputs.weather),
        days=days, crops=crops, root_limit_cm=inputs.root_limit_cm,
    )  # fmt: skip


def supply_of(store: Path, field: str, as_of: date, settings: Settings) -> Supply:
    """Tell what a field's source can give it a day, and when; NaN without one."""
    known = shared(store, as_of, settings)
    source = source_named(known.sources, known.source_of.get(field))
    if source is None:
        return Supply(capacity_mm_d=float("nan"), efficiency=settings.source_efficiency)
    return Supply(
        capacity_mm_d=capacity_mm_d(source),
        efficiency=source.efficiency,
        opening=opening_of(source),
        left_mm=left_mm(source),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Followed:
    """One crop of one probe up to a day, with what it is followed by."""

    place: Place
    crop: Standing
    supply: Supply
    error_mm: float
    settings: Settings


def followed(store: Path, site: str, planted_on: date, day: date) -> Followed | None:
    """Follow one crop up to any day of it, with what was known then.

    Parameters
    ----------
    store : Path
    site : str
    planted_on : date
        Of the crop.
    day : date
        What came later is not looked at, but points are those that hold now.

    Returns
    -------
    Followed or None
        None without such a crop, weather or readings.
    """
    settings = preferences.thresholds(store)
    with connection.reading(store) as db:
        tables = {
            "daily": statements.rows(db, "site_daily", site=site, until=day),
            "limits": statements.rows(db, "site_limits", site=site),
        }
        error = statements.rows(db, "season_error")["balance_error_mm"].to_numpy(np.float64)
    depths = np.sort(tables["daily"]["depth_cm"].unique()).astype(np.float64)
    inputs = site_told(store, no_readings(site, depths), day)
    season = _season(inputs.seasons, planted_on)
    place = _place(store, inputs, tables, settings)
    if season is None or place is None:
        return None
    crop = standing(place, season, day, settings)
    if crop is None:
        return None
    return Followed(
        place=place, crop=crop, supply=supply_of(store, inputs.field, day, settings),
        error_mm=float(error[0]) if len(error) else 0.0, settings=settings,
    )  # fmt: skip


def _season(seasons: tuple[Season, ...], planted_on: date) -> Season | None:
    return next((one for one in seasons if one.planted_on == planted_on), None)
