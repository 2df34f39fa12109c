"""A standing crop in sentences: how short its roots are, and what holding or running does."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import pandas as pd

from analytics.units import WATER, System, text
from analytics.water.ahead import Ahead, LastPass, Path, can_give_mm
from analytics.water.news import Window
from analytics.water.season import Opening
from analytics.water.today import Standing, Supply
from dashboard.words.measures import as_day, counted, day_text, depth_text, percent
from dashboard.words.season import WATER_ENDS, keeps_up

A_DAY = timedelta(days=1)
COMING = "coming"
ONLY_SOIL = "there is nothing to decide but what the soil holds"
ENDED = {
    "harvest": "harvested",
    "early": "harvested early: cut short by hail, frost or choice",
    "replanted": "planted again",
    "not recorded": "its harvest is not recorded: followed to maturity",
}
HOLD, START = "Hold", "Start on the day chosen"
CHART = (
    "Water missing within the roots, full at the top. Line: the probe, each morning. "
    "Dots: a balance from planting that no probe set right. After the day: the middle of past "
    "years held (dashed), run (solid) and from the day chosen (dash-dot); the band is eight "
    "years in ten if held."
)
BALANCE = (
    "The balance is FAO-56's root zone by day, water early in the day, with roots that grow "
    "into the soil the probe measured. Each morning the probe sets it right, and how fast the "
    "crop has drawn lately beside what was reckoned is its pace from there on."
)
TWO = (
    "Two crops stand in this field at once. The probe stands in one of them: look at that one."
)
NO_AHEAD = (
    "No day is left to maturity, or too few past years of weather are known to look ahead."
)
NO_TABLE = "No published table of water by stage is known to us for this crop."
ACCOUNT = (
    "What a crop used is rain and irrigation and what the soil gave, less what drained. "
    "Drained is what went past the probe's foot, estimated from below: what passed young roots "
    "and is still in the soil is not lost. Runoff is in none of these."
)
COEFFICIENTS = (
    "FAO-56 Tables 11 and 12; the mid-season figure is then fitted to the station's wind and "
    "humidity (Eq. 62). A version holds for demand everywhere: this page, the watering order's "
    "bank, the forecasts."
)
SEVEN_FIGURES = (
    "Nothing was saved: give all three coefficients and the days of all four stages."
)
GRADE_NONE = "No crop has been followed long enough to grade a forecast."


def no_coefficients(crop: str, fields: int) -> str:
    """Say what is not worked out of a crop without coefficients, and what to do."""
    return (
        f"Of {crop} ({counted(fields, 'field')}) no demand, season or bank is worked out: "
        "FAO-56 Tables 11 and 12 as kept here do not have it under this name. If it is a trade "
        "name, write the crop's common one in the seasons table; else set figures from "
        "a source that you trust, before any climate is taken into account."
    )


def name(row: Mapping[Any, Any], *, several: bool) -> str:
    """Name a crop in a choice list: "corn 2025", with its probe where there are several."""
    planted = as_day(row["planted_on"])
    year = planted.year if planted else ""
    standing = ", standing" if row["open"] else ""
    probe = f" · {row['site']}" if several else ""
    return f"{row['crop']} {year}{standing}{probe}"


def coming(row: Mapping[Any, Any]) -> str:
    """Name the coming crop in a choice list."""
    return f"{row['crop']}, to be planted {day_text(row['planting'], year=False)}"


def short(mm: float, system: System) -> str:
    """Write a depletion: "3.9 in"."""
    return text(max(mm, 0.0), WATER, system)


def answer(crop: Standing, field: str, hold: Path | None, run: Path | None,
           system: System) -> str:  # fmt: skip
    """Say how short the roots are, and when the refill point is reached."""
    now = crop.told.iloc[-1]
    gone = float(now["balance_mm"] if pd.isna(now["probe_mm"]) else now["probe_mm"])
    ready = float(now["ready_mm"])
    lead = f"{field}, {crop.season.crop}, {day_text(crop.last, year=False)}"
    told = f"{lead}: {short(gone, system)} short within its roots"
    if gone >= ready:
        return f"{told}, {short(gone - ready, system)} past the refill point."
    if hold is None or hold.refill_on is None:
        return f"{told}; the refill point is not reached before maturity."
    later = run.refill_on if run is not None else None
    if run is None or later == hold.refill_on:
        return f"{told}; the refill point is reached {_on(hold.refill_on)}."
    ran = "never" if later is None else _on(later)
    return f"{told}; held, the refill point is reached {_on(hold.refill_on)}, run, {ran}."


def _on(one: date) -> str:
    return f"on {day_text(one, year=False)}"


def second(crop: Standing, window: Window, supply: Supply, system: System) -> str:
    """Tell stage, roots, and whether a decision is open."""
    now = crop.told.iloc[-1]
    roots = depth_text(float(now["root_cm"]), system)
    said = f"It is in its {crop.stage} stage, roots to {roots}"
    refill = f"refill point at {short(float(now['ready_mm']), system)} short"
    return f"{said}, {refill}. {open_words(crop.last, window, supply)}"


def open_words(day: date, window: Window, supply: Supply) -> str:
    """Say whether a decision is open on a day."""
    if pd.isna(supply.capacity_mm_d):
        return f"Dryland: {ONLY_SOIL}."
    if not supply.opening.has(day):
        return _without_water(day, window, supply.opening)
    run, water = window.run, window.water
    if run is None:
        return (
            f"Its source {keeps_up(water.first, water.last)}: every irrigation is a decision."
        )
    last, cut = day_text(run[1], year=False), WATER_ENDS if run[1] == water.last else ""
    if day < run[0]:
        until = day_text(run[0] - A_DAY, year=False)
        return f"A decision is open until {until}; then run to {last}{cut}."
    if day <= run[1]:
        return f"Its source cannot keep up until {last}{cut}: run."
    return f"Since {last} its source keeps up again: every irrigation is a decision."


def _without_water(day: date, window: Window, opening: Opening) -> str:
    """Say when a source that has no water on a day gets some, or since when it has none."""
    if opening.first is None or day >= opening.first:
        since = day_text(opening.last, year=False)
        return f"Its source has no water since {since}: {ONLY_SOIL}."
    told = f"Its source has water from {day_text(opening.first, year=False)}"
    if window.run is None:
        return f"{told}: until then {ONLY_SOIL}."
    first, last = (day_text(one, year=False) for one in window.run)
    cut = WATER_ENDS if window.run[1] == window.water.last else ""
    if window.run[0] <= opening.first:
        return f"{told}; then run to {last}{cut}."
    return f"{told}; a decision is open from then until {first}; then run to {last}{cut}."


def option_rows(ahead: Ahead, paths: list[Path], system: System) -> list[list[str]]:
    """Lay out what each option brings."""
    ten = min(9, len(ahead) - 1)
    rows = []
    named = (HOLD, f"Run from {_from(ahead)}", START)
    for said, one in zip(named, paths, strict=False):
        between = f"{short(one.low_mm[ten], system)} to {short(one.high_mm[ten], system)}"
        reached = [_reached(on, ahead) for on in (one.refill_on, one.refill_sooner)]
        rows.append([said, *reached, between, short(one.middle_mm[-1], system),
                     short(one.given_mm, system)])  # fmt: skip
    return rows


def _from(ahead: Ahead) -> str:
    """Name the day from which a source can be run: today, or where its water begins."""
    first = ahead.day(0) if ahead.water is None else ahead.water[0]
    return "today" if first == ahead.day(0) else day_text(first, year=False)


def _reached(on: date | None, ahead: Ahead) -> str:
    if ahead.depletion_mm >= float(ahead.ready_mm[0]):
        return "passed"
    return "never" if on is None else day_text(on, year=False)


def option_head(ahead: Ahead) -> list[str]:
    """Head the options' table."""
    ten = min(10, len(ahead))
    return ["", "Refill point, middle year", "one dry year in ten",
            f"Short in {counted(ten, 'day')}", "Short at maturity", "Put on, net"]  # fmt: skip


