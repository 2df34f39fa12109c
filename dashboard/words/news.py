"""What changed lately and needs a person, in sentences."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import pandas as pd

from analytics.units import System
from dashboard.words.growing import short
from dashboard.words.measures import as_day, counted, day_text, depth_text


def line(row: Mapping[Any, Any], field: str, system: System) -> tuple[str, str]:
    """Say one word of the landing page: what happened, and its evidence."""
    on, kind = as_day(row["on"]), row["kind"]
    day = day_text(on, year=False)
    figure = float(row["figure"]) if pd.notna(row["figure"]) else 0.0
    if kind == "silent":
        return (f"{field}: the probe has gone silent",
                f"no reading since {day}, {counted(round(figure), 'day')}")  # fmt: skip
    if kind == "no_answer":
        rain = f"{short(figure, system)} recorded on {day}; the top layer did not move"
        return f"{field}: rain that no layer answered", rain
    if kind == "parted":
        way = "drier" if figure > 0 else "wetter"
        where = "" if pd.isna(row["depth_cm"]) else (
            f", most of all at {depth_text(float(row['depth_cm']), system)}"
        )  # fmt: skip
        return (f"{field}: the soil is {way} than water and weather explain",
                f"{short(abs(figure), system)} by {day}{where}")  # fmt: skip
    return _decision(kind, field, day, figure, system)


def _decision(
    kind: str, field: str, day: str, figure: float, system: System
) -> tuple[str, str]:
    if kind == "refill":
        near = f"reached on {day} if nothing is put on; {short(figure, system)} short now"
        return f"{field}: the refill point is near", near
    if kind == "run":
        return f"{field}: time to run", f"from {day} its source cannot keep up"
    if kind == "open":
        return f"{field}: decisions open again", f"from {day} its source keeps up"
    return (f"{field}: the last irrigation is due",
            f"on {day}; {short(figure, system)} net still to put on")  # fmt: skip


def head(fresh: int, of: int) -> str:
    """Head the words of the landing page."""
    if not of:
        return "Nothing new needs a person."
    new = f"{fresh} new since yesterday" if fresh else "none new since yesterday"
    return f"{of} that {'needs' if of == 1 else 'need'} a person, {new}"


def fresh(row: Mapping[Any, Any], as_of: date) -> bool:
    """Tell whether something has come up since yesterday."""
    since = as_day(row["since"])
    return since is not None and since > as_of - timedelta(days=1)
