"""Refill points from the roots themselves: where uptake over demand begins to fall."""

from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from analytics.model import Daily, Floats, Layer, Season, Times
from analytics.settings import Settings
from analytics.soil.candidates import frame_of
from analytics.soil.layer_points import counted
from analytics.soil.points import BY_TABLE_22
from analytics.soil.texture import P_GREATEST, P_LEAST

GRID = 41  # places tried for the break
ENDS = (0.10, 0.90)  # quantiles of theta between which a break can be told
TINY = 1e-12
ONE_SEGMENT, TWO_SEGMENTS = 3, 5  # parameters, with the variance
FLATTER = 0.5  # above the break uptake leans on water less than half as much as below
LEAST_MM = 0.5  # of demand; a day that asks for less tells nothing of the soil
PLACE = ["placement", "depth_cm"]


class Break(NamedTuple):
    """A continuous line of two segments: where it bends, and how steep it is on both sides."""

    at: float  # m3/m3
    below: float  # per m3/m3
    above: float
    gain: float  # information criterion of one segment less that of two


def broken_stick(theta: Floats, relative: Floats, settings: Settings) -> Break | None:
    """Fit two joined segments, and keep them only if they beat one.

    Parameters
    ----------
    theta : (n,) float
        Water content of the layer on each day, m3/m3.
    relative : (n,) float
        Uptake of the layer over demand, 1.
    settings : Settings

    Returns
    -------
    Break or None
        None where there are too few days, where one line says as much, or where uptake does
        not fall with water below the break.

    Notes
    -----
    Least squares of ``a + b theta + c max(theta - break, 0)`` on a grid of breaks. Kept where
    the Bayesian information criterion (Schwarz 1978), n ln(RSS / n) + k ln n, is lower than
    one line's by ``refill_bic``.
    """
    good = np.isfinite(theta) & np.isfinite(relative)
    x, y = theta[good], relative[good]
    if len(x) < settings.refill_days or np.ptp(x) <= settings.sensor_sd:
        return None
    first, last = np.quantile(x, ENDS)
    tried = np.linspace(float(first), float(last), GRID)
    one_rss, rss, below, bend = _fits(x, y, np.maximum(x[:, None] - tried, 0.0))
    best = int(np.argmin(rss))
    gain = _criterion(one_rss, len(x), ONE_SEGMENT) - _criterion(
        float(rss[best]), len(x), TWO_SEGMENTS
    )
    above = below[best] + bend[best]
    if gain < settings.refill_bic or below[best] <= 0.0 or above > FLATTER * below[best]:
        return None
    return Break(float(tried[best]), float(below[best]), float(above), gain)


def _fits(x: Floats, y: Floats, bent: Floats) -> tuple[float, Floats, Floats, Floats]:
    """Fit one line, and with it each of several bent columns in turn, by least squares.

    A column's own share is what it explains of the line's residuals once the line is taken
    out of the column too (Frisch and Waugh), so that no matrix is solved for each break.

    Parameters
    ----------
    x, y : (n,) float
    bent : (n, g) float

    Returns
    -------
    one_rss : float
    rss, slope, bend : (g,) float
    """
    far = x - x.mean()
    spread = far @ far
    slope = far @ (y - y.mean()) / spread
    steep = far @ (bent - bent.mean(axis=0)) / spread
    left = y - y.mean() - slope * far
    free = bent - bent.mean(axis=0) - far[:, None] * steep
    own = (free * free).sum(axis=0)
    bend = np.divide(left @ free, own, out=np.zeros(len(own)), where=own > TINY)
    rss = ((left[:, None] - free * bend) ** 2).sum(axis=0)
    return float(left @ left), rss, slope - bend * steep, bend


def _criterion(rss: float, n: int, parameters: int) -> float:
    return n * float(np.log(rss / n + TINY)) + parameters * float(np.log(n))