def parted(apart_mm: float, days: int, layer: tuple[float, float] | None,
           system: System) -> str:  # fmt: skip
    """Say that balance and probe part company, where, and what begins like that."""
    drier = apart_mm > 0.0
    how = "drier" if drier else "wetter"
    told = (
        f"Over {days} days the probe ended {short(abs(apart_mm), system)} {how} than water and "
        "weather explain"
    )
    if layer is not None:
        depth, mm = layer
        told += f", most of all at {depth_text(depth, system)} ({short(abs(mm), system)})"
    seek = (
        "water that did not arrive, a gauge that reads too much, a full point set too high"
        if drier else
        "a leak or water that is in no record, a gauge that reads too little, a wet spot"
    )  # fmt: skip
    return f"{told}. It begins like that with {seek}."


def agrees(days: int) -> str:
    """Say that balance and probe go together."""
    return f"Balance and probe went together over the last {days} days."


def leave_rows(left: LastPass, ahead: Ahead, stage: tuple[str, float] | None,
               share: float, system: System) -> list[list[str]]:  # fmt: skip
    """Lay out the sum behind the last irrigation, and beside it what its source can give."""
    days = len(ahead)
    rows = [
        [f"Water to maturity, {counted(days, 'day')}, middle year, lacking nothing",
         short(left.water_mm, system)],
        [f"less rain, as much in {share * 10:.0f} of 10 years", short(left.rain_mm, system)],
        ["less what the soil may still give" if left.soil_mm >= 0 else
         "and what the soil lacks already", short(abs(left.soil_mm), system)],
    ]  # fmt: skip
    if ahead.water is None:
        rows.append(["Not covered by soil and rain", short(left.net_mm, system)])
    else:
        rows += [
            ["Still to put on, net", short(left.net_mm, system)],
            ["gross, at this source's efficiency", short(left.gross_mm, system)],
            ["Its source can give by then, net", short(can_give_mm(left, ahead), system)],
        ]
    if stage is not None:
        rows.append([f"By the published table, from {stage[0]}", short(stage[1], system)])
    return rows


