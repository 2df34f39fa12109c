"""The outlook's own grade: the same forecast from past dates against what then happened."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from analytics.model import Daily, Floats, Layer, OffSeason, Points
from analytics.settings import Settings
from analytics.soil.points import columns_of
from analytics.soil.profile import zone_weights
from analytics.water.balance import Soil, Weather, bare_soil, soil_of
from analytics.water.outlook import ZONES
from analytics.water.years import Years, past_years

INTERVAL = (0.1, 0.9)  # the 80 % interval
CASE_COLUMNS = [
    "site", "kind", "from", "to", "zone", "forecast_mm", "low_mm", "high_mm", "happened_mm",
    "own_weather_mm",
]  # fmt: skip
FROM_HARVEST, FROM_NOW = "harvest", "now"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Case:
    """One past forecast: layers' water on both days, and irrigation known meanwhile (D,) mm."""

    site: str
    kind: str
    start: date
    end: date
    start_mm: Floats
    end_mm: Floats
    irrigation_mm: Floats


def past_cases(
    daily: Daily,
    layers: tuple[Layer, ...],
    points: Points,
    off_seasons: tuple[OffSeason, ...],
    water: pd.DataFrame,
    *,
    lead_d: int,
    settings: Settings,
) -> list[Case]:
    """Find what can be graded: every past off-season, from its harvest and from about now.

    Parameters
    ----------
    daily : Daily
    layers : tuple of k Layer
    points : Points
        Of the placement now in force; nothing crosses it.
    off_seasons : tuple of OffSeason
    water : DataFrame
        ``date``, ``kind``, ``mm``: irrigation in the span is a decision, not weather, so the
        forecast is told of it.
    lead_d : int
        Days from today to the coming planting: the same lead is graded in past years.
    settings : Settings
        Uses tally_reach_days.

    Returns
    -------
    list of Case
        Those with every layer read, within tally_reach_days, at both ends.
    """
    out: list[Case] = []
    for season in off_seasons:
        if season.open or season.crop_next is None:
            continue
        length = (season.end - season.start).days
        leads = {FROM_HARVEST: length, FROM_NOW: lead_d if lead_d < length else 0}
        for kind, lead in leads.items():
            case = _case(daily, layers, points, season, kind, lead, water, settings)
            out += [case] if case is not None else []
    return out


def _case(  # noqa: PLR0917 - each is a record of its own kind
    daily: Daily, layers: tuple[Layer, ...], points: Points, season: OffSeason, kind: str,
    lead_d: int, water: pd.DataFrame, settings: Settings,
) -> Case | None:  # fmt: skip
    end = np.datetime64(season.end, "D")
    first = _read_near(daily, layers, points, end - lead_d, settings) if lead_d else None
    last = _read_near(daily, layers, points, end, settings)
    if first is None or last is None or not first[0] < last[0]:
        return None
    start, stop = first[0], last[0]
    put_on = np.zeros(int((stop - start).astype(int)))
    own = water[water["kind"] == "irrigation"] if len(water) else water
    if len(own):
        at = (own["date"].to_numpy("datetime64[D]") - start).astype(int)
        inside = (at >= 0) & (at < len(put_on))
        np.add.at(put_on, at[inside], own["mm"].to_numpy(np.float64)[inside])
    began, ended = pd.Timestamp(start).date(), pd.Timestamp(stop).date()
    return Case(
        site=daily.site, kind=kind, start=began, end=ended, start_mm=first[1], end_mm=last[1],
        irrigation_mm=put_on,
    )  # fmt: skip


def _read_near(
    daily: Daily,
    layers: tuple[Layer, ...],
    points: Points,
    day: np.datetime64,
    settings: Settings,
) -> tuple[np.datetime64, Floats] | None:
    """Find the day nearest to one asked for with every layer read; its water by layer."""
    columns = columns_of(daily.depths_cm, layers)
    far = np.abs((daily.days - day).astype(int))
    state = daily.state[:, columns]
    fit = np.isfinite(state).all(axis=1) & (columns >= 0).all()
    fit &= (far <= settings.tally_reach_days) & (daily.placement == points.placement)
    if not fit.any():
        return None
    at = int(np.argmin(np.where(fit, far, far.max() + 1)))
    thick = np.array([10.0 * layer.thickness_cm for layer in layers])
    return daily.days[at], state[at] * thick


def hindcasts(
    cases: list[Case],
    layers: tuple[Layer, ...],
    points: Points,
    days: pd.DataFrame,
    settings: Settings,
    *,
    root_limit_cm: float | None = None,
) -> pd.DataFrame:
    """Forecast every case from the other years' weather, and set what happened beside it.

    Parameters
    ----------
    cases : list of Case
        Of one site.
    layers : tuple of k Layer
    points : Points
    days : DataFrame
        Of :func:`analytics.water.years.daily_weather`.
    settings : Settings
    root_limit_cm : float, optional
        Depth of a layer that roots cannot pass: the zones end there.

    Returns
    -------
    DataFrame
        A row a case and zone: site, kind, from, to, zone, forecast_mm (median lacking),
        low_mm and high_mm (80 % interval), happened_mm, own_weather_mm (the balance fed with
        the very weather that came: what is wrong with it is the balance's own fault).
    """
    soil = soil_of(layers, points.full, points.lower, settings)
    weights = zone_weights(layers, settings.zone_split_cm, root_limit_cm=root_limit_cm)
    zones = np.stack([weights[zone] for zone in ZONES])
    rows: list[dict[str, object]] = []
    foreseen = [(case, years) for case in cases if (years := _weather_of(case, days, settings))]
    for (case, years), end_mm in zip(foreseen, _ends(foreseen, soil, settings), strict=True):
        rows += _graded(case, years, end_mm, soil, zones)
    return pd.DataFrame(rows, columns=CASE_COLUMNS)


