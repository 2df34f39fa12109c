"""Every crop of one probe, followed from planting: by day, in sum, and as past forecasts."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

import numpy as np
import pandas as pd

from analytics.contract import TABLES
from analytics.model import Daily, Floats, Layer, Season
from analytics.settings import Settings
from analytics.soil.points import points_of
from analytics.soil.profile import layer_water_mm
from analytics.soil.texture import root_depth_cm
from analytics.water.demand import Crop
from analytics.water.depletion import Grown, account
from analytics.water.growth import (
    Versions,
    at_station,
    coefficient,
    crop_for,
    stages_told,
)
from analytics.water.season_grade import past_depletions
from analytics.water.years import past_years

HARVEST, EARLY, REPLANTED, UNKNOWN = "harvest", "early", "replanted", "not recorded"
EARLY_SHARE = 0.7  # of its days: a crop harvested sooner was lost or cut
NEAR_D = 10  # days within which a profile is read at planting and in the end


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """One crop's days in a field: ``until`` is the last that counts."""

    season: Season
    until: date
    ended: str

    @property
    def open(self) -> bool:
        """Tell whether the crop still stands."""
        return not self.ended


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Place:
    """What one probe's crops are followed by.

    ``received`` has date, kind, mm; ``days`` is the station's (`years.daily_weather`);
    ``root_limit_cm`` the depth of a layer that roots cannot pass, None where none is known.
    """

    site: str
    field: str
    daily: Daily
    layers: tuple[Layer, ...]
    limits: pd.DataFrame
    received: pd.DataFrame
    days: pd.DataFrame
    crops: Versions
    root_limit_cm: float | None


def crop_spans(
    seasons: tuple[Season, ...], as_of: date, length_d: Callable[[Season], int]
) -> tuple[Span, ...]:
    """Tell from when to when each crop stood, as far as people said.

    Parameters
    ----------
    seasons : tuple of Season
    as_of : date
    length_d : callable
        Days from planting to maturity of a season's crop.

    Returns
    -------
    tuple of Span
        In order of planting. The same crop planted again before a harvest was replanted; two
        different crops at once share the field, and both are followed. A crop without a
        harvest that a later one follows is followed to maturity: no harvest is invented.
    """
    ordered = sorted(
        (one for one in seasons if one.planted_on < as_of), key=lambda one: one.planted_on
    )
    return tuple(
        _span(one, ordered[at + 1 :], as_of, length_d(one)) for at, one in enumerate(ordered)
    )


def _span(one: Season, later: list[Season], as_of: date, length_d: int) -> Span:
    again = next((two for two in later if two.crop == one.crop), None)
    mature = one.planted_on + timedelta(days=length_d)
    if again is not None and (one.harvested_on is None or again.planted_on < one.harvested_on):
        if again.planted_on <= mature:
            return Span(season=one, until=again.planted_on, ended=REPLANTED)
        return Span(season=one, until=min(mature, as_of), ended=UNKNOWN)
    if one.harvested_on is not None and one.harvested_on <= as_of:
        grown = (one.harvested_on - one.planted_on).days
        ended = EARLY if grown < EARLY_SHARE * length_d else HARVEST
        return Span(season=one, until=one.harvested_on, ended=ended)
    if one.harvested_on is None and (later or as_of > mature):
        return Span(season=one, until=min(mature, as_of), ended=UNKNOWN)
    return Span(season=one, until=as_of, ended="")


def fitted(season: Season, place: Place, settings: Settings) -> Crop | None:
    """Give a crop's coefficients as set, fitted to the station's air and to recorded dates."""
    crop = crop_for(season.crop, place.field, place.crops)
    if crop is None:
        return None
    told = stages_told(crop, season, settings)
    return at_station(season.crop, told, place.days, pd.Timestamp(season.planted_on))


def spans_of(
    place: Place, seasons: tuple[Season, ...], as_of: date, settings: Settings
) -> tuple[Span, ...]:
    """Give the spans of one probe's crops whose coefficients are known."""
    crops = {one: fitted(one, place, settings) for one in seasons if one.planted_on < as_of}
    lengths = {one: sum(crop.stages_d) if crop else 0 for one, crop in crops.items()}
    spans = crop_spans(seasons, as_of, lengths.__getitem__)
    return tuple(one for one in spans if lengths[one.season])


def grown_of(span: Span, place: Place, settings: Settings) -> Grown | None:
    """Gather one crop's days; None where the probe had no day under it."""
    crop, daily = fitted(span.season, place, settings), place.daily
    first = np.datetime64(span.season.planted_on, "D") + 1
    days = np.arange(first, np.datetime64(span.until, "D") + 1)
    rows = np.searchsorted(daily.days, days)
    there = (rows < len(daily.days)) & np.isin(days, daily.days)
    if crop is None or not there.any():
        return None
    placement = int(daily.placement[rows[there]][-1])
    points = points_of(place.limits, place.layers, placement, span.until)
    columns = np.searchsorted(daily.depths_cm, [one.depth_cm for one in place.layers])
    state = np.full((len(days), len(place.layers)), np.nan)
    own = there.copy()
    own[there] = daily.placement[rows[there]] == placement
    state[own] = daily.state[rows[own]][:, columns]
    before = days - 1
    weather = place.days["eto_mm"].reindex(pd.DatetimeIndex(before)).to_numpy(np.float64)
    return Grown(
        days=days, crop=crop, layers=place.layers, points=points, state=state,
        water_mm=_on(place.received, before, ("rain", "snow", "irrigation")), eto_mm=weather,
        deepest_cm=root_depth_cm(span.season.crop, place.root_limit_cm),
    )  # fmt: skip


