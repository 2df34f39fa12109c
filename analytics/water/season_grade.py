"""Past forecasts of a crop's root zone, set beside what the probe then read."""

from typing import NamedTuple

import numpy as np
import pandas as pd

from analytics.contract import TABLES
from analytics.model import Bools, Floats, Points
from analytics.settings import Settings
from analytics.units import EIGHT_IN_TEN
from analytics.water.balance import root_zone
from analytics.water.depletion import Grown, Roots, effective_mm, roots_of
from analytics.water.growth import coefficient
from analytics.water.years import past_years

LOW, HIGH = 0.1, 0.9
STARTS = CORRECTED, ALONE = "corrected", "alone"


def past_depletions(
    grown: Grown, told: pd.DataFrame, put_mm: Floats, days: pd.DataFrame, settings: Settings
) -> list[dict[str, object]]:
    """Forecast a past crop's depletion again every ten days, with and without the probe.

    Parameters
    ----------
    grown : Grown
    told : DataFrame
        Its rows of ``depletion``.
    put_mm : (D,) float
        Irrigation, which was a decision: the forecast is told of it.
    days : DataFrame
        Of :func:`analytics.water.years.daily_weather`; the very year is left out.
    settings : Settings
        Uses forecast_days, least_years, light_rain.

    Returns
    -------
    list of dict
        Rows of ``season_cases``.
    """
    ahead = int(settings.forecast_days)
    probe, alone = (told[name].to_numpy(np.float64) for name in ("probe_mm", "alone_mm"))
    pace = told["pace"].to_numpy(np.float64)
    roots = roots_of(grown, settings)
    cases: list[_Case] = []
    for day in range(ahead, len(probe) - ahead, ahead):
        if np.isfinite(probe[[day, day + ahead]]).all() and np.isfinite(alone[day]):
            starts = ((probe[day], pace[day]), (alone[day], 1.0))
            one = _case(grown, roots, day, starts, put_mm, days, settings)
            cases += [one] if one is not None else []
    known = {"site": told["site"].iloc[0], "planted_on": told["planted_on"].iloc[0]}
    return [
        {**known, "from": grown.days[case.day], "to": grown.days[case.day + ahead],
         "happened_mm": float(probe[case.day + ahead]), **row}
        for case, end_mm in zip(cases, _ends(cases), strict=True)
        for row in _bands(end_mm, case.own)
    ]  # fmt: skip


class _Case(NamedTuple):
    """A forecast from one day of a crop: both `STARTS` through Y years, of A days each."""

    day: int
    own: Bools  # (Y,) the very year
    start_mm: Floats  # (2,)
    parts_mm: dict[str, Floats]  # of `root_zone`, each (2, Y, A)


def _case(  # noqa: PLR0917 - each is a fact of its own kind
    grown: Grown, roots: Roots, day: int, starts: tuple[tuple[float, float], ...],
    put: Floats, days: pd.DataFrame, settings: Settings,
) -> _Case | None:  # fmt: skip
    ahead = int(settings.forecast_days)
    begin = grown.days[day].astype("datetime64[D]")  # its own weather follows its morning
    years = past_years(days, begin.item(), ahead, settings)
    own = years.starts == begin
    if (~own).sum() < settings.least_years:
        return None
    part = slice(day + 1, day + 1 + ahead)
    eto = years.weather.eto_mm
    water = effective_mm(years.weather.water_mm, eto, settings) + put[part]
    kc = coefficient(grown.crop, len(grown.days))[part]
    inside = roots.inside_mm[day : day + 1 + ahead]
    entering = entering_ahead(grown.state[day], grown.points, inside)
    start, fast = np.array(starts).T
    parts = {
        "water_mm": water, "crop_mm": fast[:, None, None] * kc * eto,
        "available_mm": roots.available_mm[part], "ready_mm": roots.ready_mm[part],
        "entering_mm": entering,
    }  # fmt: skip
    shape = (len(start), *eto.shape)
    return _Case(
        day, own, start, {name: np.broadcast_to(mm, shape) for name, mm in parts.items()}
    )


def _ends(cases: list[_Case]) -> list[Floats]:
    """Run all forecasts of a crop at once, one year under another; each one's end (2, Y)."""
    if not cases:
        return []
    counts = [len(one.own) for one in cases]
    start = np.repeat(np.column_stack([one.start_mm for one in cases]), counts, axis=1)
    parts = {
        name: np.concatenate([one.parts_mm[name] for one in cases], axis=1)
        for name in cases[0].parts_mm
    }
    end = root_zone(start, **parts).end_mm[..., -1]
    return np.split(end, np.cumsum(counts)[:-1], axis=1)


def _bands(end_mm: Floats, own: Bools) -> list[dict[str, object]]:
    """Give of each start the band of the other years, and where the very year's weather led."""
    low, middle, high = np.quantile(end_mm[:, ~own], (LOW, 0.5, HIGH), axis=1)
    known = end_mm[:, own][:, 0] if own.any() else np.full(len(end_mm), np.nan)
    return [
        {"kind": kind, "forecast_mm": middle[at], "low_mm": low[at], "high_mm": high[at],
         "own_weather_mm": known[at]}
        for at, kind in enumerate(STARTS)
    ]  # fmt: skip


def entering_ahead(state: Floats, points: Points, inside_mm: Floats) -> Floats:
    """Depletion of the soil that roots will grow into, by what is measured there today.

    Parameters
    ----------
    state : (k,) float
        m3/m3; an unread layer counts as full.
    points : Points
    inside_mm : (D + 1, k) float
        Soil within the roots today and on each of D days to come.
    """
    lacking = np.nan_to_num(np.maximum(points.full - state, 0.0))
    return np.diff(inside_mm, axis=0) @ lacking


def season_grade(cases: pd.DataFrame, error_mm: float | None = None) -> pd.DataFrame:
    """Grade past forecasts of the root zone.

    Parameters
    ----------
    cases : DataFrame
        Rows of ``season_cases`` of any number of probes.
    error_mm : float, optional
        Balance's own standard error, by which the weather's band is widened; left out: that of
        the corrected cases themselves.

    Returns
    -------
    DataFrame
        Rows of ``season_grade``; ``balance_error_mm`` is the root mean square of what the
        balance misses when it is told the weather that came.
    """
    names = list(TABLES["season_grade"].names)
    rows = []
    for kind, some in cases.groupby("kind", sort=False):
        off = some["forecast_mm"] - some["happened_mm"]
        own = (some["own_weather_mm"] - some["happened_mm"]).dropna()
        error = float(np.sqrt((own**2).mean())) if error_mm is None else error_mm
        low, high = widened(some, error)
        happened = some["happened_mm"]
        rows.append({
            "kind": kind, "n": len(some),
            "seasons": some[["site", "planted_on"]].drop_duplicates().shape[0],
            "bias_mm": off.mean(), "mean_abs_error_mm": off.abs().mean(),
            "coverage_80": happened.between(low, high).mean(),
            "weather_coverage": happened.between(some["low_mm"], some["high_mm"]).mean(),
            "balance_bias_mm": own.mean(), "balance_error_mm": error,
        })  # fmt: skip
    return pd.DataFrame(rows, columns=names)


def widened(cases: pd.DataFrame, error_mm: float) -> tuple[pd.Series, pd.Series]:
    """Widen the weather's band by the balance's own error, as `ahead.path` does."""
    own, middle = EIGHT_IN_TEN * error_mm, cases["forecast_mm"]
    low = (middle - np.hypot(middle - cases["low_mm"], own)).clip(lower=0.0)
    return low, middle + np.hypot(cases["high_mm"] - middle, own)