def _weather_of(case: Case, days: pd.DataFrame, settings: Settings) -> Years | None:
    """Give every year's weather from a case's start, read at dawn; None of too few years."""
    begin = np.datetime64(case.start, "D")
    years = past_years(days, begin.item(), len(case.irrigation_mm), settings)
    return years if (years.starts != begin).sum() >= settings.least_years else None


def _ends(foreseen: list[tuple[Case, Years]], soil: Soil, settings: Settings) -> list[Floats]:
    """Run all cases at once, one year under another; give the layers on each one's last day.

    A shorter case goes on through days without weather, which nobody looks at.
    """
    if not foreseen:
        return []
    lengths = [len(case.irrigation_mm) for case, _ in foreseen]
    counts = [len(years) for _, years in foreseen]
    told = [_watered(case, years, max(lengths)) for case, years in foreseen]
    weather = Weather(*(np.concatenate(blocks) for blocks in zip(*told, strict=True)))
    start_mm = np.repeat([case.start_mm for case, _ in foreseen], counts, axis=0)
    path = bare_soil(start_mm, soil, weather, settings).layers_mm
    cuts = np.split(path, np.cumsum(counts)[:-1])
    return [cut[:, length - 1] for cut, length in zip(cuts, lengths, strict=True)]


def _watered(case: Case, years: Years, days: int) -> Weather:
    """Add the irrigation that a case knows of; days beyond its own are without weather."""
    water, eto, frozen = years.weather
    beyond = ((0, 0), (0, days - len(case.irrigation_mm)))
    return Weather(
        np.pad(water + case.irrigation_mm, beyond), np.pad(eto, beyond), np.pad(frozen, beyond)
    )


def _graded(
    case: Case, years: Years, end_mm: Floats, soil: Soil, zones: Floats
) -> list[dict[str, object]]:
    own = years.starts == np.datetime64(case.start, "D")
    lacking = np.maximum(soil.full_mm - end_mm, 0.0) @ zones.T  # (Y, 3)
    happened = np.maximum(soil.full_mm - case.end_mm, 0.0) @ zones.T
    low, high = np.quantile(lacking[~own], INTERVAL, axis=0)
    middle = np.median(lacking[~own], axis=0)
    known = lacking[own][0] if own.any() else np.full(len(zones), np.nan)
    return [
        {"site": case.site, "kind": case.kind, "from": case.start, "to": case.end,
         "zone": zone, "forecast_mm": middle[at], "low_mm": low[at], "high_mm": high[at],
         "happened_mm": happened[at], "own_weather_mm": known[at]}
        for at, zone in enumerate(ZONES) if zones[at].any()
    ]  # fmt: skip


def grade(cases: pd.DataFrame) -> pd.DataFrame:
    """Grade forecasts by zone and by where they began.

    Parameters
    ----------
    cases : DataFrame
        Rows of :func:`hindcasts`, dressed (:func:`analytics.water.errors.dressed`).

    Returns
    -------
    DataFrame
        ``kind``, ``zone``, ``n``, ``winters`` (how many different ones: fields share them, so
        that a hundred cases may rest on few), ``bias_mm`` (forecast less happened: above
        nought it expected the soil drier than it was), ``mean_error_mm`` (mean absolute),
        ``coverage`` (share of cases within the 80 % interval that is shown),
        ``weather_coverage`` (within that of weather alone), ``balance_bias_mm`` and
        ``balance_error_mm`` (the balance alone, with the weather that came).
    """
    columns = ["kind", "zone", "n", "winters", "bias_mm", "mean_error_mm", "coverage",
               "weather_coverage", "balance_bias_mm", "balance_error_mm"]  # fmt: skip
    if cases.empty:
        return pd.DataFrame(columns=columns)
    off = cases["forecast_mm"] - cases["happened_mm"]
    own = cases["own_weather_mm"] - cases["happened_mm"]
    happened = cases["happened_mm"]
    inside = happened.between(cases["low_mm"], cases["high_mm"])
    weather = happened.between(cases["weather_low_mm"], cases["weather_high_mm"])
    each = cases[["kind", "zone"]].assign(
        n=1, winters=pd.to_datetime(cases["to"]).dt.year, bias_mm=off,
        mean_error_mm=off.abs(), coverage=inside.astype(float),
        weather_coverage=weather.astype(float), balance_bias_mm=own, balance_error_mm=own.abs(),
    )  # fmt: skip
    means = dict.fromkeys(columns[4:], "mean")
    told = {"n": "sum", "winters": "nunique", **means}
    return each.groupby(["kind", "zone"], as_index=False).agg(told)[columns]
