"""The coming season in sentences: when a decision is open, and when the advice is to run."""

from collections.abc import Mapping
from datetime import timedelta
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
    "source can give every day, net, over all the fields it feeds."
)
BANK = (
    "Bank: what the soil must carry through it, the same figure that the watering order counts."
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
    if first is None or last is None:
        return f"{lead}: its source keeps up all season, so every irrigation is a decision."
    run = f"run from {day_text(first, year=False)} to {day_text(last, year=False)}"
    before, after = first - timedelta(days=1), last + timedelta(days=1)
    early = as_day(row["planting"])
    opened = (
        [] if early is None or before <= early else [f"until {day_text(before, year=False)}"]
    )
    end = as_day(row["ends_on"])
    if end is not None and after <= end:
        opened.append(f"from {day_text(after, year=False)} on")
    tail = f"; decide {' and '.join(opened)}" if opened else ""
    return f"{lead}: {run}{tail}."


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