def _on(received: pd.DataFrame, days: np.ndarray, kinds: tuple[str, ...]) -> Floats:
    at = (received["date"].to_numpy("datetime64[D]") - days[0]).astype(int)
    near = np.flatnonzero((at >= 0) & (at < len(days)))
    some = near[received["kind"].iloc[near].isin(kinds).to_numpy()]
    out = np.zeros(len(days))
    np.add.at(out, at[some], received["mm"].to_numpy(np.float64)[some])
    return out


def _put_on(place: Place, grown: Grown) -> Floats:
    return _on(place.received, grown.days - 1, ("irrigation",))


def follow(
    place: Place, spans: tuple[Span, ...], settings: Settings, *, graded: bool = True
) -> dict[str, pd.DataFrame]:
    """Follow crops of one probe.

    Parameters
    ----------
    place : Place
    spans : tuple of Span
        Of those crops (:func:`spans_of`).
    settings : Settings
    graded : bool
        Make forecasts from past days, too.

    Returns
    -------
    dict of str to DataFrame
        Contract tables ``depletion``, ``crop_water`` and ``season_cases``.
    """
    days, sums, cases = [], [], []
    for span in spans:
        grown = grown_of(span, place, settings)
        if grown is None:
            continue
        planted = np.datetime64(span.season.planted_on, "D")
        told = account(grown, place.site, planted, settings)
        days.append(told)
        sums.append(_sum(span, grown, told, place, settings))
        if graded:
            cases += past_depletions(grown, told, _put_on(place, grown), place.days, settings)
    return {
        "depletion": pd.concat(days, ignore_index=True) if days else no_rows("depletion"),
        "crop_water": _told("crop_water", sums),
        "season_cases": _told("season_cases", cases),
    }


def _told(name: str, rows: list[dict[str, object]]) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=list(TABLES[name].names)) if rows else no_rows(name)


@cache
def no_rows(name: str) -> pd.DataFrame:
    """Give a table of the contract without rows, the same one to all who ask."""
    return pd.DataFrame(columns=list(TABLES[name].names))


def _sum(
    span: Span, grown: Grown, told: pd.DataFrame, place: Place, settings: Settings
) -> dict[str, object]:
    """Sum one crop up: use = rain + irrigation + what the soil gave - what drained.

    All over the probe's own depth: what left the roots but not the probe is still in its soil.
    All between the first and the last morning read, too: water of the planting day lies in the
    soil that is read on the morning after.
    """
    water = layer_water_mm(grown.state, grown.layers).sum(axis=1)
    soil, rows = _change(water)
    rain = float(_on(place.received, grown.days - 1, ("rain", "snow"))[rows].sum())
    put = float(_put_on(place, grown)[rows].sum())
    drained = float(_below_probe(grown, told)[rows].sum())
    lacking = np.maximum(grown.points.full - grown.state[-NEAR_D:][::-1], 0.0)
    return {
        "field": place.field, "site": place.site, "crop": span.season.crop,
        "planted_on": pd.Timestamp(span.season.planted_on), "until": pd.Timestamp(span.until),
        "open": span.open, "ended": span.ended, "rain_mm": rain, "irrigation_mm": put,
        "soil_mm": soil, "drained_mm": drained, "use_mm": rain + put + soil - drained,
        "demand_mm": float(told["demand_mm"].sum()),
        "expected_mm": _expected(grown, place.days, settings),
        "short_days": int((told["probe_mm"] > told["ready_mm"]).sum()),
        "deficit_mm": _read(layer_water_mm(lacking, grown.layers).sum(axis=1)),
        "seen": float(told["probe_mm"].notna().mean()),
    }  # fmt: skip


def _change(water_mm: Floats) -> tuple[float, slice]:
    """Give what a profile lost between its first and last morning, and the rows in between.

    NaN and all rows where nothing was read near either end.
    """
    read = np.flatnonzero(np.isfinite(water_mm))
    early, late = read[read < NEAR_D], read[read >= len(water_mm) - NEAR_D]
    if not len(early) or not len(late):
        return float("nan"), slice(None)
    first, last = int(early[0]), int(late[-1])
    return float(water_mm[first] - water_mm[last]), slice(first + 1, last + 1)


def _below_probe(grown: Grown, told: pd.DataFrame) -> Floats:
    """Estimate what drained past the probe on each day, mm; from below, as off-seasons do.

    Where roots reach into the bottom layer it is what drains past them; before, it is what the
    layers beneath them lost while the bottom one stood above its full point.
    """
    root_cm, past_roots = told["root_cm"].to_numpy(), told["drained_mm"].to_numpy()
    beneath = np.array([one.top_cm for one in grown.layers]) >= root_cm[:, None]
    fell = -np.diff(layer_water_mm(grown.state, grown.layers), axis=0)
    lost = np.maximum(np.where(beneath[1:], fell, 0.0).sum(axis=1), 0.0)
    above = grown.state[:, -1] > grown.points.full[-1]
    lost = np.where(above[1:] & above[:-1], np.nan_to_num(lost), 0.0)
    return np.where(beneath[:, -1], np.concatenate([[0.0], lost]), past_roots)


def _read(water_mm: Floats) -> float:
    known = water_mm[np.isfinite(water_mm)]
    return float(known[0]) if len(known) else float("nan")


def _expected(grown: Grown, days: pd.DataFrame, settings: Settings) -> float:
    """Demand that other years' weather would have led one to expect, the middle of them."""
    start = (grown.days[0] - 1).astype("datetime64[D]")
    years = past_years(days, start.item(), len(grown.days), settings)
    other = years.only(years.starts != start)
    if len(other) < settings.least_years:
        return float("nan")
    kc = coefficient(grown.crop, len(grown.days))
    return float(np.median((kc * other.weather.eto_mm).sum(axis=1)))
