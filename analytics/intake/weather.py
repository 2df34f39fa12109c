"""Weather quantities of a logger, one row a local day."""

import numpy as np
import pandas as pd

from analytics.contract import TABLES
from analytics.intake.quantities import KINDS
from analytics.intake.zones import to_wall
from analytics.model import Floats, Times


def plausible(quantity: str, values: Floats) -> tuple[Floats, int]:
    """Leave out what the ``weather`` table would not take, and count it."""
    columns = [TABLES["weather"].column(name) for name in KINDS[quantity].daily]
    low = max(one.low for one in columns if one and one.low is not None)
    high = min(one.high for one in columns if one and one.high is not None)
    outside = (values < low) | (values > high)
    return np.where(outside, np.nan, values), int(outside.sum())


def by_day(station: str, zone: str, utc: Times, quantities: dict[str, Floats]) -> pd.DataFrame:
    """Make daily rows of the ``weather`` table out of a logger's readings.

    Rain, snow and radiation are summed over the readings that a day has, temperatures and
    humidities give the day's lowest and highest. Of an instant given twice the last wins.

    Parameters
    ----------
    station : str
    zone : str
        IANA timezone whose days are meant.
    utc : (n,) datetime64[us]
    quantities : dict of quantity to (n,) float
        In the units inside.

    Returns
    -------
    DataFrame
        All columns of ``weather``; days without any value are left out.
    """
    wall = days_on(utc, zone)
    frame = pd.DataFrame({"utc": utc, "date": wall, **quantities})
    grouped = frame.drop_duplicates("utc", keep="last").groupby("date")
    daily = {
        column: _of_day(grouped[quantity], how)
        for quantity in sorted(quantities, key=list(KINDS).index, reverse=True)
        for column, how in KINDS[quantity].daily.items()
    }
    days = pd.DataFrame(daily).dropna(how="all").reset_index()
    days.insert(0, "station", pd.Series([station] * len(days), dtype="str"))
    table = days.reindex(columns=list(TABLES["weather"].names))
    numbers = [one.name for one in TABLES["weather"].columns if one.kind == "number"]
    return table.astype(dict.fromkeys(numbers, np.float64))


def days_on(utc: Times, zone: str) -> Times:
    """Give the local day of each instant, (n,) datetime64[us]."""
    return to_wall(utc, zone).astype("datetime64[D]").astype("datetime64[us]")


def _of_day(group: "pd.api.typing.SeriesGroupBy", how: str) -> pd.Series:
    return group.sum(min_count=1) if how == "sum" else group.agg(how)
