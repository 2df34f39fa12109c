"""The present plan and a changed one, side by side."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from analytics.units import System
from dashboard.charts.order import WIDTH
from dashboard.charts.palette import Palette
from dashboard.charts.svg import FONT, rect, svg, write
from dashboard.words.order import little, span_text

_ROW = 26.0
_LANES = ((200.0, 640.0, 730.0), (800.0, 1240.0, 1380.0))
COMPARED_FOLDS = (((0.0, 740.0),), ((0.0, 190.0), (790.0, WIDTH)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """One field in two plans: its blocks and what stays unfilled, now and changed."""

    name: str
    now: tuple[tuple[date, date], ...]
    then: tuple[tuple[date, date], ...]
    now_unfilled_mm: float
    then_unfilled_mm: float
    differs: bool


def compared_figure(
    rows: Sequence[Pair], first: date, last: date, system: System, palette: Palette
) -> str:
    """Draw two calendars side by side, what differs in the highlight and marked.

    Parameters
    ----------
    rows : sequence of Pair
    first, last : date
        What both calendars span.
    system : {"in", "mm"}
    palette : Palette
    """
    bottom = 34 + _ROW * len(rows)
    body = ""
    for (left, right, edge), title in zip(_LANES, ("Present plan", "Changed plan"),
                                          strict=True):  # fmt: skip
        body += write(left, 16, f"{title}, {span_text(first, last)}", fill=palette.muted)
        body += write(edge, 16, "unfilled", fill=palette.muted, anchor="end")
        body += rect(left, 26, right - left, bottom - 26, fill="none", stroke=palette.line)
    for at, one in enumerate(rows):
        body += _pair(one, 34 + _ROW * at, (first, last), system, palette)
    label = (
        f"Present and changed plan of {len(rows)} fields; {sum(r.differs for r in rows)} differ"
    )
    return svg(body, size=(WIDTH, bottom + 6), label=label, font=FONT)


def _pair(
    one: Pair, top: float, span: tuple[date, date], system: System, palette: Palette
) -> str:
    parts = []
    if one.differs:
        parts.append(rect(4, top - 3, WIDTH - 8, _ROW - 2, fill=palette.tint))
        parts.append(write(10, top + 14, "▸", fill=palette.highlight, weight=700))
    ink = palette.ink if one.differs else palette.muted
    parts.append(write(26, top + 14, one.name, fill=ink, weight=700 if one.differs else 400))
    both = ((one.now, one.now_unfilled_mm), (one.then, one.then_unfilled_mm))
    for at, ((left, right, edge), (blocks, lacks)) in enumerate(zip(_LANES, both, strict=True)):
        colour = palette.highlight if one.differs and at == 1 else palette.edge
        days = max((span[1] - span[0]).days + 1, 1)
        per = (right - left) / days
        parts += [
            rect(left + per * (begin - span[0]).days, top + 3,
                 max(per * ((end - begin).days + 1), 2.5), 14, fill=colour)
            for begin, end in blocks
        ]  # fmt: skip
        said = little(lacks, system) if lacks > 0 else "none"
        parts.append(write(edge, top + 14, said, fill=ink, anchor="end",
                           weight=700 if lacks > 0 and one.differs else 400))  # fmt: skip
    return "".join(parts)
