"""What is said beside an off-season's tally."""

from analytics.soil.storage_bands import Band
from dashboard.words.measures import day_text

NO_FROST = "No frozen ground is on record here."
FROST_DATES = (
    "Frozen ground: no watering, and no probe put in. The first and last day are of this "
    "probe's own sensors; a frost tube often reads deeper."
)
SUMS = (
    "Left, Change and Held of the layers{known} add up to the profile’s. The columns between "
    "do not: water that one layer passes to the next is lost in the one and gained in the "
    "other, and neither in the profile."
)


def sums_told(layers: int, known: int) -> str:
    """Say which columns of a tally add up to the profile's, and why the others do not.

    Parameters
    ----------
    layers, known : int
        Layers of the probe, and those whose change is known; without any nothing is said.
    """
    if known == 0:
        return ""
    return SUMS.format(known="" if known == layers else " that are known")


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
