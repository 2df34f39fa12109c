"""What crops and bare soil ask for, and how past weather is read."""

from dataclasses import dataclass

from analytics.settings.declare import setting


@dataclass(frozen=True, kw_only=True)
class Demand:
    """What crops and bare soil ask for, and how past weather is read."""

    # reference evapotranspiration
    wind_height_m: float = setting(
        2.0, "m", "height at which a station measures wind", "FAO-56 p. 55, the standard height"
    )
    wind_assumed: float = setting(
        2.0, "m/s", "wind where none is measured", "FAO-56 p. 63, mean of over 2000 stations"
    )
    radiation_share: float = setting(
        0.16, "C^-0.5", "radiation from the daily temperature range", "FAO-56 Eq. 50, inland"
    )
    # bare soil before planting
    bare_kc: float = setting(
        1.2, "1", "most that wet bare soil evaporates, in ETo", "FAO-56 ch. 7, Example 31"
    )
    surface_cm: float = setting(
        10.0, "cm", "depth of the surface layer that evaporation dries", "FAO-56 Table 19"
    )
    frozen_air_c: float = setting(
        0.0,
        "C",
        "days whose mean air temperature is not above this keep their water on the surface",
        "ours; the mean of a day stands for the state of the soil's surface",
    )
    snow_kc: float = setting(
        0.25,
        "1",
        "what snow and frozen ground lose to the air, in ETo",
        "MEMORY (medium): FAO-56 ch. 11, frozen or snow-covered ground",
    )
    light_rain: float = setting(
        0.2, "ETo", "rain of a day below this evaporates at once", "FAO-56 p. 170"
    )
    # past years of weather
    year_holes_days: float = setting(
        3.0, "d", "a past year that misses more days is left out", "common practice, no source"
    )
    least_years: float = setting(
        8.0, "years", "with fewer past years no chance is given", "common practice, no source"
    )
    grade_least: float = setting(
        8.0,
        "forecasts",
        "with fewer past forecasts the balance's own error is not known",
        "common practice, no source",
    )
    recharge_least: float = setting(
        12.0,
        "site-winters",
        "with fewer no recharge relation is fitted",
        "common practice, no source: six for each of its two coefficients",
    )
    recharge_rain_mm: float = setting(
        20.0, "mm", "a drier winter tells nothing of recharge", "common practice, no source"
    )
