"""What is said of full, refill and lower points."""

from collections.abc import Mapping
from typing import Any

from analytics.units import DEPTH, THETA, WATER, System, text
from dashboard.words.measures import (
    EIGHT_IN_TEN,
    as_day,
    counted,
    day_text,
    is_short,
    layer_label,
)
from dashboard.words.names import BASIS_NAMES
from dashboard.words.plain import plain

POINT_NAMES = {"full": "full point", "refill": "refill point", "lower": "lower point"}
REASONS = {
    "provisional": "provisional: few wettings, or one year",
    "not_yet_seen": "not yet seen full: a texture stands in",
    "texture": "from a texture table",
    "apart": "learned, but a second opinion stands apart",
    "drift": "drifts beyond noise",
}
CANDIDATES = {
    "record": "the record’s own",
    "histogram": "histogram peak",
    "season": "season",
    "texture": "texture",
    "highest_kept": "highest kept",
    "lowest_kept": "lowest kept",
    "uptake": "uptake begins to fall",
    "drained": "drained to",
}
NOT_SIGNED = "Say who sets it, and why: both are kept with the point."
ANEW = "The page was connected anew; nothing was changed. Look at the value, then press again."
WINS = "A set point holds until it is taken back. Pinned, “accept all” passes it by as well."
NO_PREVIEW = "Type or choose another value to see what it would change before it is saved."
NOT_ACCEPTED = "No layer waits to be accepted: what is sure is set already."
RULE = "Rule of thumb 40, 30, 20 and 10 % from the top: FAO-56, p. 180."
NO_DRYDOWN = "No crop's uptake is on record here yet."


def driest(layer: str, value: float) -> str:
    """Say how dry a crop left a layer: its lower point should not lie far above."""
    return f"At its driest under this crop {layer} kept {theta(value)} m³/m³ for five days."


def answer(*, layers: int, fields: int, largest: str, effect_mm: float, system: System) -> str:
    """Say how many layers need a person, and what the largest may change.

    Parameters
    ----------
    layers, fields : int
        That need a person.
    largest : str
        Name of the field with the largest effect.
    effect_mm : float
        That effect, mm.
    system : {"in", "mm"}
        Units to write in.
    """
    if layers == 0:
        return "No full point needs a person: none would change a field’s water by much."
    one = layers == 1
    where = f"in {fields} {'field' if fields == 1 else 'fields'}"
    need = (
        f"{layers} {'layer' if one else 'layers'} {where} {'needs' if one else 'need'} a person"
    )
    which = "it" if one else "the largest"
    return f"{need}; {which} would change {largest} by {text(effect_mm, WATER, system)}."


def second(*, states: Mapping[str, int], sure: int) -> str:
    """Say what the full points rest on, and how many may be accepted at once."""
    named = [f"{n} {BASIS_NAMES.get(one, one)}" for one, n in states.items() if n]
    tail = f" {sure} learned ones are sure enough to accept at once." if sure else ""
    return f"Full points: {', '.join(named)}.{tail}"


def work_line(row: Mapping[Any, Any], system: System) -> str:
    """Name a layer that needs a person, its reason and what it may change, in Markdown."""
    unit = DEPTH.shown(system).unit
    layer = f"{layer_label(row['top_cm'], row['bottom_cm'], system)} {unit}"
    water = text(row["effect_mm"], WATER, system)
    return f"**{plain(row['name'])}**, {layer} · {REASONS[row['why']]} · **{water}**"


def layer_name(top_cm: float, bottom_cm: float, system: System) -> str:
    """Name a layer in the choice list: "30–42 in"."""
    return f"{layer_label(top_cm, bottom_cm, system)} {DEPTH.shown(system).unit}"


def theta(value: float | None) -> str:
    """Write a water content without its unit, which stands in the heading."""
    return text(value, THETA, "mm").split(" ")[0]


