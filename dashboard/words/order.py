"""The watering order in sentences: what to start, why in this order, what cannot be met."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from analytics.units import DEPTH, FLOW, VOLUME, WATER, System, convert, text
from dashboard.words.measures import as_day, day_text, percent

FIRST = "Local water rules and permits come first."
NO_SOURCES = "No water source is known, so there is no order yet."
NO_SOURCES_DO = "Import a sources table, and name each field's source in the fields."
NONE_JUDGED = "No field's need for water before planting can be judged."
NOTHING = "No field is worth watering before planting."
QUARTER = (
    "Tick on each bar: that quarter, often spent before planting (a rule of thumb; common "
    "practice, no source)."
)
KEEPS = (
    "Thick: what still lies in the soil at planting; thin below it: what must be put on, net. "
    "Dots on the calendar: days on which the ground was frozen in most past years, or is now."
)
QUICK = (
    "A change answers at once: rain to come is taken off what each past winter lacked, and the "
    "winters themselves are not run again."
)
NO_MORE_THAN_ROOM = "No field is given more than it lacks below the ceiling."
TOO_NARROW = 0.6
"""A range for 8 in 10 that held a smaller share than this is said to be too narrow; ours."""
NAMED = 3
"""Fields or sources that are named one by one; of more their count is told."""
_SHORT = ("water_part", "not_reached", "no_capacity", "allocation_spent")


def long_day(value: object) -> str:
    """Write a day as "Monday 3 March"."""
    day = as_day(value)
    return "—" if day is None else f"{day:%A} {day.day} {day:%B}"


def span_text(first: object, last: object) -> str:
    """Write a stretch of days: "3–22 Mar", "22 Mar – 5 Apr", "3 Mar"."""
    begin, end = as_day(first), as_day(last)
    if begin is None or end is None:
        return "—"
    if begin == end:
        return day_text(begin, year=False)
    if (begin.year, begin.month) == (end.year, end.month):
        return f"{begin.day}–{end.day} {end:%b}"
    return f"{day_text(begin, year=False)} – {day_text(end, year=False)}"


def little(mm: float, system: System) -> str:
    """Write a depth of water that is there, however little: "2.3 in", "under 0.1 in"."""
    shown = WATER.shown(system)
    least = 10.0**-shown.digits
    if mm <= 0 or round(convert(mm, WATER, system), shown.digits) > 0:
        return text(mm, WATER, system)
    return f"under {least:.{shown.digits}f} {shown.unit}"


def little_bare(mm: float, system: System) -> str:
    """Write a depth of water that is there, however little, its unit standing in a heading."""
    return little(mm, system).removesuffix(f" {WATER.shown(system).unit}")


def quarter_words(shares: pd.Series, quarter: float) -> str:
    """Say how many fields would take more than the rule of thumb before planting.

    A share is of the depth that its source's allocation gives every hectare alike.
    """
    known = shares.dropna()
    if known.empty:
        return "No source has an allocation on record."
    over = int((known > quarter).sum())
    count = f"{over or 'None'} of {len(known)}"
    fields = "fields" if len(known) != 1 else "field"
    whose = "its" if 1 in {over, len(known)} else "their"
    takes = f"take more than a quarter of what the season’s allocation gives {whose} own area"
    return f"{count} {fields} would {takes}. {QUARTER}"


def drawn_words(drawn: int, count: int) -> str:
    """Say that the picture shows the first of a long order."""
    return (
        f"Drawn: the first {drawn} of {count} fields. The table below lists them all; "
        "one source alone has a shorter order."
    )


def listed(names: Sequence[str]) -> str:
    """Name up to three, else count them: "Brindle 7 and Hask 4", "5 fields"."""
    if len(names) > NAMED:
        return f"{len(names)} fields"
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def told(reason: object) -> dict[str, Any]:
    """Unpack a reason: a code and the numbers that its sentence needs."""
    return json.loads(reason) if isinstance(reason, str) and reason else {}


def _codes(order: pd.DataFrame) -> pd.Series:
    return pd.Series([told(one).get("code", "") for one in order["reason"]], order.index)


def partly(order: pd.DataFrame) -> pd.DataFrame:
    """Keep the fields that the plan leaves short of their target."""
    return order[_codes(order).isin(_SHORT).to_numpy(bool)]


def settled(order: pd.DataFrame) -> str:
    """Name what settled the target of all these fields alike, to be said once; else nothing."""
    codes = {told(one).get("why", {}).get("code", "") for one in order["reason"]}
    alike = codes.pop() if len(codes) == 1 and len(order) > 1 else ""
    return alike if alike in OF_ALL else ""


def weights(order: pd.DataFrame) -> str:
    """Say what each crop weighs where there is not water for all; nothing where all do alike.

    Parameters
    ----------
    order : DataFrame
        Rows of ``order``.
    """
    why = (told(one).get("why", {}) for one in order["reason"])
    crops = {str(one["crop"]): float(one["worth"]) for one in why if "worth" in one}
    if partly(order).empty or len(set(crops.values())) < 2:  # noqa: PLR2004 - two to differ
        return ""
    by_weight = sorted(crops.items(), key=lambda one: (-one[1], one[0]))
    listed = ", ".join(f"{crop} {worth:g}" for crop, worth in by_weight)
    return (
        "There is not water for all. In sharing it out crops weigh, for want of prices, by the "
        f"yield they lose for lack of water: {listed} (FAO-56, Table 24, or as set)."
    )


def lacking_mm(row: Mapping[Any, Any]) -> float:
    """Give what stays unfilled of a field; of one that reaches its target, nothing."""
    return float(row["unfilled_mm"]) if told(row["reason"]).get("code") in _SHORT else 0.0


def answer(order: pd.DataFrame, least_mm: float = 0.0) -> str:
    """Answer the page's question: what to start on which day, and who stays short.

    Fields with less than ``least_mm`` to put on are named only where there is no other.
    """
    wet = order[order["net_mm"] > 0]
    named = wet[wet["net_mm"] >= least_mm]
    short = list(partly(order)["name"])
    if wet.empty and not short:
        return NOTHING
    if wet.empty:
        return f"No field can be watered before planting; {listed(short)} will stay short."
    named = wet if named.empty else named
    day = named["starts_on"].min()
    first = list(named.loc[named["starts_on"] == day, "name"])
    tail = f"{_who(short, first)} will stay short" if short else _every(len(wet))
    return f"Start {listed(first)} on {long_day(day)}; {tail}."


def _who(short: Sequence[str], first: Sequence[str]) -> str:
    """Name the fields that stay short; of many count those that do not start first apart."""
    if len(short) <= NAMED:
        return listed(short)
    others = sum(one not in first for one in short)
    own = len(short) - others
    started = "it" if len(first) == 1 else "they" if own == len(first) else f"{own} of them"
    rest = f"{others} {'other' if others == 1 else 'others'}"
    return " and ".join([started] * (own > 0) + [rest] * (others > 0))


def _every(count: int) -> str:
    return "it reaches its target" if count == 1 else f"all {count} fields reach their target"


def second(order: pd.DataFrame, sources: pd.DataFrame, flow_l_s: float, system: System) -> str:
    """Give the evidence: the source, its capacity, fields filled, allocation, unfilled."""
    short = partly(order)
    full = len(order[order["rank"].notna()].index.difference(short.index))
    asked = full + len(short)
    one = len(sources) == 1
    who = str(sources["name"].iloc[0]) if one else f"{len(sources)} sources"
    fills = (
        f"{who}, {text(flow_l_s, FLOW, system)}, {'fills' if one else 'fill'} {full} of "
        f"{asked} {'field' if asked == 1 else 'fields'} to target before planting"
    )
    stays = "stays" if len(short) == 0 else "stay"
    return f"{fills}{_spends(sources)}. {unfilled(short, system)} {stays} unfilled."


def unfilled(short: pd.DataFrame, system: System) -> str:
    """Give what stays unfilled in all of some fields: a volume, since areas differ."""
    return text(float(short["unfilled_m3"].sum()), VOLUME, system) if len(short) else "Nothing"


def _spends(sources: pd.DataFrame) -> str:
    known = sources[sources["share_of_allocation"].notna()]
    if known.empty:
        return ""
    if len(sources) == 1:
        share = float(known["share_of_allocation"].iloc[0])
        return f" and spends {percent(share)} of the season’s allocation"
    many = len(known) > NAMED
    if many:
        known = known.sort_values("share_of_allocation").iloc[[0, -1]]
    parts = [
        f"{percent(row['share_of_allocation'])} at {row['name']}"
        for row in known.to_dict("records")
    ]
    said = (" to " if many else ", ").join(parts)
    return f"; of the season’s allocation they spend {said}"


_WHY = {
    "capacity_suffices": "The source keeps up with the crop, so little need be stored",
    "ceiling": "The target stops at the ceiling, to leave room for rain",
    "winter_brings_it": "Most past winters brought it",
    "bank": "The season asks for more than the source can give meanwhile",
    "full": "The soil lacks nothing",
}
OF_ALL = {
    "ceiling": "Every target stops at the ceiling, to leave room for rain.",
    "bank": "Every season asks for more than its source can give meanwhile.",
}
"""What is said once where it settled every target."""
_NOTHING_COMES = {
    "no_source": "No source feeds it",
    "no_capacity": "Its source can pump nothing",
    "allocation_spent": "Its source’s allocation is spent",
}


def reason(row: Mapping[Any, Any], system: System, *, once: str = "") -> str:
    """Say in one sentence or two why a field stands where it does.

    Parameters
    ----------
    row : mapping
        A row of ``order``.
    system : {"in", "mm"}
    once : str, optional
        Of :func:`settled`: what is said beside the list, and not in each of its lines.
    """
    facts = told(row["reason"])
    why = facts.get("why", {})
    frost, rests = _frost(why, system), _silent(why.get("silent_cm", []), system)
    return f"{_stands(row, facts, system, once)}{frost}{rests}"


def _frost(why: Mapping[str, Any], system: System) -> str:
    """Say that the ground is frozen, which puts off every watering."""
    if "frozen_cm" not in why:
        return ""
    return (
        f" The ground is frozen to {text(why['frozen_cm'], DEPTH, system)}: no water on it yet."
    )


def _silent(depths_cm: Sequence[float], system: System) -> str:
    """Say whose water stands in for that of silent sensors."""
    if not depths_cm:
        return ""
    told = [f"{convert(one, DEPTH, system):.0f}" for one in sorted(depths_cm)]
    listed = " and ".join(one for one in (", ".join(told[:-1]), told[-1]) if one)
    at = f"{listed} {DEPTH.shown(system).unit}"
    if len(depths_cm) == 1:
        return f" The sensor at {at} is silent; its layer is taken for as full as the next."
    return (
        f" The sensors at {at} are silent; their layers are taken for as full as the nearest."
    )


def _stands(row: Mapping[Any, Any], facts: Mapping[str, Any], system: System, once: str) -> str:
    code, why = str(facts.get("code", "")), facts.get("why", {}).get("code", "")
    said = _WHY.get(why, "") if why != once else ""
    if code in _NOTHING_COMES:
        lacks = text(row["target_mm"], WATER, system)
        return f"{_NOTHING_COMES[code]}; {lacks} would be worth storing."
    if code == "keeps_too_little":
        return "So wet that most of the water would not stay; leave it."
    if code == "none_needed":
        return _dry(why, said)
    return _watered(row, code, said, system)


def _dry(why: str, said: str) -> str:
    """Say why nothing is worth storing."""
    if why == "ceiling":
        return "It stands at the ceiling already, which leaves room for rain."
    return f"{said}." if said else "Nothing is worth storing."


def _watered(row: Mapping[Any, Any], code: str, said: str, system: System) -> str:
    chance = row["chance"]
    sure = "" if pd.isna(chance) else (
        f"Rain would not have brought it in {chance * 10:.0f} of 10 past winters"
    )  # fmt: skip
    latest = as_day(row["latest_start_alone"])
    start = (
        f"alone it must start by {day_text(latest, year=False)}"
        if latest is not None
        else "no start would still reach its target"
    )
    left = {
        "water_part": f" {text(row['unfilled_mm'], WATER, system)} stays unfilled.",
        "not_reached": " Its turn does not come before planting.",
    }.get(code, "")
    lead = f"{sure}; {start}." if sure else f"{start[0].upper()}{start[1:]}."
    return f"{lead} {said}.{left}" if said else f"{lead}{left}"


def grade_words(grade: pd.DataFrame, system: System) -> str:
    """Say how good past forecasts of today's lead were; of the harvest's where none."""
    own = {row["kind"]: row for row in grade[grade["zone"] == "profile"].to_dict("records")}
    kind = next((one for one in ("now", "harvest") if one in own), None)
    if kind is None:
        return "No past off-season could grade this outlook yet."
    row = own[kind]
    bias = float(row["bias_mm"])
    side = "drier" if bias > 0 else "wetter"
    when = "made as long before planting as today" if kind == "now" else "made at harvest"
    held, share = round(row["coverage_80"] * row["n"]), row["coverage_80"]
    narrow = ", so it is too narrow here" if share < TOO_NARROW else ""
    return (
        f"Graded on {int(row['n'])} past forecasts {when}, of {_winters(row['winters'])}: "
        "on average "
        f"{text(abs(bias), WATER, system)} {side} than it came, "
        f"{text(row['mean_abs_error_mm'], WATER, system)} off; the 8-in-10 range held "
        f"{held} of {int(row['n'])} times{narrow}."
    )


def _winters(count: float) -> str:
    return "one winter" if count == 1 else f"{count:.0f} winters"


def recharge_words(fit: Mapping[str, float] | None) -> str:
    """Say what the farm's own winters gave, by the relation fitted on them."""
    if fit is None:
        return "Too few winters are on record for this farm's own recharge relation."
    return (
        f"This store's own {fit['n']:.0f} winters: a dry profile kept "
        f"{percent(fit['a'])} of what fell, less the wetter it began "
        f"(R² {fit['r2']:.2f}); a check on the outlook."
    )
