"""Full, refill and lower points."""

from dataclasses import dataclass

from analytics.settings.declare import setting


@dataclass(frozen=True, kw_only=True)
class Points:
    """Full, refill and lower points."""

    drain_wait_h: float = setting(
        48.0,
        "h",
        "least time from a layer's peak to its drained value",
        "Veihmeyer & Hendrickson; Ottoni Filho et al. 2014",
    )
    drain_cap_h: float = setting(
        450.0, "h", "longest wait for a layer to drain", "Jabro et al. 2009, clay loam"
    )
    drained_rate: float = setting(
        0.002,
        "m3/m3/d",
        "a layer that loses less than this a day is calm: drained where it never comes to rest",
        "Ratliff, Ritchie & Cassel 1983: 0.1-0.2 % a day, read as water content",
    )
    drained_share: float = setting(
        0.002,
        "1/d",
        "a layer that loses less than this share of its water a day is at rest",
        "Ratliff, Ritchie & Cassel 1983: 0.1-0.2 % a day, read as a share of its water",
    )
    steady_fall_days: float = setting(
        12.0,
        "d",
        "days of falling from which the part of the loss that does not slow can be told",
        "ours; tests/truth/test_drained_truth.py measures the outcome",
    )
    steady_below: float = setting(
        3.0,
        "drained rates",
        "a layer that loses more a day tells nothing of the end of drainage",
        "ours; tests/truth/test_drained_truth.py measures the outcome",
    )
    steady_most: float = setting(
        0.5,
        "drained rates",
        "most that air and dry soil are taken to draw steadily; more is noise",
        "ours; tests/truth/test_drained_truth.py measures the outcome",
    )
    steepness_sand: float = setting(
        40.0,
        "1",
        "how steeply the logarithm of conductivity rises with water content in sand",
        "form: Libardi et al. 1980; range from memory, not checked",
    )
    steepness_clay: float = setting(
        90.0,
        "1",
        "the same in clay",
        "form: Libardi et al. 1980; range from memory, not checked",
    )
    wetted_reach: float = setting(
        1.0,
        "standard deviations",
        "a layer further below its texture's full point is wet only if the soil around says so",
        "ours",
    )
    learned_wettings: float = setting(
        3.0,
        "wettings",
        "fewer drained wettings leave a full point provisional",
        "common practice, no source",
    )
    learned_seasons: float = setting(
        2.0,
        "off-seasons",
        "wettings of fewer years leave a full point provisional",
        "common practice, no source",
    )
    ponded_theta: float = setting(
        0.47,
        "m3/m3",
        "a plateau above this is ponded or perched, never a full point",
        "highest field capacity of FAO-56 Table 19 (0.42) plus 0.05; ours",
    )
    layer_wetting: float = setting(
        0.01,
        "m3/m3",
        "least rise of a layer from which a drained value may be read",
        "common practice, no source",
    )
    drained_from: float = setting(
        0.008,
        "m3/m3",
        "a drained value lies at least so far below the peak before it",
        "ours: twice the repeatability of a sensor",
    )
    drained_far: float = setting(
        0.02,
        "m3/m3",
        "the same where nothing shows that water went on, and the value is below the texture's",
        "ours",
    )
    young_crop_days: float = setting(
        30.0,
        "d",
        "a younger crop leaves drainage visible",
        "ours: FAO-56 Table 11 has initial stages of 20 to 30 d",
    )
    upper_quantile: float = setting(
        0.85, "1", "the upper cluster of drained values lies about this quantile", "ours"
    )
    cluster_width: float = setting(
        0.025,
        "m3/m3",
        "half width of the upper cluster of drained values",
        "ours",
    )
    limit_sd: float = setting(
        0.005, "m3/m3", "no learned or set point is surer than this", "ours"
    )
    drained_sd: float = setting(
        0.004,
        "m3/m3",
        "what a layer's drained values are off by together, however many there are",
        "ours: median error against the simulated truth in tests/truth",
    )
    provisional_sd: float = setting(
        0.02,
        "m3/m3",
        "what one wetting or one year may be off by, added to a provisional point",
        "common practice, no source",
    )
    surface_sd: float = setting(
        0.015,
        "m3/m3",
        "what evaporation may have taken from the top layer before it drained, as an error",
        "ours",
    )
    ponded_days: float = setting(
        21.0,
        "d",
        "a layer that keeps its wettest value for longer is ponded or perched",
        "common practice, no source",
    )
    ponded_range: float = setting(
        0.03, "m3/m3", "a ponded layer moves less than this meanwhile", "ours"
    )
    drydown: float = setting(
        0.03,
        "m3/m3",
        "a layer that fell by less under a crop shows no lower point",
        "ours",
    )
    lower_rest: float = setting(
        0.008,
        "m3/m3",
        "a layer so near its low end is resting there",
        "ours: twice the repeatability of a sensor",
    )
    lower_days: float = setting(
        10.0, "d", "a layer that rests at its low end for less has not reached it", "ours"
    )
    lower_reach: float = setting(
        1.0,
        "standard deviations",
        "a low end further above the texture's lower point is only where the crop stopped",
        "ours",
    )
    least_span: float = setting(
        0.02, "m3/m3", "least distance from the lower to the full point", "ours"
    )
