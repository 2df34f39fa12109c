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
        0.05,
        "m3/m3",
        "least jump of a sensor that was disturbed",
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
