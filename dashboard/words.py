"""Every phrase a person reads: plain, in the trade's words, numbers with their units.

Functions give plain text; whoever puts it into HTML or SVG escapes it.
"""

from collections.abc import Callable, Mapping
from datetime import date, datetime
from typing import Any

from analytics.settings import Settings
from analytics.units import CM_PER_FOOT, DEPTH, WATER, System, convert, text

SPLIT_CM = Settings().zone_split_cm

CLASS_NAMES = {
    "depleted": "Depleted",
    "low": "Low",
    "partial": "Partial",
    "near_full": "Near full",
    "full": "Full",
}
NOT_KNOWN = "Not known"
HELD = "Frozen, held"

BASIS_NAMES = {
    "learned": "learned in place",
    "provisional": "provisional: few wettings so far",
    "not_yet_seen": "not yet seen full; a texture value stands in",
    "texture": "from a texture table",
    "set": "set by hand",
}

FLAG_NAMES = {
    "range": "out of range",
    "spike": "spike",
    "stuck": "stuck",
    "step": "step",
    "frozen": "frozen",
    "settling": "settling",
    "duplicate": "read twice",
    "unit": "unit in doubt",
    "failing": "sensor failing",
    "clock": "clock in doubt",
    "frost_edge": "near freezing",
    "placeless": "before the probe was placed",
}

CAUTIONS = (
    "This supports a decision; it is not an instruction.",
    "Local water rules, permits, allocations and metering come first, and so does licensed "
    "agronomic and engineering advice.",
    "Water on frozen ground or on a full profile runs off or carries nitrate down.",
    "Mark buried cables and probes before tillage, and call the local utility-marking service "
    "before digging.",
    "Lightning, electricity and moving pivots: keep to the site's safety rules.",
)

EMPTY_FIELD = "No probe has reported for this field. Import a logger file in Record."
EMPTY_STORE = "This store holds no fields yet. Import fields, sites and readings to begin."
EMPTY_DATE = "Nothing is known for this date. Choose a date within the record."
EMPTY_FILTER = "No field matches these choices. Widen one of them."
NO_TALLY = "No off-season is on record here yet: it begins at a harvest."
NO_SEASONS = "No crop is on record for this field. Import its seasons to part the years."
MAP_KEY = (
    "Number in a field: water short {where}. Dotted rim: frozen, value held. Hatched half: a "
    "sensor is silent. Hatched with “?”: not known. Squares of the grid are one mile. Ring: "
    "the selected field."
)


def class_name(code: str | None) -> str:
    """Name a class of fill, or say that it is not known."""
    return CLASS_NAMES.get(code or "", NOT_KNOWN)


def basis_words(basis: object) -> str:
    """Say what a figure rests on."""
    if not isinstance(basis, str) or not basis:
        return "not known"
    return BASIS_NAMES.get(basis, basis.replace("_", " "))


def flag_name(flag: str) -> str:
    """Name a flag as people say it."""
    return FLAG_NAMES.get(flag, flag.replace("_", " "))


def basis_note(basis: object) -> str:
    """Say in a few words what the full point rests on, for the line under an answer."""
    notes = {"learned": "Points learned in place.", "set": "Points set by hand."}
    if not isinstance(basis, str):
        return "What the points rest on is not known."
    return notes.get(basis, f"Full point {basis_words(basis)}.")


# --- days and depths ------------------------------------------------------------------------


def _day(value: object) -> date | None:
    if value is None or value != value:  # noqa: PLR0124 - only NaN and NaT differ from themselves
        return None
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    try:
        return datetime.fromisoformat(str(value)).date()
    except ValueError:
        return None


def day_text(value: object, *, year: bool = True) -> str:
    """Write a day as "11 Jun 2023", or an em dash where it is not known."""
    day = _day(value)
    if day is None:
        return "—"
    return f"{day.day} {day:%b %Y}" if year else f"{day.day} {day:%b}"


def month_text(value: object) -> str:
    """Write a day's month as "Jul 2023"."""
    day = _day(value)
    return "—" if day is None else f"{day:%b %Y}"


