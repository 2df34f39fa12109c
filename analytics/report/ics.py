"""Watering days as an iCalendar file (RFC 5545) that any calendar can take in."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

LINE_OCTETS = 75  # RFC 5545, 3.1: longest line without its break
NEW_LINE = "\r\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One stretch of whole days; ``last`` is still part of it."""

    uid: str
    first: date
    last: date
    title: str
    note: str = ""
    place: str = ""


def calendar(events: Sequence[Event], name: str, stamp: datetime) -> str:
    """Write a calendar of all-day events.

    Parameters
    ----------
    events : sequence of Event
    name : str
        What the calendar is called.
    stamp : datetime
        When it was made; aware.

    Returns
    -------
    str
        CRLF line breaks, no line longer than 75 octets. DTEND is the day after the last one
        (RFC 5545, 3.6.1: not inclusive).
    """
    lines = [
        "BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Overwinter//Watering order//EN",
        "CALSCALE:GREGORIAN", "METHOD:PUBLISH", f"X-WR-CALNAME:{escaped(name)}",
    ]  # fmt: skip
    for one in events:
        lines += _event(one, stamp)
    lines.append("END:VCALENDAR")
    return "".join(folded(line) + NEW_LINE for line in lines)


def _event(one: Event, stamp: datetime) -> list[str]:
    after = one.last + timedelta(days=1)
    said = [("DESCRIPTION", one.note), ("LOCATION", one.place)]
    return [
        "BEGIN:VEVENT", f"UID:{escaped(one.uid)}",
        f"DTSTAMP:{stamp.astimezone(UTC):%Y%m%dT%H%M%SZ}",
        f"DTSTART;VALUE=DATE:{one.first:%Y%m%d}", f"DTEND;VALUE=DATE:{after:%Y%m%d}",
        f"SUMMARY:{escaped(one.title)}",
        *(f"{name}:{escaped(words)}" for name, words in said if words),
        "TRANSP:TRANSPARENT", "END:VEVENT",
    ]  # fmt: skip


def escaped(words: str) -> str:
    """Escape a text value (RFC 5545, 3.3.11): backslash, semicolon, comma, line break."""
    plain = words.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return plain.replace("\r\n", "\\n").replace("\n", "\\n").replace("\r", "\\n")


def folded(line: str) -> str:
    """Fold a line at 75 octets without splitting a character (RFC 5545, 3.1)."""
    parts, part, room = [], b"", LINE_OCTETS
    for character in line:
        octets = character.encode()
        if len(part) + len(octets) > room:
            parts.append(part.decode())
            part, room = b"", LINE_OCTETS - 1  # the space that begins a folded line counts
        part += octets
    parts.append(part.decode())
    return f"{NEW_LINE} ".join(parts)
