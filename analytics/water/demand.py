"""Reference evapotranspiration by day, and what a crop asks of it."""

from typing import NamedTuple, cast

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from refet import Daily, calcs

from analytics.model import Floats, Times
from analytics.settings import Settings
from analytics.soil.texture import CROP_NAMES

MJ_PER_MM = 2.45  # latent heat of vaporisation, FAO-56 Annex 2
MEASURED, PARTLY, TEMPERATURE, UNKNOWN = "measured", "partly_measured", "temperature", ""


class Crop(NamedTuple):
    """One crop's coefficients (FAO-56 Table 12) and stage lengths in days (Table 11)."""

    kc_ini: float
    kc_mid: float
    kc_end: float
    stages_d: tuple[int, int, int, int]  # initial, development, mid-season, late season


# Middle of the printed range where Table 12 gives one.
CROPS = {
    "cotton": Crop(0.35, 1.175, 0.60, (30, 50, 55, 45)),  # Texas, April
    "maize": Crop(0.30, 1.20, 0.35, (30, 40, 50, 30)),  # Spain and California, April
    "sorghum": Crop(0.30, 1.05, 0.55, (20, 35, 40, 30)),  # USA, May and June
    "winter wheat": Crop(0.40, 1.15, 0.325, (30, 140, 40, 30)),  # Mediterranean, November
    "soybean": Crop(0.40, 1.15, 0.50, (20, 32, 60, 25)),  # central USA, May (30 to 35 d)
    "millet": Crop(0.30, 1.00, 0.30, (20, 30, 55, 35)),  # central USA, April
}


def crop_named(name: str | None) -> Crop | None:
    """Find a crop by its trade name; None when no coefficients are known for it."""
    plain = " ".join((name or "").replace("_", " ").lower().split())
    return CROPS.get(CROP_NAMES.get(plain, plain))


def crop_coefficients(crop: Crop) -> Floats:
    """Crop coefficient of each day from planting to the end of the late season.

    Parameters
    ----------
    crop : Crop

    Returns
    -------
    (sum of stages,) float
        Element i is day i + 1 after planting: level, rising straight, level, falling straight
        (FAO-56 Figure 34 and Eq. 66).
    """
    ends = np.cumsum(crop.stages_d)
    day = np.arange(1, ends[-1] + 1)
    levels = [crop.kc_ini, crop.kc_mid, crop.kc_mid, crop.kc_end]
    return np.interp(day, ends, levels)


def extraterrestrial_mm(latitude: float, day_of_year: NDArray[np.int64]) -> Floats:
    """Radiation above the atmosphere as mm of evaporation a day (FAO-56 Eq. 21)."""
    radians = np.deg2rad(np.array([latitude]))
    return np.asarray(calcs.ra_daily(radians, day_of_year), np.float64) / MJ_PER_MM


def hargreaves_mm(tmin_c: Floats, tmax_c: Floats, ra_mm: Floats) -> Floats:
    """Estimate reference evapotranspiration from temperatures alone, mm/d (FAO-56 Eq. 52)."""
    reach = np.sqrt(np.maximum(tmax_c - tmin_c, 0.0))
    return np.maximum(0.0023 * ((tmin_c + tmax_c) / 2 + 17.8) * reach * ra_mm, 0.0)


def daily_reference(weather: pd.DataFrame, days: Times, latitude: float) -> Floats:
    """Give each of a record's days its reference evapotranspiration, by temperatures alone.

    Parameters
    ----------
    weather : DataFrame
        ``date``, ``tmin_c``, ``tmax_c``; may be empty.
    days : (D,) datetime64[D]
    latitude : float
        Degrees, north positive.

    Returns
    -------
    (D,) float
        mm (FAO-56 Eq. 52), NaN on days without temperatures.
    """
    known = weather.drop_duplicates("date", keep="last").set_index("date")
    wanted = pd.DatetimeIndex(days.astype("datetime64[us]"))
    tmin, tmax = (
        known[name].reindex(wanted).to_numpy(np.float64, na_value=np.nan)
        if name in known else np.full(len(days), np.nan)
        for name in ("tmin_c", "tmax_c")
    )  # fmt: skip
    ra = extraterrestrial_mm(latitude, wanted.day_of_year.to_numpy(np.int64))
    reach = hargreaves_mm(tmin, tmax, ra)
    return np.where(np.isfinite(tmin + tmax), reach, np.nan)