def depth_text(depth_cm: float, system: System) -> str:
    """Write a depth of the soil: feet to the half ("7½ ft"), or whole centimetres."""
    if system == "mm":
        return text(depth_cm, DEPTH, system)
    return f"{feet(depth_cm)} ft"


def feet(depth_cm: float) -> str:
    """Write a depth in feet, to the nearest half."""
    halves = round(depth_cm / CM_PER_FOOT * 2)
    whole, half = divmod(halves, 2)
    if not half:
        return str(whole)
    return f"{whole}½" if whole else "½"


def _spelled_depth(depth_cm: float, system: System) -> str:
    if system == "mm":
        return text(depth_cm, DEPTH, system)
    number = feet(depth_cm)
    return f"{number} foot" if number in {"1", "½"} else f"{number} feet"


def zone_words(zone: str, system: System, split_cm: float = SPLIT_CM) -> str:
    """Say a zone in a sentence: "below 3 feet", "in the upper 90 cm"."""
    depth = _spelled_depth(split_cm, system)
    named = {"deep": f"below {depth}", "upper": f"in the upper {depth}"}
    return named.get(zone, "in the whole profile")


def zone_label(zone: str, system: System, split_cm: float = SPLIT_CM) -> str:
    """Label a zone on a control or an axis: "below 3 ft", "upper 3 ft", "whole profile"."""
    depth = depth_text(split_cm, system)
    return {"deep": f"below {depth}", "upper": f"upper {depth}"}.get(zone, "whole profile")


def layer_label(top_cm: float, bottom_cm: float, system: System) -> str:
    """Label a layer by its edges in whole inches or centimetres: "30–42"."""
    top, bottom = (round(convert(one, DEPTH, system)) for one in (top_cm, bottom_cm))
    return f"{top}–{bottom}"


# --- answers --------------------------------------------------------------------------------


def spelled_water(water_mm: float, system: System) -> str:
    """Write a depth of water in a heading: "5 inches", "4.5 inches", "125 mm"."""
    if system == "mm":
        return text(water_mm, WATER, system)
    number = f"{convert(water_mm, WATER, system):.1f}".removesuffix(".0")
    return f"{number} inch" if number == "1" else f"{number} inches"


def is_short(water_mm: float | None, system: System) -> bool:
    """Tell whether a shortage would show as more than nought."""
    if water_mm is None or water_mm != water_mm:  # noqa: PLR0124 - NaN
        return False
    return round(convert(water_mm, WATER, system), WATER.shown(system).digits) > 0


def short_words(deficit_mm: float | None, system: System) -> str:
    """Write a shortage: "5.5 in short", "nothing short", or "not known"."""
    if deficit_mm is None or deficit_mm != deficit_mm:  # noqa: PLR0124 - NaN
        return "not known"
    if not is_short(deficit_mm, system):
        return "nothing short"
    return f"{text(deficit_mm, WATER, system)} short"


def district_answer(
    *,
    short: int,
    of: int,
    over_mm: float,
    system: System,
    zone: str = "deep",
    split_cm: float = SPLIT_CM,
) -> str:
    """Answer the district's question in one sentence.

    Parameters
    ----------
    short : int
        Fields short by more than ``over_mm``.
    of : int
        Fields whose shortage is known.
    over_mm : float
        The line drawn, mm.
    system : {"in", "mm"}
        Units to write in.
    zone : {"deep", "upper", "profile"}
        Where.
    split_cm : float
        Depth that parts the zones, cm.
    """
    if of == 0:
        return "No field's water is known on this date."
    go = "goes" if short == 1 else "go"
    count = "None" if short == 0 else str(short)
    fields = "field" if of == 1 else "fields"
    return (
        f"{count} of {of} {fields} {go} into the season more than "
        f"{spelled_water(over_mm, system)} short {zone_words(zone, system, split_cm)}."
    )


