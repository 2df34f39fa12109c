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
    predawn_from_h: float = _setting(
        3.0,
        "h, local",
        "the pre-dawn value begins here, when uptake is nil",
        "common practice, no source",
    )
    predawn_to_h: float = _setting(
        6.0,
        "h, local",
        "the pre-dawn value ends just before this",
        "common practice, no source",
    )
    spike_change: float = _setting(
        0.15,
        "1",
        "least change from the hour before, as a share, of a spike",
        "Dorigo et al. 2013, flag D06",
    )
    spike_balance: float = _setting(
        0.2,
        "1",
        "most difference of the bends before and after a spike, as a share",
        "Dorigo et al. 2013, flag D06",
    )
    spike_window_h: float = _setting(
        12.0,
        "h",
        "how far around a spike the record must be quiet",
        "Dorigo et al. 2013, flag D06",
    )
    spike_quiet: float = _setting(
        0.01,
        "m3/m3",
        "variance over mean, the spike left out, below which it is quiet",
        "Dorigo et al. 2013, flag D06 (1 in per cent by volume)",
    )
    stuck_chance: float = _setting(
        1e-06,
        "1",
        "a repeat less likely than this, by the sensor's own noise, is stuck",
        "ours",
    )
    failing_noise: float = _setting(
        4.0,
        "1",
        "noise over the sensor's own usual noise of a failing sensor",
        "ours",
    )
    failing_onset: float = _setting(
        2.0,
        "1",
        "noise over the sensor's own usual noise at which its failing is taken to begin",
        "ours",
    )
    failing_floor: float = _setting(
        0.002,
        "m3/m3",
        "usual noise is taken as no less than this (rounding)",
        "ours",
    )
    failing_days: float = _setting(
        7.0,
        "d",
        "a sensor noisy for so long is failing",
        "ours",
    )
    recover_days: float = _setting(
        30.0,
        "d",
        "a failing sensor is trusted again after so long without noise",
        "ours",
    )
    failing_range_share: float = _setting(
        0.2,
        "1",
        "share of a week out of range that makes the week failing",
        "ours",
    )
    unit_days: float = _setting(
        1.0,
        "d",
        "values of 1 to 100 for so long are suspected to be per cent",
        "ours",
    )
    step_theta: float = _setting(
        0.05,
        "m3/m3",
        "least jump of a sensor that was disturbed",
        "ours",
    )
    step_share: float = _setting(
        0.6,
        "1",
        "share of a probe's sensors that jump at once when it was disturbed",
        "ours",
    )
    step_gap_days: float = _setting(
        3.0,
        "d",
        "a jump over a longer hole tells nothing of disturbance",
        "ours",
    )
    edge_move: float = _setting(
        0.012,
        "m3/m3",
        "change in a day near 0 C that makes a reading uncertain",
        "three times sensor_sd; ours",
    )
    bridge_days: float = _setting(
        3.0,
        "d",
        "frozen, settling or out-of-range readings less far apart are told as one span",
        "ours",
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
    # units of a logger's columns, where the header does not say
    fraction_to: float = _setting(
        1.0,
        "m3/m3",
        "moisture values that never exceed this are fractions",
        "by definition: no volume holds more than itself",
    )
    percent_from: float = _setting(
        2.0,
        "%",
        "moisture values that reach this are percent",
        "twice what a fraction can be; ours",
    )
    fahrenheit_from: float = _setting(
        55.0,
        "C",
        "temperatures that reach this are degrees F",
        "no buried sensor and no daily air temperature of the district is so hot; ours",
    )
    celsius_below: float = _setting(
        10.0,
        "F",
        "soil temperatures that fall below this are degrees C",
        "10 F is -12 C, colder than soil at a sensor; ours",
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
    drained_share: float = _setting(
        0.002,
        "1/d",
        "a calm layer that loses less than this share of its water a day is done draining",
        "Ratliff, Ritchie & Cassel 1983: 0.1-0.2 % of its water a day",
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
    layer_wetting: float = _setting(
        0.01,
        "m3/m3",
        "least rise of a layer from which a drained value may be read",
        "common practice, no source",
    )
    drained_from: float = _setting(
        0.008,
        "m3/m3",
        "a drained value lies at least so far below the peak before it",
        "ours: twice the repeatability of a sensor",
    )
    drained_far: float = _setting(
        0.02,
        "m3/m3",
        "the same where nothing shows that water went on, and the value is below the texture's",
        "ours",
    )
    young_crop_days: float = _setting(
        30.0,
        "d",
        "a younger crop leaves drainage visible",
        "ours: FAO-56 Table 11 has initial stages of 20 to 30 d",
    )
    upper_quantile: float = _setting(
        0.85, "1", "the upper cluster of drained values lies about this quantile", "ours"
    )
    cluster_width: float = _setting(
        0.025,
        "m3/m3",
        "half width of the upper cluster of drained values",
        "ours",
    )
    limit_sd: float = _setting(
        0.005, "m3/m3", "no learned or set point is surer than this", "ours"
    )
    provisional_sd: float = _setting(
        0.015,
        "m3/m3",
        "what one wetting or one year may be off by, added to a provisional point",
        "common practice, no source",
    )
    surface_sd: float = _setting(
        0.015,
        "m3/m3",
        "what evaporation may have taken from the top layer before it drained, as an error",
        "ours",
    )
    ponded_days: float = _setting(
        21.0,
        "d",
        "a layer that keeps its wettest value for longer is ponded or perched",
        "common practice, no source",
    )
    ponded_range: float = _setting(
        0.03, "m3/m3", "a ponded layer moves less than this meanwhile", "ours"
    )
    drydown: float = _setting(
        0.03,
        "m3/m3",
        "a layer that fell by less under a crop shows no lower point",
        "ours",
    )
    lower_rest: float = _setting(
        0.008,
        "m3/m3",
        "a layer so near its low end is resting there",
        "ours: twice the repeatability of a sensor",
    )
    lower_days: float = _setting(
        10.0, "d", "a layer that rests at its low end for less has not reached it", "ours"
    )
    lower_reach: float = _setting(
        1.0,
        "standard deviations",
        "a low end further above the texture's lower point is only where the crop stopped",
        "ours",
    )
    least_span: float = _setting(
        0.02, "m3/m3", "least distance from the lower to the full point", "ours"
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
    # off-season tally
    tally_reach_days: float = _setting(
        10.0,
        "d",
        "how far from a harvest or planting a reading may lie and still stand for that day",
        "common practice, no source",
    )
    trickle_days: float = _setting(
        21.0,
        "d",
        "a rise so long after a wetting is still credited to it (water on its way down)",
        "ours; about the drainage time of fine soils, 450 h (Jabro et al. 2009)",
    )
    received_least_mm: float = _setting(
        10.0,
        "mm",
        "with less water received, no storage efficiency is given",
        "common practice, no source",
    )
    steady_days: float = _setting(
        2.0,
        "d",
        "water stored is read so long after the last rise of a wetting",
        "48 h as for the full point; Veihmeyer & Hendrickson, Ottoni Filho et al. 2014",
    )
    cause_days: float = _setting(
        2.0,
        "d",
        "water that came so long before the first rise may have caused it",
        "common practice, no source",
    )
    cause_share: float = _setting(
        0.25,
        "1",
        "water that arrived explains a wetting if it is at least this share of what was gained",
        "ours: one gauge or the nearest station misses much of a storm, not three quarters",
    )
    wet_quantile: float = _setting(
        0.95,
        "1",
        "a layer above this quantile of its record has no room to rise; water passes it unseen",
        "ours",
    )
    wet_span: float = _setting(
        0.03,
        "m3/m3",
        "only a layer that has moved by more can be called at its wettest",
        "ours",
    )
    # roots
    uptake_floor: float = _setting(
        0.0005,
        "m3/m3/d",
        "least noise of a layer's daily uptake",
        "ours: a few steps of an hourly sensor's resolution",
    )
    # readiness
    wetting_memory_days: float = _setting(
        240.0,
        "d",
        "how far back a wetting is looked for where no harvest is known",
        "ours; about the longest off-season between two summer crops",
    )
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