def reference_et(
    weather: pd.DataFrame, latitude: float, elevation_m: float, settings: Settings
) -> pd.DataFrame:
    """Work out reference evapotranspiration for each day of a station's weather.

    Parameters
    ----------
    weather : DataFrame
        ``date``, ``tmin_c``, ``tmax_c``; where known ``rs_mj_m2``, ``wind_m_s``, ``tdew_c``,
        ``rh_min`` and ``rh_max`` (per cent).
    latitude : float
        Degrees, north positive.
    elevation_m : float
    settings : Settings
        Uses wind_height_m, wind_assumed, radiation_share.

    Returns
    -------
    DataFrame
        ``date``, ``eto_mm`` (short reference; NaN without temperatures) and ``basis``:
        ``measured`` (radiation, wind and humidity), ``partly_measured`` (missing ones
        replaced as FAO-56 pp. 58-63 says: dew point = night minimum, Eq. 50, 2 m/s),
        ``temperature`` (Hargreaves, Eq. 52) or empty.

    Notes
    -----
    ASCE standardized equation (ASCE-EWRI 2005), equal to FAO-56 Eq. 6 at the daily step, by
    the library ``refet``. Its daily form takes soil heat flux as nought (FAO-56 Eq. 42).
    """
    tmin, tmax = _column(weather, "tmin_c"), _column(weather, "tmax_c")
    doy = pd.DatetimeIndex(weather["date"]).day_of_year.to_numpy(np.int64)
    ra = extraterrestrial_mm(latitude, doy)
    ea, rs, wind = _vapour(weather, tmin, tmax), _column(weather, "rs_mj_m2"), _wind(weather)
    there = np.isfinite(np.stack([ea, rs, wind])).sum(axis=0)
    known = np.isfinite(tmin + tmax)
    basis = np.select(
        [~known, there == 3, there > 0],  # noqa: PLR2004 - all three, or some
        [UNKNOWN, MEASURED, PARTLY],
        TEMPERATURE,
    )
    short = Daily(
        tmin=tmin, tmax=tmax, elev=np.array([elevation_m]), lat=np.array([latitude]), doy=doy,
        ea=np.where(np.isnan(ea), calcs.sat_vapor_pressure(tmin), ea),
        rs=np.where(
            np.isnan(rs),
            settings.radiation_share * np.sqrt(np.maximum(tmax - tmin, 0.0)) * ra * MJ_PER_MM,
            rs,
        ),
        uz=np.where(np.isnan(wind), settings.wind_assumed, wind), zw=settings.wind_height_m,
    ).eto()  # fmt: skip
    eto = np.where(basis == TEMPERATURE, hargreaves_mm(tmin, tmax, ra), np.maximum(short, 0.0))
    return pd.DataFrame(
        {"date": weather["date"], "eto_mm": np.where(known, eto, np.nan), "basis": basis}
    )


def _column(weather: pd.DataFrame, name: str) -> Floats:
    if name not in weather:
        return np.full(len(weather), np.nan)
    return weather[name].to_numpy(np.float64, na_value=np.nan)


def _wind(weather: pd.DataFrame) -> Floats:
    return _column(weather, "wind_m_s")


def _vapour(weather: pd.DataFrame, tmin: Floats, tmax: Floats) -> Floats:
    """Actual vapour pressure in kPa: from dew point, else from humidity (FAO-56 Eq. 14, 17)."""
    dew = cast("Floats", calcs.sat_vapor_pressure(_column(weather, "tdew_c")))
    wettest, driest = _column(weather, "rh_max"), _column(weather, "rh_min")
    humid = calcs.sat_vapor_pressure(tmin) * wettest + calcs.sat_vapor_pressure(tmax) * driest
    return np.where(np.isnan(dew), humid / 200.0, dew)


def effective_rain_scs(
    rain_mm: Floats, crop_mm: Floats, usable_storage_mm: float | Floats
) -> Floats:
    """Effective rain of a growing-season month, mm.

    Parameters
    ----------
    rain_mm, crop_mm : (...) float
        The month's rain and crop evapotranspiration.
    usable_storage_mm : float
        Storage that irrigation normally refills, 40-60 % of the root zone's.

    Returns
    -------
    (...) float
        Never above rain nor crop demand. Growing-season months only; where days are known a
        daily balance is better.

    Notes
    -----
    USDA-SCS Technical Release 21 (1967); NEH 623 ch. 2. Worked in inches, as fitted.
    """
    rain, crop = np.asarray(rain_mm) / 25.4, np.asarray(crop_mm) / 25.4
    d = np.asarray(usable_storage_mm) / 25.4
    storage = 0.531747 + 0.295164 * d - 0.057697 * d**2 + 0.003804 * d**3
    inches = storage * (0.70917 * rain**0.82416 - 0.11556) * 10 ** (0.02426 * crop)
    return np.clip(inches, 0.0, np.minimum(rain, crop)) * 25.4
