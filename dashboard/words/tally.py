"""What is said beside an off-season's tally."""

from analytics.soil.storage_bands import Band
from dashboard.words.measures import day_text

NO_FROST = "No frozen ground is on record here."
FROST_DATES = (
    "Frozen ground: no watering, and no probe put in. The first and last day are of this "
    "probe's own sensors; a frost tube often reads deeper."
)


def band_told(band: Band) -> str:
    """Set published field trials beside a field's own share."""
    low, high = round(100 * band.low), round(100 * band.high)
    return (
        f"Field trials found {low} to {high} % ({band.name}; {band.source}): context, not a "
        "judgement."
    )


def under_crop(crop: str) -> str:
    """Say what a tally under a standing crop counts."""
    return f"Under standing {crop}: what it drew meanwhile is among the losses."


def harvest_asked(crop: str, planted: object) -> str:
    """Ask for a harvest date that is missing."""
    return (
        f"When was the {crop} planted {day_text(planted)} harvested? No date is on record, so "
        "no off-season begins there. Import the seasons table with it."
    )
