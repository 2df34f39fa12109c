"""Each word of the screens in one line, with its unit in both systems."""

from analytics.units import (
    DEPTH,
    DISTANCE,
    FILL,
    FLOW,
    TEMPERATURE,
    THETA,
    WATER,
    Quantity,
)
from dashboard.words.names import CLASS_NAMES

_TERMS: tuple[tuple[str, str, Quantity | str], ...] = (
    ("Water", "as a depth: what would stand on the field if it were poured out", WATER),
    ("Water content", "volume of water in a volume of soil, as a probe reads it", THETA),
    ("Depth", "below the surface of the ground", DEPTH),
    ("Layer", "the soil around one sensor, half way to the next", DEPTH),
    ("Profile", "all layers that the probe sees", DEPTH),
    ("Deep, upper", "the soil below and above the depth that parts the zones", DEPTH),
    ("Full point", "water content at which a layer stops draining", THETA),
    ("Refill point", "water content below which the crop begins to suffer", THETA),
    ("Lower point", "driest water content that roots leave behind", THETA),
    ("Available water", "what a layer holds above its lower point: what roots can take", WATER),
    ("Short", "what a layer lacks of its full point", WATER),
    ("Share held", "available water held, of all that the layer can hold", FILL),
    ("8 in 10", "eight times in ten the true figure lies this close", WATER),
    ("Sure", "how likely the class is the true one", FILL),
    ("Learned in place", "the full point was seen in this soil after enough wettings", THETA),
    ("Provisional", "the full point was seen after few wettings; it may still move", THETA),
    ("Not yet seen full", "no wetting has filled the layer yet: a table stands in", THETA),
    ("From a texture table", "the point is a published mean for soils of this kind", THETA),
    ("Off-season", "from one crop's harvest to the next one's planting", "days"),
    ("Left by the crop", "what the layers held on the day of harvest", WATER),
    ("Put on", "irrigation that reached the field", WATER),
    ("Wetting", "a rise of the soil's water, followed down layer by layer", WATER),
    ("Settling", "weeks in which a new hole closes; it reads wrong till then", "days"),
    ("Frozen, held", "ice reads as dry: the last value before the frost is kept", THETA),
    ("Need", "what must be stored so that the field goes in at its target", WATER),
    ("Target", "what the field should hold at planting, with room left for rain", WATER),
    ("Net, gross", "what reaches the soil; what must be pumped for that", WATER),
    ("Stays unfilled", "what no date or source can reach before planting", WATER),
    ("Latest start", "last day from which a field, alone on its source, gets there", "day"),
    ("Slack of the queue", "days a source may begin later before more stays unfilled", "days"),
    ("Allocation", "what a source may pump in a season", WATER),
    ("Capacity", "what a source can pump", FLOW),
    ("Within the roots", "the soil that a crop's roots have reached by a day", DEPTH),
    ("Pace", "what a crop has lately drawn, over what was reckoned for it", FILL),
    ("Hold, run", "put nothing on; put on all that the source can give", WATER),
    ("Bank", "water that the soil must carry through the weeks in which to run", WATER),
    ("Coefficient", "a crop's demand over that of short green grass", "1"),
    ("Soil temperature", "at the depth of a sensor", TEMPERATURE),
    ("Away", "distance between two probes, on the ground", DISTANCE),
)  # fmt: skip


def entries() -> list[tuple[str, str, str]]:
    """Give every term, what it means, and its unit: inches and metric, or one for both."""
    classes = ", ".join(CLASS_NAMES.values())
    told = [(term, meaning, _unit(unit)) for term, meaning, unit in _TERMS]
    told.append(("Class", f"the share held in five steps: {classes}", _unit(FILL)))
    return sorted(told, key=lambda one: one[0].casefold())


def _unit(unit: Quantity | str) -> str:
    if isinstance(unit, str):
        return unit
    one, other = unit.in_.unit, unit.mm.unit
    return one if one == other else f"{one} or {other}"