def over_allocation(given_mm: float, supply: Supply, system: System) -> str:
    """Say that what is left of an allocation does not do for a choice; empty where it does."""
    if given_mm <= supply.left_mm:
        return ""
    return (
        f"Running puts on {short(given_mm, system)} net, more than is left of its source's "
        f"allocation: {short(supply.left_mm, system)} net, shared alike over all it feeds. "
        "These figures do not stop there."
    )


def goes_short(left: LastPass, ahead: Ahead) -> str:
    """Say why a source may be shut before all was put on; empty where it can give it all."""
    if ahead.water is None or left.on is None or can_give_mm(left, ahead) >= left.net_mm:
        return ""
    return (
        "Its source cannot give all that: the crop will be short meanwhile, and uses less for "
        "it. It may be shut that early only because a short crop is left no drier than it "
        "should be."
    )


def leave(left: LastPass, ahead: Ahead, matures: date, system: System) -> str:
    """Say when the last irrigation is."""
    begins = _from(ahead)
    if left.short_mm > 0.0:
        since = "" if begins == "today" else f" from {begins}"
        return (
            f"Even run{since} to {_until(ahead, matures)}, it ends "
            f"{short(left.short_mm, system)} drier than the crop should be left."
        )
    if left.on is None:
        return f"Nothing more is wanted to maturity, {day_text(matures, year=False)}."
    return (
        f"Run from {begins}, the source may be shut after {day_text(left.on, year=False)}; "
        f"the crop is mature on {day_text(matures, year=False)}."
    )


def enough(left: LastPass, ahead: Ahead, window: Window) -> str:
    """Say that soil and rain do before the weeks to run are over; empty where they do not."""
    if left.short_mm > 0.0 or window.run is None or ahead.water is None:
        return ""
    if left.on is None:
        return "Soil and rain see it to maturity: no more water is wanted."
    if left.on >= window.run[1]:
        return ""
    return (
        f"Run from {_from(ahead)}, it has had enough by {day_text(left.on, year=False)}: soil "
        "and rain see it to maturity."
    )


