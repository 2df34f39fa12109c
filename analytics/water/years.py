"""The same stretch of the calendar in every past year of a station's weather."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from refet import calcs

from analytics.model import Floats
from analytics.settings import Settings
from analytics.water.balance import Weather

NEEDED = ["water_mm", "eto_mm", "mean_c"]
"""What a day must have to be run through a balance."""


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


def daily_weather(weather: pd.DataFrame, eto: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Lay a station's weather out without holes between its days.

    Parameters
    ----------
    weather : DataFrame
        ``date``, ``tmin_c``, ``tmax_c``, ``rain_mm`` and, where measured, ``snow_mm``.
    eto : DataFrame
        Of :func:`analytics.water.demand.reference_et`, the same rows.
    settings : Settings
        Uses wind_height_m.

    Returns
    -------
    DataFrame
        Index of days; ``water_mm`` (rain and snow), ``eto_mm``, ``mean_c``, and for a crop's
        coefficient ``wind_m_s`` at 2 m (FAO-56 Eq. 47) and ``rh_min`` (from the dew point
        where it is not measured, else as if the night's least were the dew point, FAO-56
        Eq. 48); NaN if unknown.
    """
    snow = weather["snow_mm"] if "snow_mm" in weather else pd.Series(0.0, weather.index)
    frame = pd.DataFrame(
        {
            "water_mm": weather["rain_mm"].to_numpy() + snow.fillna(0.0).to_numpy(),
            "eto_mm": eto["eto_mm"].to_numpy(),
            "mean_c": (weather["tmin_c"].to_numpy() + weather["tmax_c"].to_numpy()) / 2,
            "wind_m_s": calcs.wind_height_adjust(
                _told(weather, "wind_m_s"), settings.wind_height_m
            ),
            "rh_min": _least_humidity(weather),
        },
        index=pd.DatetimeIndex(weather["date"]),
    )
    return frame[~frame.index.duplicated(keep="last")].sort_index().asfreq("D")


def _told(weather: pd.DataFrame, name: str) -> Floats:
    if name not in weather:
        return np.full(len(weather), np.nan)
    return weather[name].to_numpy(np.float64, na_value=np.nan)


def _least_humidity(weather: pd.DataFrame) -> Floats:
    """Least relative humidity of each day, per cent, at the day's highest temperature."""
    dew = np.where(np.isnan(_told(weather, "tdew_c")), _told(weather, "tmin_c"),
                   _told(weather, "tdew_c"))  # fmt: skip
    told, warmest = _told(weather, "rh_min"), _told(weather, "tmax_c")
    worked = 100.0 * calcs.sat_vapor_pressure(dew) / calcs.sat_vapor_pressure(warmest)
    return np.where(np.isnan(told), np.clip(worked, 0.0, 100.0), told)


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
    if not len(days):
        return _none(length_d)
    first, last = days.index[0], days.index[-1]
    years = range(first.year, last.year + 1)
    wanted = np.array([_same_day(start, year) for year in years], dtype="datetime64[D]")
    begin = (wanted - np.datetime64(first, "D")).astype(int)
    inside = (begin >= 0) & (begin + length_d <= len(days))
    rows = begin[inside, None] + np.arange(length_d)
    # All columns as they lie: to pick three by name would take longer than all the rest.
    names = list(days.columns)
    cut = days.to_numpy(np.float64)[rows][..., [names.index(one) for one in NEEDED]]
    holes = np.isnan(cut).any(axis=2).sum(axis=1)
    kept = holes <= settings.year_holes_days
    water, eto, mean = np.moveaxis(cut[kept], 2, 0)
    weather = Weather(
        np.nan_to_num(water),
        _with_means(eto),
        np.nan_to_num(mean, nan=np.inf) <= settings.frozen_air_c,
    )
    return Years(starts=wanted[inside][kept], weather=weather, missing_days=holes[kept])


def _none(length_d: int) -> Years:
    """Give a stretch of a station that never wrote a day."""
    nothing = np.empty((0, length_d))
    return Years(
        starts=np.empty(0, "datetime64[D]"), weather=Weather(nothing, nothing, nothing > 0),
        missing_days=np.empty(0, np.int64),
    )  # fmt: skip


def _same_day(day: date, year: int) -> date:
    leap_day = day.month == 2 and day.day == 29  # noqa: PLR2004 - 29 February
    return date(year, 2, 28) if leap_day else day.replace(year=year)


def _with_means(eto_mm: Floats) -> Floats:
    """Put each year's own mean where a day's demand is not known."""
    known = np.isfinite(eto_mm)
    total = np.where(known, eto_mm, 0.0).sum(axis=1, keepdims=True)
    mean = total / np.maximum(known.sum(axis=1, keepdims=True), 1)
    return np.where(known, eto_mm, mean)
