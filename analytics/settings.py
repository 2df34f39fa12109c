"""Every threshold the science uses, each with its default, unit, meaning and source.

A store can override any of them (table ``settings``). None is bare in the code.
"""

from dataclasses import Field, dataclass, field, fields, replace
from typing import Any, cast

from analytics.errors import InputRefused


def _setting(default: float, unit: str, meaning: str, source: str) -> Any:
    return field(default=default, metadata={"unit": unit, "meaning": meaning, "source": source})


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """Thresholds and choices of one store."""

    # zones
    zone_split_cm: float = _setting(
        90.0,
        "cm",
        "depth that parts the upper from the deep zone",
        "three feet; common practice, no source",
    )
    # trust in a reading
    theta_low: float = _setting(
        0.0, "m3/m3", "readings below are out of range", "Dorigo et al. 2013, flag C01"
    )
    theta_high: float = _setting(
        0.6, "m3/m3", "readings above are out of range", "Dorigo et al. 2013, flag C02"
    )
    frozen_c: float = _setting(
        0.0, "C", "a layer at or below this is frozen", "Dorigo et al. 2013, flag D01"
    )
    zero_curtain_c: float = _setting(
        0.75,
        "C",
        "half width of the band round 0 C in which freezing is uncertain",
        "zero curtain band, PNAS 2016, fig. S1",
    )
    stuck_days: float = _setting(
        10.0,
        "d",
        "an hourly sensor that repeats one value for so long is stuck",
        "common practice, no source (Dorigo et al. 2013 judge plateaus near saturation only)",
    )
    stuck_daily_days: float = _setting(
        60.0,
        "d",
        "a daily record that repeats one value for so long is stuck",
        "common practice, no source",
    )
    settling_days: float = _setting(
        30.0,
        "d",
        "least time after installation during which readings settle",
        "common practice, no source",
    )
    gap_steps: float = _setting(
        1.5,
        "sampling steps",
        "a longer interval without good readings is a gap",
        "common practice, no source",
    )
    sensor_sd: float = _setting(
        0.004,
        "m3/m3",
        "repeatability of a buried sensor between days",
        "common practice, no source",
    )
    stale_days: float = _setting(
        3.0,
        "d",
        "without good readings for longer, a site's figures are old",
        "common practice, no source",
    )
    # full and lower points
    drain_wait_h: float = _setting(
        48.0,
        "h",
        "least time from a layer's peak to its drained value",
        "Veihmeyer & Hendrickson; Ottoni Filho et al. 2014",
    )
    drain_cap_h: float = _setting(
        450.0, "h", "longest wait for a layer to drain", "Jabro et al. 2009, clay loam"
    )
    drained_rate: float = _setting(
        0.002,
        "m3/m3/d",
        "a layer that loses less than this a day has drained",
        "Ratliff, Ritchie & Cassel 1983: 0.1-0.2 % water content a day",
    )
    learned_wettings: float = _setting(
        3.0,
        "wettings",
        "fewer drained wettings leave a full point provisional",
        "common practice, no source",
    )
    learned_seasons: float = _setting(
        2.0,
        "off-seasons",
        "wettings of fewer years leave a full point provisional",
        "common practice, no source",
    )
    ponded_theta: float = _setting(
        0.47,
        "m3/m3",
        "a plateau above this is ponded or perched, never a full point",
        "highest field capacity of FAO-56 Table 19 (0.42) plus 0.05; ours",
    )
    # wettings
    wetting_mm: float = _setting(
        2.0,
        "mm",
        "least daily rise of the profile that starts a wetting",
        "common practice, no source",
    )
    layer_rise: float = _setting(
        0.005,
        "m3/m3",
        "least rise by which a layer answers a wetting",
        "common practice, no source",
    )
    follow_days: float = _setting(
        7.0,
        "d",
        "a layer that answers later is not counted to the wetting",
        "common practice, no source",
    )
    # readiness
    wet_fill: float = _setting(
        0.6, "1", "an upper zone at or above this fill is called wet", "ours"
    )
    dry_fill: float = _setting(0.4, "1", "a deep zone below this fill is called dry", "ours")
    full_tolerance: float = _setting(
        0.05, "1", "a layer within this share of its full point counts as full", "ours"
    )


def known() -> tuple[Field[Any], ...]:
    """List the settings' fields, each with its metadata."""
    return fields(Settings)


def overridden(values: dict[str, float]) -> Settings:
    """Apply a store's overrides to the defaults.

    Raises
    ------
    InputRefused
        When a name is not a setting.
    """
    names = {one.name for one in known()}
    for name in values:
        if name not in names:
            where = f"setting {name!r}"
            raise InputRefused(where, "there is no such setting.", f"Known: {sorted(names)}.")
    return replace(Settings(), **cast("dict[str, Any]", values))
