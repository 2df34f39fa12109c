"""Wettings, and what a short view of the record hides, in words."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from analytics.units import DEPTH, WATER, System, text
from dashboard.words.measures import as_day, counted, day_text, month_text

CAUSE_NAMES = {
    "rain": "Rain",
    "snow": "Snow",
    "irrigation": "Irrigation",
    "thaw": "Thaw",
    "unexplained": "Not explained",
}
_MONTHS_IN_A_YEAR, _DAYS_IN_A_MONTH = 12, 365.25 / 12
_MOST_MONTHS = 24


def cause_name(cause: object) -> str:
    """Name what brought a wetting."""
    return CAUSE_NAMES.get(str(cause), "Not known")


def wetting_told(row: Mapping[str, Any], system: System) -> str:
    """Tell a wetting in one line: cause, day, what came, what stayed, how deep it went.

    Parameters
    ----------
    row : mapping
        A row of ``wettings``; what is missing is left out.
    system : {"in", "mm"}
        Units to write in.
    """
    parts = []
    if _real(row.get("applied_mm")):
        parts.append(f"{text(row['applied_mm'], WATER, system)} received")
    if not pd.isna(row.get("stored_mm")):
        parts.append(f"{text(row['stored_mm'], WATER, system)} stored")
    if not pd.isna(row.get("depth_reached_cm")):
        parts.append(f"down to {text(row['depth_reached_cm'], DEPTH, system)}")
    if row.get("bypass") is True:
        parts.append("passing layers by")
    return f"{cause_name(row.get('cause'))}, {day_text(row.get('start'))}: {', '.join(parts)}"


def _real(value: Any) -> bool:
    return not pd.isna(value) and value > 0


def wetting_label(row: Mapping[str, Any], *, year: bool) -> str:
    """Name a wetting on a chart: "Rain 12 Nov", or over several years "Rain Nov 2023"."""
    when = month_text(row["start"]) if year else day_text(row["start"], year=False)
    return f"{cause_name(row.get('cause'))} {when}"


def short_view(start: object, first: object, last_full: object, below: str) -> str:
    """Say what a view that starts after the record does leaves out.

    Parameters
    ----------
    start, first : date, timestamp or ISO text
        First day of the view, and of the record.
    last_full : date, timestamp or None
        When the soil named by ``below`` was last full; None where it never was.
    below : str
        A zone in a sentence: "below 3 ft".

    Returns
    -------
    str
        Empty where the view is the whole record.
    """
    begins, opened, full = as_day(start), as_day(first), as_day(last_full)
    if begins is None or opened is None or begins <= opened:
        return ""
    lead = f"This view starts on {day_text(begins)}"
    hidden = _stretch((begins - opened).days)
    if full is None:
        return f"{lead} and leaves out {hidden}; {below} no day of the record was seen full."
    if full < begins:
        return (
            f"{lead}; {below} the soil was last full on {day_text(full)}, which it cannot show."
        )
    return f"{lead} and leaves out {hidden} of record."


def _stretch(days: int) -> str:
    months = round(days / _DAYS_IN_A_MONTH)
    if months >= _MOST_MONTHS:
        return f"{months // _MONTHS_IN_A_YEAR} years"
    return f"{months} months" if months > 1 else counted(days, "day")
