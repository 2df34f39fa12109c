"""Units of a logger's columns, where the header does not say."""

from dataclasses import dataclass

from analytics.settings.declare import setting


@dataclass(frozen=True, kw_only=True)
class Intake:
    """Units of a logger's columns, where the header does not say."""

    fraction_to: float = setting(
        1.0,
        "m3/m3",
        "moisture values that never exceed this are fractions",
        "by definition: no volume holds more than itself",
    )
    percent_from: float = setting(
        2.0,
        "%",
        "moisture values that reach this are percent",
        "twice what a fraction can be; ours",
    )
    fahrenheit_from: float = setting(
        55.0,
        "C",
        "temperatures that reach this are degrees F",
        "no buried sensor and no daily air temperature of the district is so hot; ours",
    )
    celsius_below: float = setting(
        10.0,
        "F",
        "soil temperatures that fall below this are degrees C",
        "10 F is -12 C, colder than soil at a sensor; ours",
    )
