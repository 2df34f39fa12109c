"""How much is worth putting on, and in which order."""

from dataclasses import dataclass

from analytics.settings.declare import setting


@dataclass(frozen=True, kw_only=True)
class Order:
    """How much is worth putting on, and in which order."""

    reliability: float = setting(
        0.8, "1", "share of past years in which the target would have sufficed", "design choice"
    )
    ceiling: float = setting(
        0.75,
        "1",
        "watering fills the zone no further than this, to leave room for rain",
        "Orr 2004 (High Plains water district): 75 % of capacity before planting",
    )
    value_steps: float = setting(
        5.0, "steps", "steps in which the worth of a field's water is laid out", "ours"
    )
    # what a lacking mm weighs, by crop: by default the share of yield lost by share of water
    worth_maize: float = setting(
        1.25, "1", "what a mm lacking weighs for maize (corn)", "FAO-56 Table 24, Ky"
    )
    worth_spring_wheat: float = setting(
        1.15, "1", "what a mm lacking weighs for spring wheat", "FAO-56 Table 24, Ky"
    )
    worth_alfalfa: float = setting(
        1.1, "1", "what a mm lacking weighs for alfalfa", "FAO-56 Table 24, Ky"
    )
    worth_winter_wheat: float = setting(
        1.05, "1", "what a mm lacking weighs for winter wheat", "FAO-56 Table 24, Ky"
    )
    worth_sunflower: float = setting(
        0.95, "1", "what a mm lacking weighs for sunflower", "FAO-56 Table 24, Ky"
    )
    worth_sorghum: float = setting(
        0.9, "1", "what a mm lacking weighs for sorghum", "FAO-56 Table 24, Ky"
    )
    worth_cotton: float = setting(
        0.85, "1", "what a mm lacking weighs for cotton", "FAO-56 Table 24, Ky"
    )
    worth_soybean: float = setting(
        0.85, "1", "what a mm lacking weighs for soybean", "FAO-56 Table 24, Ky"
    )
    worth_other: float = setting(
        1.0, "1", "what a mm lacking weighs for any other crop", "ours"
    )
    # what stays of off-season water
    stored_spring: float = setting(
        0.925, "1", "share of spring water stored in a drier profile", "Stone et al. 2008"
    )
    stored_autumn: float = setting(
        0.825, "1", "share of autumn water stored in a drier profile", "Stone et al. 2008"
    )
    spring_knee: float = setting(
        0.60, "1", "fill above which spring water begins to be lost", "Stone et al. 2008"
    )
    autumn_knee: float = setting(
        0.55, "1", "fill above which autumn water begins to be lost", "Stone et al. 2008"
    )
    autumn_days: float = setting(
        120.0, "d", "water put on longer before planting counts as autumn water", "ours"
    )
    least_stored: float = setting(
        0.3,
        "1",
        "with a smaller share of the water staying, no watering is advised",
        "common practice, no source",
    )
    # the order
    dry_off_days: float = setting(
        7.0, "d", "no watering so shortly before planting", "common practice, no source"
    )
    pass_days: float = setting(
        3.0, "d", "one pass: no more than its largest depth within so many days", "ours"
    )
    lateness: float = setting(
        1e-4,
        "1/d",
        "worth lost for each day that water lies in the soil before planting",
        "ours: small, it only decides between plans that are else equal",
    )
    least_water_mm: float = setting(
        1.0,
        "mm",
        "no more than this, to be stored or still lacking, is not worth a pass",
        "ours: the least that a page shows in mm",
    )
    quarter_share: float = setting(
        0.25,
        "1",
        "share of a season's allocation often spent before planting",
        "common practice, no source: a quarter of a 24-inch allocation",
    )
    source_efficiency: float = setting(
        0.85, "1", "application efficiency of a source that gives none", "NRCS NEH 652 (MEMORY)"
    )
    pass_mm: float = setting(
        25.4, "mm", "largest depth of one pass where a source gives none", "ours: one inch"
    )
    allocation_month: float = setting(
        1.0,
        "month",
        "month in which a source's year begins: its allocation, and what its dates speak of",
        "common practice, no source",
    )
    water_known_days: float = setting(
        14.0, "d", "a soil's water known no longer ago counts as today's", "ours"
    )
    frost_stays_days: float = setting(
        7.0, "d", "ground that is frozen today is given no water for so long", "ours"
    )
    water_seen_least: float = setting(
        0.75,
        "1",
        "share of a profile that must be known so; a silent layer is then taken for as full as "
        "the nearest that reads",
        "ours",
    )
    named_from_mm: float = setting(
        2.5, "mm", "a field with less to put on is not named as the one to start", "ours"
    )
