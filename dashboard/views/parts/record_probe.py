"""One probe's record: which sensor read when, and the gaps with their reasons."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import pandas as pd

from analytics.units import System
from dashboard import data, state
from dashboard.charts.coverage import coverage_calendar
from dashboard.charts.palette import Palette
from dashboard.data import probe_record
from dashboard.views.parts import field_panels, frame
from dashboard.views.parts.record_tables import text_table
from dashboard.words import counted, day_text, flag_name, silent_days
from dashboard.words import record as words

WHOLE = "Whole record"
GAP_HEAD = ("From", "To", "Length", "Sensors", "Why", "Filled since")


@dataclass(frozen=True, slots=True, kw_only=True)
class Probe:
    """The probe that the page shows; ``name`` is its field's and its own."""

    store: data.Store
    palette: Palette
    system: System
    site: str
    name: str
    first_day: date | None
    last_day: date
    sensors: int


def calendar(probe: Probe) -> None:
    """Show a row a sensor and a cell a week, or a day within one year."""
    if probe.first_day is None:
        frame.muted(f"{probe.name} has not read yet. Import its logger file below.")
        return
    years = [str(one) for one in range(probe.last_day.year, probe.first_day.year - 1, -1)]
    chosen = state.record.year([WHOLE, *years])
    start, end = stretch(chosen, probe.first_day, probe.last_day)
    cell = "a cell a week" if chosen == WHOLE else "a cell a day"
    frame.heading(f"What each sensor of {probe.name} has read", cell)
    runs = probe_record.coverage(probe.store, probe.site, start, end)
    if runs.empty:
        frame.muted("Nothing is known for this stretch. Choose another.")
        return
    counts = runs["state"].value_counts()
    said = ", ".join(
        f"{words.STATES[one].lower()}: {counted(counts[one], 'run')}" for one in counts.index
    )
    chart = coverage_calendar(runs, probe.palette, probe.system)
    field_panels.show(chart, f"Record of each sensor since {day_text(start)}. {said}")


def stretch(chosen: str, first: date, last: date) -> tuple[date, date]:
    """Give the first and last day of a chosen year within the record."""
    if not chosen.isdigit():
        return first, last
    number = int(chosen)
    begins, ends = date(number, 1, 1), date(number + 1, 1, 1) - timedelta(days=1)
    return max(begins, first), min(ends, last)


def gaps(probe: Probe) -> None:
    """Show the gaps, each with its reason and what filled it."""
    open_ = probe_record.gaps(probe.store, probe.site)
    filled = probe_record.filled(probe.store, probe.site)
    rows = [*_open(open_, probe), *_filled(filled, probe)]
    rows.sort(key=lambda one: one[0], reverse=True)
    frame.heading("Gaps, newest first", _counted(open_))
    if not rows:
        frame.muted(words.NO_GAPS.format(hours=probe.store.settings.gap_shown_h))
        return
    text_table(GAP_HEAD, [cells for _, cells in rows], tall=True)


def _counted(found: pd.DataFrame) -> str:
    if found.empty:
        return ""
    row = found.iloc[0]
    return f"also {row['brief']:.0f} short ones; {row['frozen']:.0f} spells held for frost"


Row = tuple[pd.Timestamp, list[str]]


def _open(found: pd.DataFrame, probe: Probe) -> list[Row]:
    return [
        (row["from"],
         [words.moment_text(row["from"]),
          "still open" if row["reason"] == "silent" else words.moment_text(row["to"]),
          _long(row), _which(row, probe), reason_text(row["reason"]), "no"])
        for row in found.to_dict("records")
    ]  # fmt: skip


def _long(row: dict[Any, Any]) -> str:
    """Say how long a gap is; of a probe that is silent now, as the other pages count it."""
    if row["reason"] == "silent" and row["hours"] >= words.HOURS_TO:
        return silent_days(row["from"], row["to"])
    return words.hours_text(row["hours"])


def reason_text(reason: str) -> str:
    """Say why a sensor's readings are missing."""
    if reason.startswith("flagged "):
        return f"read, but {flag_name(reason.removeprefix('flagged '))}"
    return words.REASONS.get(reason, reason)


def _filled(found: pd.DataFrame, probe: Probe) -> list[Row]:
    return [
        (row["from"],
         [words.moment_text(row["from"]), words.moment_text(row["to"]),
          words.hours_text((row["to"] - row["from"]) / pd.Timedelta(hours=1)),
          _which(row, probe), words.REASONS["no readings"],
          f"by {row['file']} on {day_text(row['made_at'])}"])
        for row in found.to_dict("records")
    ]  # fmt: skip


def _which(row: dict, probe: Probe) -> str:
    if row["sensors"] >= probe.sensors:
        return "all"
    first, last = (words.sensor_text(row[one], probe.system) for one in ("top_cm", "bottom_cm"))
    return (
        first
        if row["sensors"] == 1
        else f"{row['sensors']} of {probe.sensors}, {first} to {last}"
    )
