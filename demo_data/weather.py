"""A semi-arid weather generator: wet and dry spells, storms, snow, cold waves, one drought."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from demo_data import TODAY
from demo_data.district import ORIGIN_LAT, STATIONS

Floats = NDArray[np.float64]

FIRST_DAY = date(1995, 1, 1)

#: by month: chance of rain after a dry day, after a wet day, mean of a wet day [mm]
_AFTER_DRY = np.array([.07, .08, .12, .15, .21, .22, .20, .19, .15, .11, .08, .07])  # fmt: skip
_AFTER_WET = np.array([.28, .30, .35, .38, .42, .40, .38, .37, .36, .34, .30, .28])  # fmt: skip
_WET_MM = np.array([4.2, 4.6, 5.6, 6.4, 7.9, 8.8, 8.4, 7.6, 7.0, 6.6, 5.0, 4.4])  # fmt: skip

#: spans whose rain and snow are scaled, first to last day
_RAIN_SPANS = (
    (date(2019, 4, 1), date(2019, 9, 9), 0.55),
    (date(2019, 9, 10), date(2020, 4, 25), 2.9),
    (date(2021, 3, 1), date(2021, 9, 30), 2.2),
    (date(2021, 10, 1), date(2022, 2, 28), 3.0),
    (date(2022, 3, 1), date(2022, 8, 31), 1.2),
    (date(2022, 9, 1), date(2023, 4, 15), 0.06),
    (date(2023, 10, 1), date(2024, 4, 30), 1.4),
    (date(2024, 10, 1), date(2025, 4, 30), 1.88),
    (date(2025, 5, 1), date(2025, 8, 31), 0.75),
    (date(2025, 9, 5), date(2026, 2, 1), 2.5),
)
#: spans that are colder or warmer than the season [C]
_HEAT_SPANS = (
    (date(2021, 1, 8), date(2021, 2, 17), -7.5),
    (date(2021, 2, 19), date(2021, 2, 27), 6.0),
    (date(2022, 6, 1), date(2022, 8, 31), 2.0),
    (date(2025, 12, 28), date(2026, 1, 4), -6.0),
    (date(2026, 1, 18), date(2026, 1, 31), -8.0),
    (date(2026, 2, 4), date(2026, 2, 17), 4.5),
    (date(2026, 2, 18), date(2026, 2, 23), 9.0),
)
#: snow that falls on the frozen ground of one winter [mm of water]
_SNOWFALLS = ((date(2021, 2, 3), 9.0), (date(2021, 2, 11), 14.0), (date(2021, 2, 14), 12.0))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Weather:
    """Daily weather: arrays are (days, stations); ``days`` is (days,) datetime64[D]."""

    days: NDArray[np.datetime64]
    tmin_c: Floats
    tmax_c: Floats
    rain_mm: Floats
    snow_mm: Floats
    wind_m_s: Floats
    rs_mj_m2: Floats
    tdew_c: Floats


def span(days: NDArray[np.datetime64], first: date, last: date) -> NDArray[np.bool_]:
    """Mark the days from first to last, both included."""
    return (days >= np.datetime64(first)) & (days <= np.datetime64(last))


def _remember(noise: Floats, memory: float) -> Floats:
    """Turn white noise into day-to-day persistent noise of the same spread."""
    out = np.empty_like(noise)
    out[0] = noise[0]
    fresh = float(np.sqrt(1 - memory**2))
    for day in range(1, len(noise)):
        out[day] = memory * out[day - 1] + fresh * noise[day]
    return out


def _wet_days(rng: np.random.Generator, month: NDArray[np.int64]) -> NDArray[np.bool_]:
    draw = rng.random(len(month))
    wet = np.zeros(len(month), bool)
    for day in range(1, len(month)):
        chance = _AFTER_WET if wet[day - 1] else _AFTER_DRY
        wet[day] = draw[day] < chance[month[day]]
    return wet


def _scaled(days: NDArray[np.datetime64], base: Floats) -> Floats:
    out = base.copy()
    for first, last, factor in _RAIN_SPANS:
        out[span(days, first, last)] *= factor
    return out


def _precipitation(
    rng: np.random.Generator, days: NDArray[np.datetime64], month: NDArray[np.int64]
) -> Floats:
    """Draw the district's rain and snow a day [mm], then each station's own share of it."""
    wet = _wet_days(rng, month)
    year = days.astype("datetime64[Y]").astype(int)
    good = rng.lognormal(-0.02, 0.2, year[-1] - year[0] + 1)[year - year[0]]
    amount = rng.gamma(0.75, _WET_MM[month] / 0.75) * good
    total = _scaled(days, np.where(wet, amount, 0.0))
    patchy = np.where((month >= 3) & (month <= 8), 0.35, 0.1)
    share = np.exp(patchy[:, None] * rng.normal(0, 1, (len(days), len(STATIONS))))
    return np.minimum(total[:, None] * share, 95.0)


def extraterrestrial_mj(days: NDArray[np.datetime64]) -> Floats:
    """Radiation above the air at the district's latitude [MJ/m2/d] (FAO-56 Eq. 21)."""
    number = (days - days.astype("datetime64[Y]")).astype(int) + 1
    angle = 2 * np.pi * number / 365
    tilt = 0.409 * np.sin(angle - 1.39)
    lat = np.radians(ORIGIN_LAT)
    sunset = np.arccos(-np.tan(lat) * np.tan(tilt))
    height = sunset * np.sin(lat) * np.sin(tilt) + np.cos(lat) * np.cos(tilt) * np.sin(sunset)
    return 24 * 60 / np.pi * 0.0820 * (1 + 0.033 * np.cos(angle)) * height