def _until(ahead: Ahead, matures: date) -> str:
    """Name the end of running: maturity, or where the water ends before it."""
    if ahead.water is None or ahead.water[1] == ahead.day(len(ahead) - 1):
        return f"maturity, {day_text(matures, year=False)}"
    return f"{day_text(ahead.water[1], year=False)}{WATER_ENDS}"


def room(harvest_mm: float, winter_mm: float, system: System) -> str:
    """Set what is missing at harvest beside what a winter usually puts back."""
    told = f"So left, {short(harvest_mm, system)} are missing within the roots at harvest"
    if pd.isna(winter_mm):
        return f"{told}."
    usual = short(winter_mm, system)
    if harvest_mm >= max(winter_mm, 0.0):
        return f"{told}: room for what a winter here usually puts back, {usual}."
    return (
        f"{told}: less room than what a winter here usually puts back, {usual}. "
        "What comes on top drains."
    )


def account_rows(row: Mapping[Any, Any], system: System) -> list[list[str]]:
    """Lay out what a crop used."""
    gave = float(row["soil_mm"])
    return [
        ["Rain and snow", short(row["rain_mm"], system)],
        ["Irrigation", short(row["irrigation_mm"], system)],
        ["What the soil gave" if gave >= 0 else "What the soil took up",
         short(abs(gave), system)],
        ["less what drained", short(row["drained_mm"], system)],
        ["Used", short(row["use_mm"], system)],
    ]  # fmt: skip


def account(row: Mapping[Any, Any], system: System) -> str:
    """Say how far a season was from what was to be expected."""
    expected, demand = float(row["expected_mm"]), float(row["demand_mm"])
    told = f"Its weather asked for {short(demand, system)}"
    if pd.notna(expected):
        off = demand - expected
        told += (
            f", {short(abs(off), system)} {'more' if off >= 0 else 'less'} than the middle of "
            f"other years ({short(expected, system)})"
        )
    used = float(row["use_mm"])
    if pd.notna(used) and demand > 0:
        told += f"; it used {percent(used / demand)} of that"
    days = int(row["short_days"])
    stood = f" It stood past its refill point on {counted(days, 'day')}." if days else ""
    seen = float(row["seen"])
    blind = "" if seen > 0.97 else f" The probe read on {percent(seen)} of its days."  # noqa: PLR2004
    return f"{told}.{stood}{blind}"


def grade(rows: pd.DataFrame, days: int, system: System) -> str:
    """Say how past forecasts did, with the probe and without."""
    by = {row["kind"]: row for row in rows.to_dict("records")}
    if "corrected" not in by:
        return GRADE_NONE
    one, two = by["corrected"], by.get("alone")
    told = (
        f"{counted(days, 'day')} ahead, in {counted(int(one['n']), 'past forecast')} of "
        f"{counted(int(one['seasons']), 'crop')}, it was off by "
        f"{short(one['mean_abs_error_mm'], system)} in the mean "
        f"({_leaning(one['bias_mm'], system)}), and eight in ten ranges held "
        f"{percent(one['coverage_80'])} of the time."
    )
    if two is None:
        return told
    alone = short(two["mean_abs_error_mm"], system)
    return f"{told} Without the probe a balance from planting was off by {alone}."


def _leaning(bias_mm: float, system: System) -> str:
    way = "too dry" if bias_mm > 0 else "too wet"
    return f"{short(abs(bias_mm), system)} {way}"


def standing_row(row: Mapping[Any, Any], field: str, system: System) -> list[str]:
    """Lay out one standing crop."""
    room_mm = float(row["room_mm"])
    room_ = short(room_mm, system) if room_mm >= 0 else f"{short(-room_mm, system)} past"
    return [field, str(row["crop"]), short(row["short_mm"], system),
            short(row["ready_mm"], system), room_, depth_text(float(row["root_cm"]), system),
            percent(float(row["pace"])), day_text(row["date"], year=False)]  # fmt: skip


STANDING_HEAD = ["Field", "Crop", "Short now", "Refill point at", "Room left", "Roots",
                 "Pace", "Read"]  # fmt: skip
STANDING = (
    "Least room first. Pace: what the crop has lately drawn over what was reckoned for it."
)