def refill_fits(  # noqa: PLR0917 - each is a record of its own kind
    uptake: pd.DataFrame,
    daily: Daily,
    demand_mm: Floats,
    layers: tuple[Layer, ...],
    seasons: tuple[Season, ...],
    settings: Settings,
) -> pd.DataFrame:
    """Fit the water content at which each layer's uptake begins to fall, season by season.

    Parameters
    ----------
    uptake : DataFrame
        As `roots.uptake` gives it.
    daily : Daily
    demand_mm : (D,) float
        Reference evapotranspiration of each of the days, mm; NaN where it is not known.
    layers : tuple of Layer
    seasons : tuple of Season
    settings : Settings

    Returns
    -------
    DataFrame
        Columns of ``candidates``: point ``refill``, kind ``uptake``, on the season's last day
        used, weight its days. A layer and season without a break has no row.

    Notes
    -----
    Only the part of a season is used in which the crop covers the ground and is still green
    (``refill_from`` to ``refill_until``), so that demand is a constant times ETo.
    """
    rows: list[dict[str, Any]] = []
    took = uptake[uptake["rooted"].astype(bool)] if len(uptake) else uptake
    day, depth_cm = took["date"].to_numpy("datetime64[us]"), took["depth_cm"].to_numpy()
    mm = took["mm"].to_numpy(float)
    for season in seasons:
        first, last = (one.to_datetime64() for one in _grown(season, settings))
        covered = (day >= first) & (day <= last)
        for layer in layers:
            mine = covered & (depth_cm == layer.depth_cm)
            rows += _of_layer(day[mine], mm[mine], daily, demand_mm, layer, settings)
    return frame_of(daily.site, rows)


def _grown(season: Season, settings: Settings) -> tuple[pd.Timestamp, pd.Timestamp]:
    """First and last day of full cover; nothing of a crop that is not harvested yet."""
    planted = pd.Timestamp(season.planted_on)
    harvested = pd.Timestamp(season.harvested_on or season.planted_on)
    length = harvested - planted
    return planted + settings.refill_from * length, planted + settings.refill_until * length


def _of_layer(  # noqa: PLR0917 - each is a record of its own kind
    day: Times, took_mm: Floats, daily: Daily, demand_mm: Floats, layer: Layer,
    settings: Settings,
) -> list[dict[str, Any]]:  # fmt: skip
    if not len(day):
        return []
    at = np.searchsorted(daily.days, day.astype("datetime64[D]"))
    column = int(np.searchsorted(daily.depths_cm, layer.depth_cm))
    numbers = daily.placement[at]
    kept = numbers == numbers[-1]  # a break of the season at a re-installation: the later hole
    rows, mm = at[kept], took_mm[kept]
    asked = np.where(demand_mm[rows] >= LEAST_MM, demand_mm[rows], np.nan)
    found = broken_stick(daily.state[rows, column], mm / asked, settings)
    if found is None:
        return []
    return [{"placement": int(numbers[-1]), "depth_cm": layer.depth_cm, "point": "refill",
             "kind": "uptake", "value": found.at, "on": daily.days[rows[-1]],
             "weight": float(np.isfinite(asked).sum())}]  # fmt: skip


def with_fitted_refill(
    limits: pd.DataFrame, fits: pd.DataFrame, settings: Settings
) -> pd.DataFrame:
    """Let refill points that the roots showed stand in place of those of Table 22.

    Parameters
    ----------
    limits : DataFrame
        Columns of ``limits``.
    fits : DataFrame
        As `refill_fits` gives them.
    settings : Settings

    Returns
    -------
    DataFrame
        ``limits``; a refill point derived from full and lower gives way where fits of
        ``refill_seasons`` seasons agree and lie between the two. One given or set stays.
    """
    known = limits.copy()
    for (placement, depth), some in fits.groupby(PLACE):
        values = some["value"].to_numpy(float)
        mine = (known["placement"] == placement) & (known["depth_cm"] == depth)
        derived = (
            mine & (known["point"] == "refill") & known["reason"].str.endswith(BY_TABLE_22)
        )
        value = float(np.median(values))
        agree = np.ptp(values) <= settings.refill_agree
        if (
            len(values) < settings.refill_seasons
            or not agree
            or not _between(known[mine], value)
        ):
            continue
        sd = float(np.std(values, ddof=1) / np.sqrt(len(values)))
        told = f"uptake begins to fall there, in {counted(len(values), 'season')}"
        known.loc[derived, "value"] = value
        known.loc[derived, "sd"] = max(
            float(np.hypot(sd, settings.sensor_sd)), settings.limit_sd
        )
        known.loc[derived, ["state", "set_by", "reason"]] = ["learned", "record", told]
        known.loc[derived, "wettings"] = len(values)
    return known


def _between(limits: pd.DataFrame, value: float) -> bool:
    """Tell whether a value lies as far between every lower and full as a refill point may.

    FAO-56 keeps p, the share taken before a crop suffers, within 0.1 and 0.8 (p. 162).
    """
    lower = limits.loc[limits["point"] == "lower", "value"].max()
    full = limits.loc[limits["point"] == "full", "value"].min()
    share = (full - value) / (full - lower) if full > lower else np.nan
    return bool(P_LEAST <= share <= P_GREATEST)
