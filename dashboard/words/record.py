"""The Record page's words: what is wrong with a probe, what to do about it, and by when."""

from datetime import date

from analytics.units import DEPTH, System, convert
from analytics.water.window import Window
from dashboard.words.measures import counted, day_text

URGENCY = ("silent", "failing", "mute", "range", "stuck", "drifting", "unit", "clock", "gaps",
           "due", "settling")  # fmt: skip
"""Kinds of trouble, the most urgent first; ours."""
KINDS = {
    "silent": "Silent",
    "failing": "Failing",
    "mute": "Sensor silent",
    "drifting": "Drifting from season to season",
    "range": "Out of range",
    "stuck": "Stuck",
    "unit": "Unit in doubt",
    "clock": "Clock in doubt",
    "gaps": "Gaps",
    "due": "Due for replacement",
    "settling": "Settling",
}
_TODO = {
    "silent": "Check power, radio and cable; collect what the logger still holds.",
    "failing": "Replace the probe; until then this layer is not used.",
    "mute": "Check its cable and channel: the probe's other sensors still report.",
    "range": "Check the connector and the mapping; if both hold, replace the probe.",
    "drifting": "Core beside it, or look at its points; a change of the soil drifts too.",
    "stuck": "Check the connector and the logger's channel.",
    "unit": "Check the unit that the logger is set to.",
    "clock": "Check the logger's clock against local time.",
    "gaps": "Check battery and signal; collect what the logger still holds.",
    "due": "Plan a new probe beside it; leave the old one until both agree.",
    "settling": "Leave it alone; its points wait until the soil has closed round it.",
}
STATES = {
    "good": "Read and believed",
    "held": "Frozen, held",
    "flagged": "Read, not believed",
    "missing": "Missing",
}
REASONS = {
    "silent": "silent",
    "no readings": "no readings",
    "between placements": "between two probes",
    "before the record": "before the record begins",
}
ACTIONS = {"confirm": "confirmed", "dismiss": "dismissed", "add": "added"}
NO_TROUBLE = "No probe needs a visit."
HOURS_TO = 48.0
"""Shorter lengths of time are told in hours."""
NO_GAPS = "No gap is longer than {hours:.0f} hours."
NO_SPANS = "No reading of this probe is in doubt for these reasons."
NO_EDITS = "Nobody has judged a flag of this probe yet."
IMPORT_FIRST = "Import a logger file to begin a record."


def todo(kind: str) -> str:
    """Say what a technician does about a kind of trouble."""
    return _TODO[kind]


def record_answer(
    *, silent: int, failing: int, due: int, of: int, before: date | None, mute: int = 0
) -> str:
    """Answer in one sentence how many probes can be trusted, and what is to be done by when.

    ``silent`` counts whole probes; ``failing`` and ``mute`` (silent) sensors of others.
    """
    if of == 0:
        return "No probe is in the ground."
    quiet = "No probe is" if silent == 0 else f"{silent} of {_probes(of)} {_is(silent)}"
    bad = failing + mute
    sick = "no sensor is" if bad == 0 else f"{counted(bad, 'sensor')} {_is(bad)}"
    what = " or ".join(["silent"] * (mute > 0) + ["failing"] * (failing > 0)) or "failing"
    first = f"{quiet} silent and {sick} {what}"
    if silent == 0 and bad == 0:
        first = f"All {_probes(of)} report and no sensor is failing" if of > 1 else (
            "The probe reports and no sensor is failing")  # fmt: skip
    if due == 0:
        return f"{first}; none is due for replacement."
    by = "" if before is None else f" before {before.day} {before:%b}"
    return f"{first}; {_probes(due)} {_is(due)} due for replacement{by}."


def record_rests(*, read_on: object, oldest_years: float, due_years: float) -> str:
    """Say how far the record reaches, and why a probe counts as due."""
    said = f"Read to {day_text(read_on)}."
    if oldest_years != oldest_years:  # noqa: PLR0124 - NaN
        return f"{said} No installation date is known."
    return (
        f"{said} The oldest probe has been buried {oldest_years:.1f} years; due from "
        f"{due_years:.0f} years on, by common practice."
    )


def sensors_text(depths_cm: list[float], sensors: int, system: System) -> str:
    """Say which sensors: "whole probe", "sensor at 48 in", "3 sensors, 4 to 12 in"."""
    if len(depths_cm) >= sensors > 0 or not depths_cm:
        return "whole probe"
    ends = [f"{convert(one, DEPTH, system):.0f}" for one in (min(depths_cm), max(depths_cm))]
    unit = DEPTH.shown(system).unit
    if len(depths_cm) == 1:
        return f"sensor at {ends[0]} {unit}"
    return f"{len(depths_cm)} sensors, {ends[0]} to {ends[1]} {unit}"


def sensor_text(depth_cm: float, system: System) -> str:
    """Name one sensor by its depth."""
    return f"{convert(depth_cm, DEPTH, system):.0f} {DEPTH.shown(system).unit}"


def window_text(window: Window | None) -> str:
    """Say when a probe can go in: "now to 30 Apr", "about 26 Feb to 30 Apr"."""
    if window is None:
        return "no unfrozen days without a crop in three years"
    about = "about " if window.about else ""
    opens = day_text(window.opens)
    if window.closes is None:
        return f"{about}from {opens} on"
    same = window.opens.year == window.closes.year
    first = day_text(window.opens, year=not same)
    return f"{about}{first} to {day_text(window.closes)}"


def moment_text(value: object) -> str:
    """Write an instant of wall time as "3 Jun 2023 14:00"."""
    if value is None or value != value:  # noqa: PLR0124 - NaT
        return "—"
    return f"{day_text(value)} {value:%H:%M}"


def hours_text(hours: float) -> str:
    """Write a length of time: hours up to two days, then days."""
    return f"{hours:.0f} h" if hours < HOURS_TO else f"{hours / 24:.0f} days"


def _probes(number: int) -> str:
    return counted(number, "probe")


def _is(number: int) -> str:
    return "is" if number == 1 else "are"
