"""The coming season in sentences: when a decision is open, and when the advice is to run."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import pandas as pd

from analytics.units import WATER, System, convert, text
from dashboard.words.measures import as_day, day_text

NONE = "No field has a coming crop whose demand is known."
NONE_DO = "Add the coming season with its planting date, a station's weather, and the crop."
NO_CROP = "{} has no coming crop and none that a probe followed. {} is shown instead."
HOW = (
    "Demand: reference evapotranspiration of every past year on record times the crop's "
    "coefficient (FAO-56), as a mean of the week. Rain is not taken off it. Capacity: what the "
    "source can give every day, net, over all the fields it feeds. The first and the last day "
    "with water of a source count in their own year; in any other it is taken to have water."
)
BANK = (
    "Bank: what the soil must carry through it, the same figure that the watering order counts."
)
WATER_ENDS = ", when its water ends"
NO_WATER = (
    "its source has no water all season, so there is nothing to decide but what the soil holds."
)
_DIGITS = {"in": 2, "mm": 1}


def rate(mm_d: float, system: System) -> str:
    """Write a depth a day: "0.31 in a day"."""
    if pd.isna(mm_d):
        return "not known"
    unit = WATER.shown(system).unit
    return f"{convert(mm_d, WATER, system):.{_DIGITS[system]}f} {unit} a day"


def window_line(row: Mapping[Any, Any], system: System) -> list[str]:
    """Lay out one field's season: field, crop, planting, capacity, peak, run, bank."""
    bank = row["bank_mm"]
    return [
        row["name"], row["crop"], day_text(row["planting"], year=False),
        rate(row["capacity_mm_d"], system), rate(row["peak_mm_d"], system),
        *("—" if pd.isna(row[key]) else day_text(row[key], year=False)
          for key in ("run_from", "run_until")),
        "—" if pd.isna(bank) else text(bank, WATER, system),
    ]  # fmt: skip


def answer(row: Mapping[Any, Any], name: str) -> str:
    """Say of one field when a decision is open."""
    lead = f"{name}, {row['crop']} planted {day_text(row['planting'], year=False)}"
    first, last = as_day(row["run_from"]), as_day(row["run_until"])
    if pd.isna(row["capacity_mm_d"]):
        return f"{lead}: dryland, so there is nothing to decide but what the soil holds."
    if _no_water(row):
        return f"{lead}: {NO_WATER}"
    begins, ends = as_day(row["water_from"]), as_day(row["water_until"])
    if first is None or last is None:
        return (
            f"{lead}: its source {keeps_up(begins, ends)}, so every irrigation is a decision."
        )
    wet = f"its source has water from {day_text(begins, year=False)}; " if begins else ""
    run = f"run from {day_text(first, year=False)} to {day_text(last, year=False)}"
    cut = WATER_ENDS if last == ends else ""
    opened = _opened(row, first - timedelta(days=1), last + timedelta(days=1))
    tail = f"; decide {' and '.join(opened)}" if opened else ""
    return f"{lead}: {wet}{run}{cut}{tail}."


def keeps_up(begins: date | None, ends: date | None) -> str:
    """Say how long a source keeps up, where no day is beyond it."""
    if begins is None and ends is None:
        return "keeps up all season"
    since = f" from {day_text(begins, year=False)}" if begins else ""
    until = f" until {day_text(ends, year=False)}" if ends else ""
    return f"keeps up while it has water,{since}{until}"


def _no_water(row: Mapping[Any, Any]) -> bool:
    """Tell whether the source's dates leave no day of the season."""
    begins, ends = as_day(row["water_from"]), as_day(row["water_until"])
    planting, end = as_day(row["planting"]), as_day(row["ends_on"])
    late = begins is not None and end is not None and begins > end
    return late or (ends is not None and planting is not None and ends <= planting)


def _opened(row: Mapping[Any, Any], before: date, after: date) -> list[str]:
    """Name the stretches with water before and after the weeks to run."""
    begins, ends = as_day(row["water_from"]), as_day(row["water_until"])
    planting, end = as_day(row["planting"]), ends or as_day(row["ends_on"])
    early = begins or (planting and planting + timedelta(days=1))
    opened = []
    if early is not None and before >= early:
        opened.append(f"until {day_text(before, year=False)}")
    if end is not None and after <= end:
        opened.append(f"from {day_text(after, year=False)} on")
    return opened


def second(row: Mapping[Any, Any], source: str, share: float, system: System) -> str:
    """Give the figures behind it: demand at its peak, what the source gives, the bank."""
    peak = (
        f"{rate(row['peak_mm_d'], system)} at its peak, {day_text(row['peak_on'], year=False)}"
    )
    asks = f"In the middle of {row['years']} years of weather the crop asks for {peak}."
    if pd.isna(row["capacity_mm_d"]):
        return asks
    gives = f"{source} can give {rate(row['capacity_mm_d'], system)} net over all it feeds."
    if as_day(row["run_from"]) is None:
        return f"{asks} {gives}"
    bank = row["bank_mm"]
    carried = "" if pd.isna(bank) else (
        f" The soil would have to carry {text(bank, WATER, system)} through it, "
        f"enough in {share * 10:.0f} of 10 years."
    )  # fmt: skip
    return f"{asks} {gives}{carried}"
