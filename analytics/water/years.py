"""The same stretch of the calendar in every past year of a station's weather."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.model import Floats
from analytics.settings import Settings
from analytics.water.balance import Weather


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Years:
    """Past years of one stretch.

    ``starts`` is the first day in each year (Y,); ``missing_days`` counts the days of each
    that had no word of weather and were run as dry, with the stretch's mean demand.
    """

    starts: NDArray[np.datetime64]
    weather: Weather
    missing_days: NDArray[np.int64]

    def __len__(self) -> int:
        """Count the years."""
        return len(self.starts)

    def only(self, rows: NDArray[np.bool_]) -> "Years":
        """Keep some of the years."""
        water, eto, frozen = self.weather
        weather = Weather(water[rows], eto[rows], frozen[rows])
        return Years(
            starts=self.starts[rows], weather=weather, missing_days=self.missing_days[rows]
        )


def daily_weather(weather: pd.DataFrame, eto: pd.DataFrame) -> pd.DataFrame:
    """Lay a station's weather out without holes between its days.

    Parameters
    ----------
    weather : DataFrame
        ``date``, ``tmin_c``, ``tmax_c``, ``rain_mm`` and, where measured, ``snow_mm``.
    eto : DataFrame
        Of :func:`analytics.water.demand.reference_et`, the same rows.

    Returns
    -------
    DataFrame
        Index of days; ``water_mm`` (rain and snow), ``eto_mm``, ``mean_c``; NaN if unknown.
    """
    snow = weather["snow_mm"] if "snow_mm" in weather else pd.Series(0.0, weather.index)
    frame = pd.DataFrame(
        {
            "water_mm": weather["rain_mm"].to_numpy() + snow.fillna(0.0).to_numpy(),
            "eto_mm": eto["eto_mm"].to_numpy(),
            "mean_c": (weather["tmin_c"].to_numpy() + weather["tmax_c"].to_numpy()) / 2,
        },
        index=pd.DatetimeIndex(weather["date"]),
    )
    return frame[~frame.index.duplicated(keep="last")].sort_index().asfreq("D")


def past_years(days: pd.DataFrame, start: date, length_d: int, settings: Settings) -> Years:
    """Cut the same stretch out of every year on record.

    Parameters
    ----------
    days : DataFrame
        Of :func:`daily_weather`.
    start : date
        First day; its month and day are looked for in each year (29 February as the 28th).
    length_d : int
        Days of the stretch, at least 1.
    settings : Settings
        Uses year_holes_days, frozen_air_c.

    Returns
    -------
    Years
        Only years whose stretch lies within the record with no more holes than
        ``year_holes_days``. It may hold the stretch that begins on ``start`` itself.
    """
    first = pd.DatetimeIndex(days.index)[0] if len(days) else pd.Timestamp(start)
    wanted = [_same_day(start, year) for year in range(first.year, first.year + _span(days))]
    begin = (pd.DatetimeIndex(wanted) - first).days.to_numpy()
    inside = (begin >= 0) & (begin + length_d <= len(days))
    rows = begin[inside, None] + np.arange(length_d)
    cut = days.to_numpy(np.float64)[rows] if len(days) else np.empty((0, length_d, 3))
    holes = np.isnan(cut).any(axis=2).sum(axis=1)
    kept = holes <= settings.year_holes_days
    water, eto, mean = np.moveaxis(cut[kept], 2, 0)
    weather = Weather(
        np.nan_to_num(water),
        _with_means(eto),
        np.nan_to_num(mean, nan=np.inf) <= settings.frozen_air_c,
    )
    starts = np.array(wanted, dtype="datetime64[D]")[inside][kept]
    return Years(starts=starts, weather=weather, missing_days=holes[kept])


def _span(days: pd.DataFrame) -> int:
    index = pd.DatetimeIndex(days.index)
    return index[-1].year - index[0].year + 1 if len(days) else 0


def _same_day(day: date, year: int) -> date:
    leap_day = day.month == 2 and day.day == 29  # noqa: PLR2004 - 29 February
    return date(year, 2, 28) if leap_day else day.replace(year=year)


def _with_means(eto_mm: Floats) -> Floats:
    """Put each year's own mean where a day's demand is not known."""
    known = np.isfinite(eto_mm)
    total = np.where(known, eto_mm, 0.0).sum(axis=1, keepdims=True)
    mean = total / np.maximum(known.sum(axis=1, keepdims=True), 1)
    return np.where(known, eto_mm, mean)