def district_second(
    *,
    wet_on_top: int,
    worst: str | None,
    worst_mm: float | None,
    system: System,
    short: int = 0,
    source: str | None = None,
    source_count: int = 0,
) -> str:
    """Give the evidence under the district's answer in one or two sentences."""
    said = []
    if wet_on_top:
        said.append(
            f"{wet_on_top} of them {'looks' if wet_on_top == 1 else 'look'} wet on top."
        )
    if worst is not None and is_short(worst_mm, system):
        line = f"Worst is {worst}, {text(worst_mm, WATER, system)} short"
        if source and source_count and short > 1:
            hang = "hangs" if source_count == 1 else "hang"
            line += f"; {source_count} of the {short} {hang} on {source}"
        said.append(f"{line}.")
    return " ".join(said)


def district_rests(
    *, read_on: object, silent: int = 0, held: int = 0, unknown: int = 0, as_of: object = None
) -> str:
    """Say what the district's figures rest on, and how old they are."""
    newest, today = _day(read_on), _day(as_of)
    if newest is None:
        said = ["No probe has read yet"]
    elif today is not None and newest != today:
        said = [f"Probes read to {day_text(newest)}, {age_words(newest, today)}"]
    else:
        said = [f"Probes read to {day_text(newest)}"]
    counted = (
        (silent, "field has a silent sensor", "fields have a silent sensor"),
        (held, "field holds values under frost", "fields hold values under frost"),
        (unknown, "field is not known", "fields are not known"),
    )
    parts = [f"{n} {one if n == 1 else many}" for n, one, many in counted if n]
    return "; ".join([said[0], ", ".join(parts)]) + "." if parts else f"{said[0]}."


def field_answer(
    *,
    name: str,
    crop: str | None,
    deep_mm: float | None,
    wet_on_top: bool,
    system: System,
    zone: str = "deep",
    split_cm: float = SPLIT_CM,
) -> str:
    """Answer one field's question: how short, how deep, and whether the top misleads."""
    where = zone_words(zone, system, split_cm)
    into = crop if crop else "the season"
    if deep_mm is None or deep_mm != deep_mm:  # noqa: PLR0124 - NaN
        return f"What {name} holds {where} is not known."
    if not is_short(deep_mm, system):
        return f"{name} goes into {into} with nothing short {where}."
    tail = ", although the top is wet" if wet_on_top else ""
    return f"{name} goes into {into} {text(deep_mm, WATER, system)} short {where}{tail}."


def field_second(
    *,
    change_mm: float | None,
    deep_change_mm: float | None,
    last_full: object,
    crop: str | None,
    system: System,
    split_cm: float = SPLIT_CM,
) -> str:
    """Say what the off-season brought, how much went deep, and when the deep was last full."""
    below = f"below {depth_text(split_cm, system)}"
    said = []
    if change_mm is not None and change_mm == change_mm:  # noqa: PLR0124 - NaN
        said.append(_brought(change_mm, deep_change_mm, below, system))
    full = _day(last_full)
    if full is None:
        said.append(f"{below.capitalize()} the soil has not been seen full on this record.")
    else:
        under = f" ({crop})" if crop else ""
        said.append(f"{below.capitalize()} the soil was last full on {day_text(full)}{under}.")
    return " ".join(said)


def _brought(change_mm: float, deep_mm: float | None, below: str, system: System) -> str:
    water = text(abs(change_mm), WATER, system)
    if not is_short(abs(change_mm), system):
        return "The off-season neither added nor took water."
    if change_mm < 0:
        return f"The off-season took {water}."
    if deep_mm is None or deep_mm != deep_mm:  # noqa: PLR0124 - NaN
        return f"The off-season added {water}."
    if not is_short(deep_mm, system):
        return f"The off-season added {water}, none of it {below}."
    return f"The off-season added {water}, {text(deep_mm, WATER, system)} of it {below}."


def within_words(sd_mm: float | None, system: System) -> str:
    """Write the half width of the 8-in-10 interval: "±0.5 in, 8 in 10"."""
    if sd_mm is None or sd_mm != sd_mm:  # noqa: PLR0124 - NaN
        return "spread not known"
    return f"±{text(EIGHT_IN_TEN * sd_mm, WATER, system)}, 8 in 10"


# Normal deviate with eight tenths of the distribution inside plus or minus it.
EIGHT_IN_TEN = 1.2815515655446004


