"""Wettings, the off-season tally and roots."""

from dataclasses import dataclass

from analytics.settings.declare import setting


@dataclass(frozen=True, kw_only=True)
class Wettings:
    """Wettings, the off-season tally and roots."""

    # wettings
    wetting_mm: float = setting(
        2.0,
        "mm",
        "least daily rise of the profile that starts a wetting",
        "common practice, no source",
    )
    layer_rise: float = setting(
        0.005,
        "m3/m3",
        "least rise by which a layer answers a wetting",
        "common practice, no source",
    )
    follow_days: float = setting(
        7.0,
        "d",
        "a layer that answers later is not counted to the wetting",
        "common practice, no source",
    )
    hourly_step_h: float = setting(
        6.0,
        "h",
        "a record with a longer step is followed by the day",
        "ours; four readings a day still tell morning from evening",
    )
    same_event_h: float = setting(
        12.0,
        "h",
        "rises less far apart are one wetting",
        "common practice, no source",
    )
    # off-season tally
    tally_reach_days: float = setting(
        10.0,
        "d",
        "how far from a harvest or planting a reading may lie and still stand for that day",
        "common practice, no source",
    )
    autumn_from_d: float = setting(
        213.0,
        "d",
        "day of the year from which a planted crop is one that stands over winter (1 August)",
        "common practice, no source",
    )
    green_up_d: float = setting(
        60.0,
        "d",
        "day of the year on which a crop that stood over winter grows again (1 March)",
        "common practice, no source",
    )
    frost_month: float = setting(
        7.0,
        "month",
        "month in which one winter and the next are parted, where no crop tells",
        "ours; in the middle of summer",
    )
    longest_crop_d: float = setting(
        330.0,
        "d",
        "how long after its planting a crop without a harvest date is asked about",
        "common practice, no source",
    )
    trickle_days: float = setting(
        21.0,
        "d",
        "a rise so long after a wetting is still credited to it (water on its way down)",
        "ours; about the drainage time of fine soils, 450 h (Jabro et al. 2009)",
    )
    drying_cm: float = setting(
        60.0,
        "cm",
        "layers wholly below this lose nothing to the air off season",
        "ours; bare soil dries to 10-15 cm by evaporation (FAO-56), slowly to some depth below",
    )
    received_least_mm: float = setting(
        10.0,
        "mm",
        "with less water received, no storage efficiency is given",
        "common practice, no source",
    )
    received_seen: float = setting(
        0.9,
        "1",
        "share of an off-season's days whose water must be told for what it received",
        "ours",
    )
    steady_days: float = setting(
        2.0,
        "d",
        "water stored is read so long after the last rise of a wetting",
        "48 h as for the full point; Veihmeyer & Hendrickson, Ottoni Filho et al. 2014",
    )
    cause_days: float = setting(
        2.0,
        "d",
        "water that came so long before the first rise may have caused it",
        "common practice, no source",
    )
    cause_share: float = setting(
        0.25,
        "1",
        "water that arrived explains a wetting if it is at least this share of what was gained",
        "ours: one gauge or the nearest station misses much of a storm, not three quarters",
    )
    aside_factor: float = setting(
        2.0,
        "1",
        "a layer that gains so many times what fell got its water from the side or from below",
        "ours; a rain gauge may miss half of a storm",
    )
    wet_quantile: float = setting(
        0.95,
        "1",
        "a layer above this quantile of its record has no room to rise; water passes it unseen",
        "ours",
    )
    wet_span: float = setting(
        0.03,
        "m3/m3",
        "only a layer that has moved by more can be called at its wettest",
        "ours",
    )
    # roots
    rooted_fall: float = setting(
        0.008,
        "m3/m3",
        "a layer that came down so far under a crop, and goes on falling, is rooted",
        "ours: above a sensor's noise and a season's drift",
    )
    uptake_floor: float = setting(
        0.0005,
        "m3/m3/d",
        "least noise of a layer's daily uptake",
        "ours: a few steps of an hourly sensor's resolution",
    )