def spread(sd: float | None) -> str:
    """Write the half width of the 8-in-10 interval of a water content: "±0.006"."""
    return "—" if sd is None or sd != sd else f"±{EIGHT_IN_TEN * sd:.3f}"  # noqa: PLR0124 - NaN


def candidate(kind: str, on: object) -> str:
    """Name a candidate: "histogram peak", "season 2024"."""
    day = as_day(on)
    if kind == "season" and day is not None:
        return f"season to {day_text(day)}"
    if kind.startswith("previous"):
        return "before the re-install"
    return CANDIDATES.get(kind, kind.replace("_", " "))


def carried(point: str, row: Mapping[Any, Any]) -> str:
    """Say what stands in force for a layer."""
    basis = BASIS_NAMES.get(str(row["state"]), str(row["state"]))
    within = f"{theta(row['value'])} {spread(row['sd'])} m³/m³, 8 in 10"
    return f"{POINT_NAMES[point].capitalize()} carried: {within}; {basis}."


def drift_note(row: Mapping[Any, Any], thickness_cm: float, system: System) -> str:
    """Say how a point drifts, where that is beyond noise; else nothing."""
    if not bool(row["beyond_noise"]):
        return ""
    slope = float(row["slope_per_year"])
    way = "up" if slope > 0 else "down"
    water = text(abs(slope) * thickness_cm * 10.0, WATER, system)
    seasons = int(row["seasons"])
    return (
        f"The seasons' own estimates move {way} by {abs(slope):.3f} m³/m³ a year "
        f"({float(row['low']):+.3f} to {float(row['high']):+.3f}) over "
        f"{counted(seasons, 'season')}, {water} of this layer a year."
    ).replace("-", "−")


def accept_line(sure: int, fields: int, within_mm: float, system: System) -> str:
    """Say what would be accepted at once."""
    points_ = "point is" if sure == 1 else "points are"
    places = "field" if fields == 1 else "fields"
    least = "as much as 0.1 in" if system == "in" else "as much as 1 mm"
    shows = is_short(within_mm, system)
    most = f"more than {text(within_mm, WATER, system)}" if shows else least
    return (
        f"{sure} learned full {points_} sure, in {fields} {places}: drained over two "
        "off-seasons or more, no second opinion stands apart, none would change a layer by "
        f"{most}."
    )


def accepted(count: int) -> str:
    """Say that points were accepted."""
    return f"{count} full {'point' if count == 1 else 'points'} accepted and pinned."


def saved(point: str, value: float, name: str) -> str:
    """Say that a point was saved and the site worked out anew."""
    return f"{POINT_NAMES[point].capitalize()} {value:.3f} saved; {name} is worked out anew."


def holds(value: float, by: str, basis: str) -> str:
    """Name a version in force: "0.310 set by Ann", "0.334 (learned)"."""
    return f"{theta(value)} set by {by}" if by else f"{theta(value)} ({basis})"


def overtaken(point: str, now: str, value: float) -> str:
    """Say that a point changed since a person began to enter theirs, and how to go on."""
    return (
        f"The {POINT_NAMES[point]} changed meanwhile: {now} holds now. {value:.3f} is not "
        f"saved; to put it in its place, press “{save_over(value)}”."
    )


def save_over(value: float) -> str:
    """Name the button that saves over what another set meanwhile."""
    return f"Save {value:.3f} all the same"


def take_back(held: str) -> str:
    """Name the button that takes a set version back."""
    return f"Take back {held}"


def not_taken_back(drawn: str, now: str) -> str:
    """Say that the version on the button was not taken back, since another one holds."""
    return f"{drawn} does not hold any more: {now} does. Nothing was taken back."


def taken_back(point: str, held: str, name: str) -> str:
    """Say that a set point was taken back."""
    return (
        f"{POINT_NAMES[point].capitalize()} {held} taken back; what stood before holds "
        f"again, and {name} is worked out anew."
    )