def _temperature(
    rng: np.random.Generator, days: NDArray[np.datetime64], wet: NDArray[np.bool_]
) -> tuple[Floats, Floats]:
    """Draw daily mean and range [C] at one station."""
    number = (days - days.astype("datetime64[Y]")).astype(int)
    season = -np.cos(2 * np.pi * (number - 16) / 365.25)
    spread = 3.6 - 1.4 * season
    mean = 12.8 + 12.6 * season + spread * _remember(rng.normal(0, 1, len(days)), 0.72)
    for first, last, change in _HEAT_SPANS:
        mean[span(days, first, last)] += change
    width = np.clip(rng.normal(15.5, 3.0, len(days)) - np.where(wet, 5.5, 0.0), 4.0, 24.0)
    return mean - np.where(wet, 1.5, 0.0), width


def grow_weather(rng: np.random.Generator) -> Weather:
    """Draw daily weather at each station from 1995 to the scenario's today."""
    days = np.arange(np.datetime64(FIRST_DAY), np.datetime64(TODAY) + 1)
    month = days.astype("datetime64[M]").astype(int) % 12
    total = _precipitation(rng, days, month)
    mean, width = _temperature(rng, days, total.mean(axis=1) > 0.5)
    lapse = rng.normal(0, 0.35, total.shape)
    tmin, tmax = (mean - width / 2)[:, None] + lapse, (mean + width / 2)[:, None] + lapse
    for day, mm in _SNOWFALLS:
        total[days == np.datetime64(day)] = mm
    snowing = (tmin + tmax) / 2 < 0.5
    clear = np.clip(0.16 * np.sqrt(tmax - tmin) + rng.normal(0, 0.03, total.shape), 0.15, 0.78)
    dew = tmin - rng.gamma(2.0, 1.6, total.shape) + np.where(total > 1, 2.0, 0.0)
    return Weather(
        days=days,
        tmin_c=tmin.round(1),
        tmax_c=tmax.round(1),
        rain_mm=np.where(snowing, 0.0, total).round(1),
        snow_mm=np.where(snowing, total, 0.0).round(1),
        wind_m_s=np.clip(rng.gamma(7.0, 0.62, total.shape), 0.8, 14.0).round(1),
        rs_mj_m2=(clear * extraterrestrial_mj(days)[:, None]).round(2),
        tdew_c=np.minimum(dew, tmin).round(1),
    )


def reference_et_mm(weather: Weather) -> Floats:
    """Estimate reference evapotranspiration [mm/d] (Hargreaves & Samani 1985)."""
    mean = (weather.tmin_c + weather.tmax_c) / 2
    width = np.sqrt(np.maximum(weather.tmax_c - weather.tmin_c, 0.0))
    water = 0.408 * extraterrestrial_mj(weather.days)[:, None]
    return np.maximum(0.0023 * (mean + 17.8) * width * water, 0.1)
