"""Zones and what a field holds going into the season."""

from dataclasses import dataclass

from analytics.settings.declare import setting


@dataclass(frozen=True, kw_only=True)
class Readiness:
    """Zones and what a field holds going into the season."""

    # zones
    zone_split_cm: float = setting(
        90.0,
        "cm",
        "depth that parts the upper from the deep zone",
        "three feet; common practice, no source",
    )
    # readiness
    wetting_memory_days: float = setting(
        240.0,
        "d",
        "how far back a wetting is looked for where no harvest is known",
        "ours; about the longest off-season between two summer crops",
    )
    wet_fill: float = setting(
        0.6, "1", "an upper zone at or above this fill is called wet", "ours"
    )
    dry_fill: float = setting(0.4, "1", "a deep layer below this fill is called dry", "ours")
    emptied_least: float = setting(
        0.03,
        "m3/m3",
        "a deep layer this far below the most it has held was emptied, not merely usual",
        "ours; several times a sensor's error",
    )
    full_tolerance: float = setting(
        0.05, "1", "a layer within this share of its full point counts as full", "ours"
    )
