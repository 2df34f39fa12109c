"""What is said to a room of growers."""

from collections.abc import Mapping
from typing import Any

from analytics.units import WATER, System, text
from analytics.water.contrast import Contrast
from dashboard.words.measures import day_text, spelled_water, zone_label, zone_words

HIDDEN = "Names withheld · letters dealt anew for this meeting"
OPEN = "Names shown"
TILES_KEY = (
    "Ordered by shortage, not by place.",
    "Brown to sand is short of water, teal is full.",
)
CORE_KEY = "filled: water held · right edge: full · tick: what the last crop left"
NOBODY = "No grower of that name is on record. Nothing was unmasked."
DROPPED = "No field is in the walk. Add one below."
NO_ORDER = "No watering order has been worked out yet."
NO_CONTRAST = "No two fields differ for sure on like points, so none are set side by side."


def contrast_sentence(
    found: Contrast, names: tuple[str, str], system: System, split_cm: float
) -> str:
    """Say what two fields show: the shorter, and by how much."""
    first, second = names
    where = zone_words("deep", system, split_cm)
    apart = spelled_water(found.apart_mm, system)
    head = (
        f"Same crop ({found.crop}), same winter" if found.kind == "same crop"
        else "Alike from above"
    )  # fmt: skip
    return f"{head}: {where}, {first} goes in {apart} shorter than {second}."


def tiles_title(count: int, system: System, split_cm: float) -> str:
    """Head the tiles."""
    unit = "Inches" if system == "in" else "Millimetres"
    fields = "field" if count == 1 else "fields"
    return f"{unit} short {zone_label('deep', system, split_cm)}, {count} {fields}"


def five_titles(system: System, split_cm: float) -> tuple[str, ...]:
    """Name the off-season's five figures."""
    below = zone_label("deep", system, split_cm)
    return (
        "fell since harvest: the middle field",
        f"went {below}: the middle field",
        f"short {below}: the middle field",
        f"short {below}: the shortest field",
        f"fields got nothing {below} all off-season",
    )


def first_sentence(name: str, starts_on: object, *, elsewhere: bool) -> str:
    """Say which field is watered first; ``elsewhere``: first of those shown only."""
    day = day_text(starts_on, year=False)
    if elsewhere:
        return f"Of the fields shown, {name} is watered first, from {day}."
    return f"Water goes to {name} first, from {day}."


def order_line(row: Mapping[Any, Any], system: System) -> tuple[str, str, str]:
    """Write one row of the order of the day: begins, put on, stays unfilled."""
    begins = day_text(row["starts_on"], year=False)
    return (begins, text(row["net_mm"], WATER, system),
            text(row["unfilled_mm"], WATER, system))  # fmt: skip
