"""Second opinions beside the points: histogram, seasons, drift, refill from uptake."""

from dataclasses import dataclass

from analytics.settings.declare import setting


@dataclass(frozen=True, kw_only=True)
class Opinions:
    """Second opinions beside the points that the record taught."""

    # peaks of the histogram
    histogram_step: float = setting(
        0.002, "m3/m3", "step of the histogram whose peaks are looked for", "ours"
    )
    histogram_smooth: float = setting(
        0.006,
        "m3/m3",
        "standard deviation of the kernel that smooths the histogram",
        "ours: about what a sensor and a winter leave of a point's place",
    )
    histogram_prominence: float = setting(
        0.25, "1", "a peak stands out by so much of the highest one", "ours"
    )
    histogram_days: float = setting(
        60.0, "d", "fewer days make no histogram", "ours: two months of one winter"
    )
    # drift of the seasons' own estimates
    drift_seasons: float = setting(4.0, "seasons", "fewer estimates show no drift", "ours")
    drift_interval: float = setting(
        0.90, "1", "interval of the drift that must leave nought outside", "Sen 1968"
    )
    drift_noise: float = setting(
        3.0, "sensor sds", "a total change within so many is no drift", "usual three sigma"
    )
    # refill points from uptake
    refill_from: float = setting(
        0.50,
        "1",
        "share of the season after which the crop covers the ground",
        "FAO-56 Table 11: development ends at 38-47 % of summer field crops' season",
    )
    refill_until: float = setting(
        0.85,
        "1",
        "share of the season after which the crop itself asks for less",
        "FAO-56 Table 11: the late stage takes the last 15-30 %; ours within that",
    )
    refill_days: float = setting(25.0, "d", "fewer days of uptake show no refill point", "ours")
    refill_bic: float = setting(
        10.0,
        "1",
        "two segments must beat one by so much in the information criterion",
        "Kass & Raftery 1995: above 10 is very strong evidence",
    )
    refill_seasons: float = setting(
        2.0,
        "seasons",
        "fits of fewer seasons do not replace Table 22",
        "common practice, no source",
    )
    refill_agree: float = setting(
        0.03, "m3/m3", "fits further apart than this do not replace Table 22", "ours"
    )
    # what roots took
    stopped_share: float = setting(
        0.15,
        "1",
        "a layer gives no more once it gives less than this share of its most in a day",
        "ours",
    )