def age_words(day: object, as_of: object) -> str:
    """Say how old a reading is: "12 days old", "1 day old", "of today"."""
    then, now = _day(day), _day(as_of)
    if then is None or now is None:
        return "age not known"
    days = (now - then).days
    if days <= 0:
        return "of today"
    return f"{days} day old" if days == 1 else f"{days} days old"


def stale_note(read_on: object, as_of: object) -> str:
    """Say how old a figure is: "as of 12 Feb, 12 days old"."""
    return f"as of {day_text(read_on, year=False)}, {age_words(read_on, as_of)}"


def loading(count: int) -> str:
    """Say what is being read."""
    return f"Reading {count} {'field' if count == 1 else 'fields'}…"


def trouble(where: str, found: str, remedy: str) -> str:
    """Say which thing, what was found, and what to do."""
    return f"{where}: {found} {remedy}"


# --- headlines ------------------------------------------------------------------------------

Item = Mapping[str, Any]


def _number(item: Item, key: str) -> float | None:
    value = item.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if value == value else None  # noqa: PLR0124 - NaN


def _below(item: Item, system: System, fallback: str = "") -> str:
    top = _number(item, "top_cm")
    return fallback if top is None else f" below {depth_text(top, system)}"


def _wet_on_top(item: Item, system: System) -> str:
    short = _number(item, "mm")
    tail = f": {text(short, WATER, system)} short" if short and is_short(short, system) else ""
    return f"Wet on top, dry beneath{tail}"


def _not_refilled(item: Item, system: System) -> str:
    del system
    crop = f" ({item['crop']})" if item.get("crop") else ""
    if _day(item.get("since")) is None:
        return "Deep layers never seen refilled on this record"
    return f"Deep layers not refilled since {month_text(item.get('since'))}{crop}"


def _draining(item: Item, system: System) -> str:
    lost = _number(item, "mm")
    tail = f": {text(lost, WATER, system)} lost" if lost and is_short(lost, system) else ""
    return f"Draining below the probe{tail}"


def _never_full(item: Item, system: System) -> str:
    return f"Never seen full{_below(item, system, ' at depth')}"


def _held(item: Item, system: System) -> str:
    bottom = _number(item, "bottom_cm")
    until = "" if bottom is None else f" to {text(bottom, DEPTH, system)}"
    return f"Frozen{until}: held values"


def _settling(item: Item, system: System) -> str:
    del system
    until = _day(item.get("until"))
    return "Settling in its hole" + (f" until {day_text(until)}" if until else "")


def _stale(item: Item, system: System) -> str:
    depth, days = _number(item, "depth_cm"), _number(item, "days")
    who = "Probe" if depth is None else f"Sensor at {text(depth, DEPTH, system)}"
    if days is None:
        return f"{who} silent"
    return f"{who} silent {days:.0f} {'day' if round(days) == 1 else 'days'}"


def _unsure(item: Item, system: System) -> str:
    basis = item.get("basis")
    tail = f": {basis_words(basis)}" if isinstance(basis, str) and basis else ""
    return f"Full point unsure{_below(item, system)}{tail}"


_HEADLINES: dict[str, Callable[[Item, System], str]] = {
    "wet_on_top_dry_beneath": _wet_on_top,
    "deep_not_refilled": _not_refilled,
    "draining_below": _draining,
    "not_yet_seen_full": _never_full,
    "frozen_held": _held,
    "settling": _settling,
    "stale": _stale,
    "points_unsure": _unsure,
}


def headline_sentence(item: Item, system: System) -> str:
    """Write one headline with its evidence.

    Parameters
    ----------
    item : mapping
        ``code`` and whatever evidence goes with it: since, until (dates), days, mm, depth_cm,
        top_cm, bottom_cm, crop, basis. Evidence that is missing is left out of the phrase.
    system : {"in", "mm"}
        Units to write in.

    Returns
    -------
    str
        A phrase without a full stop; an unknown code is written out in words.
    """
    code = str(item.get("code", ""))
    write = _HEADLINES.get(code)
    return code.replace("_", " ").capitalize() if write is None else write(item, system)
