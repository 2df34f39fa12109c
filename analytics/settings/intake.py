"""What a file may be, and the units of a logger's columns where the header does not say."""

from dataclasses import dataclass

from analytics.settings.declare import setting


@dataclass(frozen=True, kw_only=True)
class Intake:
    """What a file may be, and the units of a logger's columns where the header does not say."""

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
    unpacked_most_mb: float = setting(
        1000.0,
        "MB",
        "a packed file or workbook that unfolds to more is refused",
        "ten years of hourly readings of 100 probes take a fifth of it as text; ours",
    )
    repair_most: float = setting(
        0.01,
        "1",
        "a boundary whose repair changes its area by more than this share is refused",
        "ours",
    )
    overlap_noted: float = setting(
        0.05,
        "1",
        "fields that share more than this part of the smaller are told to people",
        "ours",
    )
    overlap_most: float = setting(
        0.5,
        "1",
        "fields that share more than this part of the smaller are one field drawn twice",
        "ours",
    )
