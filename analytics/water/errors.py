"""What the balance itself gets wrong, learned from its past, added to what weather may do."""

import numpy as np
import pandas as pd

from analytics.model import Floats
from analytics.settings import Settings
from analytics.water.hindcast import FROM_HARVEST, FROM_NOW, INTERVAL

SHARES = (INTERVAL[0], 0.5, INTERVAL[1])


def dressed(cases: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Widen each past forecast by the errors that the balance made elsewhere.

    Parameters
    ----------
    cases : DataFrame
        Rows of :func:`analytics.water.hindcast.hindcasts`, of one site or of many.
    settings : Settings
        Uses grade_least.

    Returns
    -------
    DataFrame
        The same rows; ``forecast_mm``, ``low_mm`` and ``high_mm`` are those a reader is shown,
        ``weather_mm``, ``weather_low_mm`` and ``weather_high_mm`` what weather alone gave.

    Notes
    -----
    The error is what happened less what the balance says when fed the very weather that
    came. A case is dressed with the errors of all other sites (of all other cases, where there
    is one site), so that no forecast sees its own outcome: the median shifts it, the distances
    to the outer tenths widen it in quadrature. With fewer than ``grade_least`` errors a
    forecast stays as it is.
    """
    plain = {"weather_mm": "forecast_mm", "weather_low_mm": "low_mm",
             "weather_high_mm": "high_mm"}  # fmt: skip
    out = cases.assign(**{new: cases[old] for new, old in plain.items()})
    if cases.empty:
        return out
    error = cases["happened_mm"] - cases["own_weather_mm"]
    for rows in cases.groupby(["kind", "zone"]).groups.values():
        own = error.loc[rows].to_numpy(np.float64)
        sites = cases.loc[rows, "site"].to_numpy()
        several = len(set(sites)) > 1
        key = sites if several else np.arange(len(own))
        spread = _left_out(own, key, int(settings.grade_least))
        shown = cases.loc[rows, ["low_mm", "forecast_mm", "high_mm"]].to_numpy(np.float64)
        out.loc[rows, ["low_mm", "forecast_mm", "high_mm"]] = widen(shown, spread)
    return out


def _left_out(error: Floats, key: np.ndarray, least: int) -> Floats:
    """Outer tenths and median of all errors that bear another key, (n, 3); nought if few.

    All errors are sorted once; a key's own are stepped over.
    """
    out = np.zeros((len(error), 3))
    known = np.flatnonzero(np.isfinite(error))
    order = known[np.argsort(error[known], kind="stable")]
    ranked = error[order]
    rank = np.full(len(error), -1)
    rank[order] = np.arange(len(order))
    for rows in pd.Series(np.arange(len(key))).groupby(key, sort=False).indices.values():
        own = np.sort(rank[rows][rank[rows] >= 0])
        count = len(ranked) - len(own)
        if count >= max(least, 1):
            place = np.array(SHARES) * (count - 1)
            low, high = np.floor(place).astype(int), np.ceil(place).astype(int)
            before = own - np.arange(len(own))
            low, high = (at + np.searchsorted(before, at, side="right") for at in (low, high))
            share = place - np.floor(place)
            out[rows] = ranked[low] + share * (ranked[high] - ranked[low])
    return out


def widen(shown_mm: Floats, error_mm: Floats) -> Floats:
    """Add an error's spread to a forecast's.

    Parameters
    ----------
    shown_mm : (..., 3) float
        Low, middle and high of what lacks.
    error_mm : (..., 3) float
        The same of the error.

    Returns
    -------
    (..., 3) float
        Never below nought.
    """
    low, middle, high = np.moveaxis(shown_mm, -1, 0)
    e_low, e_middle, e_high = np.moveaxis(error_mm, -1, 0)
    at = middle + e_middle
    down = np.hypot(middle - low, e_middle - e_low)
    up = np.hypot(high - middle, e_high - e_middle)
    return np.maximum(np.stack([at - down, at, at + up], axis=-1), 0.0)


def shown_outlook(
    outlook: pd.DataFrame, cases: pd.DataFrame, settings: Settings
) -> pd.DataFrame:
    """Give every zone of an outlook the interval that a reader is shown.

    Parameters
    ----------
    outlook : DataFrame
        Of :func:`analytics.water.outlook.outlook_columns`.
    cases : DataFrame
        Of :func:`analytics.water.hindcast.hindcasts`; errors of forecasts of today's lead
        where there are enough, else of those from harvest.
    settings : Settings
        Uses grade_least.

    Returns
    -------
    DataFrame
        With ``low_mm``, ``likely_mm`` and ``high_mm`` (80 %) lacking at planting, and
        ``errors``: how many past errors they rest on. A single layer has weather alone, 0.
    """
    found = {zone: _errors_of(cases, zone, settings) for zone in outlook["zone"].unique()}
    spread = np.stack([found[zone][0] for zone in outlook["zone"]])
    shown = outlook[["q10_mm", "q50_mm", "q90_mm"]].to_numpy(np.float64)
    low, likely, high = widen(shown, spread).T
    count = [found[zone][1] for zone in outlook["zone"]]
    return outlook.assign(low_mm=low, likely_mm=likely, high_mm=high, errors=count)


def _errors_of(cases: pd.DataFrame, zone: str, settings: Settings) -> tuple[Floats, int]:
    for kind in (FROM_NOW, FROM_HARVEST):
        own = cases[(cases["zone"] == zone) & (cases["kind"] == kind)]
        error = (own["happened_mm"] - own["own_weather_mm"]).dropna().to_numpy(np.float64)
        if len(error) >= settings.grade_least:
            return np.quantile(error, SHARES), len(error)
    return np.zeros(3), 0
