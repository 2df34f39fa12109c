"""The page for the person who turns the valves: large type, day by day, ready to print."""

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

_STYLE = """
:root { color-scheme: light; }
body { background: #fff; color: #1f1b17; font: 20px/1.35 system-ui, sans-serif; margin: 24px; }
h1 { font-size: 34px; line-height: 1.15; margin: 0 0 4px; }
h2 { border-top: 3px solid #1f1b17; font-size: 28px; margin: 20px 0 4px; padding-top: 6px; }
p { margin: 4px 0; }
table { border-collapse: collapse; width: 100%; }
td { border-top: 1px solid #8a8175; padding: 6px 8px; text-align: right; white-space: nowrap; }
td.field { font-size: 26px; font-weight: 700; text-align: left; white-space: normal; }
td.tick { border: 2px solid #1f1b17; width: 26px; }
.none, .small { color: #5f5850; }
.small { font-size: 16px; font-weight: 400; }
section { break-inside: avoid; }
@page { margin: 12mm; }
@media print { body { margin: 0; font-size: 16pt; } h1 { font-size: 24pt; }
  h2 { font-size: 20pt; } td.field { font-size: 18pt; } .small { font-size: 11pt; } }
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """One field on one day, in words: its name, source, depth, hours and what is special."""

    field: str
    source: str
    depth: str
    hours: str
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """One day: its name, and the fields that get water."""

    name: str
    turns: tuple[Turn, ...]


def page(title: str, lead: str, days: Sequence[Day], foot: Sequence[str]) -> str:
    """Write the page: one HTML file that needs nothing else, with a box to tick a turn off.

    Parameters
    ----------
    title, lead : str
        Plain text.
    days : sequence of Day
        In order; a day without turns is said to be one.
    foot : sequence of str
        Cautions.
    """
    body = "".join(_day(one) for one in days)
    closing = "".join(f'<p class="small">{escape(line)}</p>' for line in foot)
    return (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width">'
        f"<title>{escape(title)}</title><style>{_STYLE}</style></head><body>"
        f"<h1>{escape(title)}</h1><p>{escape(lead)}</p>{body}{closing}</body></html>"
    )


def _day(one: Day) -> str:
    if not one.turns:
        return f'<section><h2>{escape(one.name)}</h2><p class="none">No water.</p></section>'
    rows = "".join(
        f'<tr><td class="tick"></td><td class="field">{escape(turn.field)}'
        f'<div class="small">{escape(turn.note)}</div></td><td>{escape(turn.source)}</td>'
        f"<td>{escape(turn.depth)}</td><td>{escape(turn.hours)}</td></tr>"
        for turn in one.turns
    )
    return f"<section><h2>{escape(one.name)}</h2><table>{rows}</table></section>"
