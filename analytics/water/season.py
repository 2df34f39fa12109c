"""A coming season: what the crop asks for by day, and when its source keeps up."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from analytics.model import Bools, Floats
from analytics.settings import Settings

WEEK_D = 7
Days = NDArray[np.datetime64]
DAY = np.timedelta64(1, "D")
BAND = (0.1, 0.5, 0.9)


@dataclass(frozen=True, slots=True)
class Opening:
    """First and last day on which a source has water; None where it is not told.

    ``month`` is the one in which the source's year begins.
    """

    first: date | None = None
    last: date | None = None
    month: int = 1

    def has(self, day: date) -> bool:
        """Tell whether the source has water on a day."""
        return bool(self.on(np.array([day], "datetime64[D]"))[0])

    def on(self, days: Days) -> Bools:
        """Tell of each day whether the source has water (ours).

        A date shuts days of its own year alone: neither a repair of this spring nor the end of
        this autumn's water says anything certain of another year.
        """
        fit = np.ones(len(days), bool)
        if self.first is not None:
            first = np.array([self.first], "datetime64[D]")
            fit &= (days >= first) | (year_of(days, self.month) != year_of(first, self.month))
        if self.last is not None:
            last = np.array([self.last], "datetime64[D]")
            fit &= (days <= last) | (year_of(days, self.month) != year_of(last, self.month))
        return fit


def year_of(days: Days, month: int) -> Days:
    """Give the year (datetime64[Y]) in which each day lies, years beginning with a month."""
    return (days.astype("datetime64[M]") - (month - 1)).astype("datetime64[Y]")


UNDATED = Opening()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Season:
    """One field's coming season.

    ``crop_mm`` (Y, D) is crop demand by day in every past year of weather; ``capacity_mm_d``
    the net depth its source can give every day over all fields it feeds, NaN where none does;
    ``bank_mm`` what the soil must carry, as the watering order counts it; ``opening`` when
    the source has water.
    """

    field: str
    source: str | None
    crop: str
    planting: date
    crop_mm: Floats
    capacity_mm_d: float
    bank_mm: float
    opening: Opening = UNDATED


def weekly_mean(crop_mm: Floats) -> Floats:
    """Mean of the week around each day, (Y, D); of fewer days at either end.

    A source waters a field once in several days, so that a day's own peak is not what it has
    to meet.
    """
    half = WEEK_D // 2
    around = np.pad(crop_mm, ((0, 0), (half, half)), constant_values=np.nan)
    return np.nanmean(sliding_window_view(around, WEEK_D, axis=1), axis=-1)


def last_stretch(water: Bools) -> tuple[int, int] | None:
    """Find the last stretch of days with water, both ends in; None where there is none.

    There is another before it only in a crop that winters, which asks for most of its water
    in the second year.
    """
    on = np.flatnonzero(water)
    if not len(on):
        return None
    off = np.flatnonzero(~water[: on[-1]])
    return (int(off[-1]) + 1 if len(off) else 0), int(on[-1])


def run_days(demand_mm_d: Floats, capacity_mm_d: float, water: Bools) -> tuple[int, int] | None:
    """Find the stretch in which a source cannot keep up.

    Parameters
    ----------
    demand_mm_d : (D,) float
        Demand at the chosen reliability.
    capacity_mm_d : float
    water : (D,) bool
        Days on which the source has water.

    Returns
    -------
    (first, last) or None
        Rows of the first and the last day on which demand is above capacity, within the last
        stretch with water; None where it never is. In between the advice is to run, whatever
        a cool week brings.
    """
    found = last_stretch(water)
    if found is None:
        return None
    rows = np.arange(len(demand_mm_d))
    within = (rows >= found[0]) & (rows <= found[1])
    above = np.flatnonzero(within & (demand_mm_d > capacity_mm_d))
    return (int(above[0]), int(above[-1])) if len(above) else None


def water_dates(days: Days, opening: Opening) -> Opening:
    """Tell where a source's dates cut a season short.

    Parameters
    ----------
    days : (D,) datetime64[D]
        Of the season.
    opening : Opening

    Returns
    -------
    Opening
        Ends of the last stretch with water, None where that is the season's own end; the
        source's own dates where it has no water all season.
    """
    found = last_stretch(opening.on(days))
    if found is None:
        return opening
    first, last = found
    return Opening(
        days[first].item() if first > 0 else None,
        days[last].item() if last < len(days) - 1 else None,
        opening.month,
    )


def season_tables(
    seasons: list[Season], settings: Settings
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Lay seasons out: a row a field, and a row a field and day.

    Parameters
    ----------
    seasons : list of Season
    settings : Settings
        Uses reliability.

    Returns
    -------
    windows, demand : DataFrame
        Contract tables ``season_windows`` and ``season_demand``. ``run_from`` and
        ``run_until`` are empty where the source keeps up throughout, or there is none;
        ``water_from`` and ``water_until`` where its dates leave the season whole.
    """
    rows, days = [], []
    spreads: dict[int, Floats] = {}
    for one in seasons:
        if id(one.crop_mm) not in spreads:  # fields of one crop and planting share an array
            shares = (*BAND, settings.reliability)
            spreads[id(one.crop_mm)] = np.quantile(weekly_mean(one.crop_mm), shares, axis=0)
        low, middle, high, sure = spreads[id(one.crop_mm)]
        dates = np.datetime64(one.planting, "us") + (1 + np.arange(len(sure))) * DAY
        peak = int(np.argmax(middle))
        on = dates.astype("datetime64[D]")
        none = np.isnan(one.capacity_mm_d)
        run = None if none else run_days(sure, one.capacity_mm_d, one.opening.on(on))
        cut = water_dates(on, one.opening)
        rows.append({
            "field": one.field, "source": one.source, "crop": one.crop,
            "planting": pd.Timestamp(one.planting), "ends_on": pd.Timestamp(dates[-1]),
            "capacity_mm_d": one.capacity_mm_d, "peak_mm_d": float(middle[peak]),
            "peak_on": pd.Timestamp(dates[peak]),
            "run_from": pd.Timestamp(dates[run[0]]) if run else pd.NaT,
            "run_until": pd.Timestamp(dates[run[1]]) if run else pd.NaT,
            "bank_mm": one.bank_mm, "years": len(one.crop_mm),
            "water_from": pd.Timestamp(cut.first) if cut.first else pd.NaT,
            "water_until": pd.Timestamp(cut.last) if cut.last else pd.NaT,
        })  # fmt: skip
        days.append((np.repeat(one.field, len(dates)), dates, low, middle, high, sure))
    names = ("field", "date", "low_mm_d", "middle_mm_d", "high_mm_d", "sure_mm_d")
    columns = [np.concatenate(column) for column in zip(*days, strict=True)]
    demand = pd.DataFrame(dict(zip(names, columns, strict=True))) if days else pd.DataFrame()
    return pd.DataFrame(rows), demand
