"""Trust in a reading."""

from dataclasses import dataclass

from analytics.settings.declare import setting


@dataclass(frozen=True, kw_only=True)
class Trust:
    """Trust in a reading."""

    theta_low: float = setting(
        0.0, "m3/m3", "readings below are out of range", "Dorigo et al. 2013, flag C01"
    )
    theta_high: float = setting(
        0.6, "m3/m3", "readings above are out of range", "Dorigo et al. 2013, flag C02"
    )
    frozen_c: float = setting(
        0.0, "C", "a layer at or below this is frozen", "Dorigo et al. 2013, flag D01"
    )
    zero_curtain_c: float = setting(
        0.75,
        "C",
        "half width of the band round 0 C in which freezing is uncertain",
        "zero curtain band, PNAS 2016, fig. S1",
    )
    stuck_days: float = setting(
        10.0,
        "d",
        "an hourly sensor that repeats one value for so long is stuck",
        "common practice, no source (Dorigo et al. 2013 judge plateaus near saturation only)",
    )
    stuck_daily_days: float = setting(
        60.0,
        "d",
        "a daily record that repeats one value for so long is stuck",
        "common practice, no source",
    )
    settling_days: float = setting(
        30.0,
        "d",
        "least time after installation during which readings settle",
        "common practice, no source",
    )
    settling_most_days: float = setting(
        365.0,
        "d",
        "no reading settles for longer: wetted, frozen and dried for a year",
        "common practice, no source",
    )
    settling_cycles: float = setting(
        2.0,
        "wettings",
        "a depth has settled once so many wettings came and went",
        "common practice, no source",
    )
    settling_rise: float = setting(
        0.015,
        "m3/m3",
        "least rise in two days of a wetting that settles the soil round a sensor",
        "ours: faster than the creep of a new hole",
    )
    settling_fall: float = setting(
        0.005, "m3/m3", "a wetting has passed when a layer fell so far again", "ours"
    )
    settling_window_days: float = setting(
        15.0, "d", "days over which the drift of a settling sensor is judged", "ours"
    )
    settling_trend: float = setting(
        0.008,
        "m3/m3",
        "values within this over that time show no trend outside noise",
        "ours: twice the repeatability of a sensor, sensor_sd",
    )
    clock_window_days: float = setting(
        6.0,
        "d",
        "days either side over which the phase of the daily temperature wave is judged",
        "ours",
    )
    clock_shift_h: float = setting(
        0.7, "h", "least shift of that phase that makes a clock suspect", "ours"
    )
    clock_shift_most_h: float = setting(
        1.4, "h", "a larger shift is weather or a new hole, no clock set by an hour", "ours"
    )
    clock_calm_h: float = setting(
        0.4, "h", "most shift of that phase shortly before and after a clock's jump", "ours"
    )
    clock_warm_c: float = setting(
        3.0,
        "C",
        "soil as cold as this is too near frost for its daily wave to tell time",
        "ours",
    )
    clock_wave_c: float = setting(
        0.5, "C", "a daily temperature wave of less amplitude tells no time", "ours"
    )
    gap_steps: float = setting(
        1.5,
        "sampling steps",
        "a longer interval without good readings is a gap",
        "common practice, no source",
    )
    predawn_from_h: float = setting(
        3.0,
        "h, local",
        "the pre-dawn value begins here, when uptake is nil",
        "common practice, no source",
    )
    predawn_to_h: float = setting(
        6.0,
        "h, local",
        "the pre-dawn value ends just before this",
        "common practice, no source",
    )
    spike_change: float = setting(
        0.15,
        "1",
        "least change from the hour before, as a share, of a spike",
        "Dorigo et al. 2013, flag D06",
    )
    spike_balance: float = setting(
        0.2,
        "1",
        "most difference of the bends before and after a spike, as a share",
        "Dorigo et al. 2013, flag D06",
    )
    spike_window_h: float = setting(
        12.0,
        "h",
        "how far around a spike the record must be quiet",
        "Dorigo et al. 2013, flag D06",
    )
    spike_quiet: float = setting(
        0.01,
        "m3/m3",
        "variance over mean, the spike left out, below which it is quiet",
        "Dorigo et al. 2013, flag D06 (1 in per cent by volume)",
    )
    break_share: float = setting(
        0.10,
        "1",
        "least change from the hour before, as a share of the reading, of a break",
        "Dorigo et al. 2013, flags D07 and D08",
    )
    break_change: float = setting(
        0.01,
        "m3/m3",
        "least change from the hour before of a break",
        "Dorigo et al. 2013, flags D07 and D08",
    )
    break_slope: float = setting(
        10.0,
        "1",
        "slope at a break over the mean slope of the 25 hours around",
        "Dorigo et al. 2013, flags D07 and D08",
    )
    break_balance: float = setting(
        0.05,
        "1",
        "most difference of the bends before and at a break, as a share",
        "Dorigo et al. 2013, flags D07 and D08 (about 1, to one decimal)",
    )
    break_bend: float = setting(
        10.0,
        "1",
        "bend at a break over the bend after it",
        "Dorigo et al. 2013, flags D07 and D08",
    )
    zero_fall: float = setting(
        0.05,
        "m3/m3",
        "a larger fall within the hour that ends at nought is a drop",
        "flagit 0.3, reference implementation of Dorigo et al. 2013, flag D07",
    )
    low_flat: float = setting(
        0.00001,
        "m3/m3",
        "variance over mean below which a sensor that dropped is flat",
        "Dorigo et al. 2013, flag D09 (0.001 in per cent by volume)",
    )
    low_flat_h: float = setting(
        13.0, "h", "least time that a sensor that dropped is flat", "Dorigo et al. 2013, D09"
    )
    low_flat_level: float = setting(
        0.5,
        "1",
        "a sensor that dropped is lost only below this share of its own median",
        "ours: the published limit of variance is the common noise of a buried sensor",
    )
    plateau_variance: float = setting(
        0.000005,
        "(m3/m3)2",
        "most variance of a plateau at saturation",
        "Dorigo et al. 2013, flag D10 (0.05 in per cent by volume squared)",
    )
    plateau_h: float = setting(
        12.0, "h", "least time of a plateau at saturation", "Dorigo et al. 2013, flag D10"
    )
    plateau_rise: float = setting(
        0.0025,
        "m3/m3/h",
        "least slope at the start of a plateau at saturation",
        "Dorigo et al. 2013, flag D10",
    )
    plateau_share: float = setting(
        0.95,
        "1",
        "least mean of a plateau at saturation, as a share of the highest reading",
        "Dorigo et al. 2013, flag D10",
    )
    plateau_climb: float = setting(
        0.01,
        "m3/m3",
        "least climb to a plateau at saturation (0: the published rule alone)",
        "ours: a noisy sensor meets the published slope at any time",
    )
    stuck_chance: float = setting(
        1e-06,
        "1",
        "a repeat less likely than this, by the sensor's own noise, is stuck",
        "ours",
    )
    failing_noise: float = setting(
        4.0,
        "1",
        "noise over the sensor's own usual noise of a failing sensor",
        "ours",
    )
    failing_onset: float = setting(
        2.0,
        "1",
        "noise over the sensor's own usual noise at which its failing is taken to begin",
        "ours",
    )
    failing_floor: float = setting(
        0.002,
        "m3/m3",
        "usual noise is taken as no less than this (rounding)",
        "ours",
    )
    failing_days: float = setting(
        7.0,
        "d",
        "a sensor noisy for so long is failing",
        "ours",
    )
    recover_days: float = setting(
        30.0,
        "d",
        "a failing sensor is trusted again after so long without noise",
        "ours",
    )
    failing_range_share: float = setting(
        0.2,
        "1",
        "share of a week out of range that makes the week failing",
        "ours",
    )
    unit_days: float = setting(
        1.0,
        "d",
        "values of 1 to 100 for so long are suspected to be per cent",
        "ours",
    )
    step_theta: float = setting(
        0.03,
        "m3/m3",
        "least step of a sensor that was disturbed",
        "ours: seven times sensor_sd",
    )
    step_rate: float = setting(
        0.02,
        "m3/m3/d",
        "roots and drainage may take so much meanwhile: more is asked of a step over a hole",
        "ours",
    )
    step_water_days: float = setting(
        2.0,
        "d",
        "water received so long before explains a rise of every sensor at once",
        "common practice, no source",
    )
    move_apart_days: float = setting(
        3.0,
        "d",
        "a step this close to a recorded installation or removal is that one",
        "ours",
    )
    step_share: float = setting(
        0.6,
        "1",
        "share of a probe's sensors that jump at once when it was disturbed",
        "ours",
    )
    step_gap_days: float = setting(
        3.0,
        "d",
        "a jump over a longer hole tells nothing of disturbance",
        "ours",
    )
    edge_move: float = setting(
        0.012,
        "m3/m3",
        "change in a day near 0 C that makes a reading uncertain",
        "three times sensor_sd; ours",
    )
    bridge_days: float = setting(
        3.0,
        "d",
        "frozen, settling or out-of-range readings less far apart are told as one span",
        "ours",
    )
    sensor_sd: float = setting(
        0.004,
        "m3/m3",
        "repeatability of a buried sensor between days",
        "common practice, no source",
    )
    stale_days: float = setting(
        3.0,
        "d",
        "without good readings for longer, a site's figures are old",
        "common practice, no source",
    )
