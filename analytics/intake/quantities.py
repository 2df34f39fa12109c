"""What a logger's column can hold, in which units, and what becomes of it.

Every conversion is to the unit inside: theta m3/m3, degrees C, mm, MJ/m2, m/s,
humidity in percent.
"""

from collections.abc import Callable
from dataclasses import dataclass

from analytics.contract import READINGS
from analytics.model import Floats
from analytics.units import MM_PER_INCH

Convert = Callable[[Floats], Floats]
M_S_PER_MPH = 1609.344 / 3600  # international mile


RAW = "raw"  # what the sensor counts; its own curve makes it a quantity


def _same(values: Floats) -> Floats:
    return values


def _celsius(fahrenheit: Floats) -> Floats:
    return (fahrenheit - 32.0) * 5.0 / 9.0


def _topp(permittivity: Floats) -> Floats:
    """Theta from the apparent permittivity: Topp, Davis & Annan 1980, Eq. 7 (mineral soil)."""
    e = permittivity
    return -5.3e-2 + 2.92e-2 * e - 5.5e-4 * e**2 + 4.3e-6 * e**3


MOISTURE: dict[str, Convert] = {
    "fraction": _same,
    "percent": lambda values: values / 100.0,
    "in/ft": lambda values: values / 12.0,
    "permittivity": _topp,
    RAW: _same,
}
TEMPERATURE: dict[str, Convert] = {"C": _same, "F": _celsius, RAW: _same}
WATER: dict[str, Convert] = {
    "mm": _same,
    "cm": lambda values: values * 10.0,
    "in": lambda values: values * MM_PER_INCH,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A quantity: its units, its label, and for weather how a day is made of readings.

    ``daily`` maps columns of the ``weather`` table to sum, min, max or mean.
    """

    label: str
    units: dict[str, Convert]
    daily: dict[str, str]


KINDS: dict[str, Kind] = {
    "vwc": Kind(label="soil moisture", units=MOISTURE, daily={}),
    "soil_temp": Kind(label="soil temperature", units=TEMPERATURE, daily={}),
    "rain": Kind(label="rain", units=WATER, daily={"rain_mm": "sum"}),
    "snow": Kind(label="snow (water)", units=WATER, daily={"snow_mm": "sum"}),
    "tmin": Kind(label="lowest air temperature", units=TEMPERATURE, daily={"tmin_c": "min"}),
    "tmax": Kind(label="highest air temperature", units=TEMPERATURE, daily={"tmax_c": "max"}),
    "air_temp": Kind(label="air temperature", units=TEMPERATURE,
                     daily={"tmin_c": "min", "tmax_c": "max"}),
    "tdew": Kind(label="dew point", units=TEMPERATURE, daily={"tdew_c": "mean"}),
    "solar": Kind(label="solar radiation", units={"MJ/m2": _same}, daily={"rs_mj_m2": "sum"}),
    "wind": Kind(label="wind speed", daily={"wind_m_s": "mean"},
                 units={"m/s": _same, "mph": lambda values: values * M_S_PER_MPH}),
    "rh_min": Kind(label="lowest humidity", units={"percent": _same}, daily={"rh_min": "min"}),
    "rh_max": Kind(label="highest humidity", units={"percent": _same}, daily={"rh_max": "max"}),
}  # fmt: skip
DEEPEST_CM = next(one.high or 0.0 for one in READINGS.columns if one.name == "depth_cm")
SOIL = ("vwc", "soil_temp")
