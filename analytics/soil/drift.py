"""Whether a point wanders from season to season, beyond what noise explains."""

from typing import Any

import numpy as np
import pandas as pd

from analytics.contract import TABLES
from analytics.model import Floats
from analytics.settings import Settings

NAMES = list(TABLES["drift"].names)
PLACE = ["site", "placement", "depth_cm", "point"]
DAYS_PER_YEAR = 365.25
LEAST = 3  # estimates; through two any line passes


def drift(candidates: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Fit the trend of the seasons' own estimates of each point.

    Parameters
    ----------
    candidates : DataFrame
        As `soil.candidates` gives them; its ``season`` rows are used.
    settings : Settings

    Returns
    -------
    DataFrame
        Columns of the contract's ``drift``: slope, low, high in m3/m3 a year. Points with
        fewer than three estimates have no row. ``beyond_noise``: the interval leaves nought
        outside, there are ``drift_seasons`` estimates at least, and the whole change is more
        than ``drift_noise`` sensor sds.

    Notes
    -----
    Theil (1950), Sen (1968): the median of the slopes between all pairs, with Sen's interval.
    """
    told = candidates[candidates["kind"] == "season"].sort_values("on")
    rows = []
    for key, some in told.groupby(PLACE, sort=True):
        if len(some) >= LEAST:
            since: Any = some["on"] - some["on"].iloc[0]
            years = (since / pd.Timedelta(days=DAYS_PER_YEAR)).to_numpy(float)
            fit = slope_of(years, some["value"].to_numpy(float), settings)
            rows.append({**dict(zip(PLACE, key, strict=True)), **fit})
    frame = pd.DataFrame(rows, columns=NAMES)
    kinds = {"site": "str", "placement": "int64", "depth_cm": "float64", "point": "str",
             "slope_per_year": "float64", "low": "float64", "high": "float64",
             "seasons": "int64", "beyond_noise": "bool"}  # fmt: skip
    return frame.astype(kinds)


def slope_of(years: Floats, values: Floats, settings: Settings) -> dict[str, Any]:
    """Fit one point's trend: slope_per_year, low, high, seasons, beyond_noise."""
    from scipy.stats import theilslopes  # noqa: PLC0415 - slow to load, as in attractors

    fit: Any = theilslopes(values, years, settings.drift_interval)
    low, high = float(fit.low_slope), float(fit.high_slope)
    change = abs(float(fit.slope)) * float(np.ptp(years))
    outside = low > 0.0 or high < 0.0
    enough = len(values) >= settings.drift_seasons
    large = change > settings.drift_noise * settings.sensor_sd
    return {
        "slope_per_year": float(fit.slope), "low": low, "high": high, "seasons": len(values),
        "beyond_noise": bool(outside and enough and large),
    }  # fmt: skip
