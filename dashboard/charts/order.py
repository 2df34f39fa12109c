"""The watering order as one picture: a row a field across all columns."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from analytics.units import WATER, System, convert, text
from dashboard.charts.core_strip import CoreLayer, patterns, strip
from dashboard.charts.palette import Palette
from dashboard.charts.svg import FONT, element, hatch, line, rect, svg, write
from dashboard.words.measures import SPLIT_CM, day_text, percent
from dashboard.words.order import little, span_text

WIDTH, ROW, HEAD, FOOT = 1392.0, 58.0, 62.0, 58.0
_RANK, _CORE, _NAME, _PUT = 26.0, 46.0, 88.0, 312.0
_BARS, _BARS_END, _LATEST = 330.0, 590.0, 668.0
_CAL, _CAL_END, _SHARE, _LEFT = 684.0, 1178.0, 1210.0, 1384.0
_SHARE_END = 1272.0
FOLDS = (
    ((0.0, _LATEST + 8.0), (_CAL_END + 18.0, WIDTH)),
    ((0.0, 216.0), (_LATEST + 8.0, _CAL_END + 18.0)),
)
"""How a narrow screen cuts the picture: the calendar under the rest, names before both."""
_BAR = 18.0
_LABEL_PX = 6.4  # width of a character of a label, px; only to place it
_GRID = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRow:
    """One field's row. Water in mm; ``blocks`` are stretches of days, both ends in.

    ``stays_mm`` is what lies in the soil at planting, ``net_mm`` what is put on, ``short_mm``
    all that is short today. ``frozen`` and ``shut`` are stretches without watering.
    """

    rank: str
    name: str
    detail: str
    core: tuple[CoreLayer, ...]
    net_mm: float
    stays_mm: float
    target_mm: float
    short_mm: float
    latest: date | None
    blocks: tuple[tuple[date, date], ...]
    planting: date
    dry_off: date
    share: float
    unfilled_mm: float
    frozen: tuple[tuple[date, date], ...] = field(default=())
    shut: tuple[tuple[date, date], ...] = field(default=())


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """What the foot says: share of the allocation, depth unfilled, rule-of-thumb share."""

    share: str
    unfilled: str
    quarter: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    palette: Palette
    system: System
    today: date
    last: date
    most_mm: float
    bottom: float
    quarter: float
    split_cm: float

    def water(self, mm: float) -> float:
        return _BARS + (_BARS_END - _BARS) * min(max(mm, 0.0), self.most_mm) / self.most_mm

    def day(self, day: date) -> float:
        """Left edge of a day."""
        span = max((self.last - self.today).days, 1)
        at = min(max((day - self.today).days, 0), span)
        return _CAL + (_CAL_END - _CAL) * at / span


def order_figure(
    rows: Sequence[OrderRow],
    today: date,
    totals: Totals,
    system: System,
    palette: Palette,
    *,
    split_cm: float = SPLIT_CM,
) -> str:
    """Draw the order.

    Parameters
    ----------
    rows : sequence of OrderRow
        In their rank; at least one.
    today : date
        Where the calendar begins.
    totals : Totals
    system : {"in", "mm"}
    palette : Palette
    split_cm : float
        Depth that parts the zones, cm.
    """
    most = max([max(one.net_mm, one.short_mm, one.target_mm) for one in rows] + [1.0])
    bottom = HEAD + ROW * len(rows)
    frame = _Frame(
        palette=palette, system=system, today=today, most_mm=most * 1.02, bottom=bottom,
        last=max(one.planting for one in rows) + timedelta(days=2), quarter=totals.quarter,
        split_cm=split_cm,
    )  # fmt: skip
    body = _heads(frame) + _water_axis(frame) + _calendar_axis(frame)
    body += "".join(_row(one, HEAD + ROW * at, frame) for at, one in enumerate(rows))
    body += _foot(frame, totals)
    return svg(body, size=(WIDTH, bottom + FOOT), label=_label(rows, system),
               defs=patterns(palette) + hatch(palette, "unfilled") + _dots(palette),
               font=FONT)  # fmt: skip


def _dots(palette: Palette) -> str:
    dot = element("circle", cx=3, cy=3, r=1.2, fill=palette.edge)
    return element("pattern", dot, id="frozen", width=6, height=6,
                   patternUnits="userSpaceOnUse")  # fmt: skip


def _label(rows: Sequence[OrderRow], system: System) -> str:
    said = "; ".join(
        f"{one.rank} {one.name}, {text(one.net_mm, WATER, system)}" for one in rows[:8]
    )
    return f"Watering order of {len(rows)} fields: {said}"


def _heads(frame: _Frame) -> str:
    fill, unit = frame.palette.muted, frame.system
    unit = "inches" if frame.system == "in" else "mm"
    return "".join([
        write(_CORE, 20, "Core", fill=fill), write(_NAME, 20, "Field", fill=fill),
        write(_PUT, 20, "Put on", fill=fill, anchor="end"),
        write(_BARS, 20, f"Water before planting, net {unit}", fill=fill),
        write(_LATEST, 20, "Latest start", fill=fill, anchor="end"),
        write(_CAL + 4, 20, "Calendar by day", fill=fill),
        write(_SHARE, 20, "Allocation", fill=fill),
        write(_LEFT, 20, "Stays unfilled", fill=fill, anchor="end"),
    ])  # fmt: skip


def _water_axis(frame: _Frame) -> str:
    most = convert(frame.most_mm, WATER, frame.system)
    step = next(one for one in (0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
                if most / one <= _GRID)  # fmt: skip
    per = frame.most_mm / most
    parts = []
    for at in range(int(most / step) + 1):
        x = frame.water(at * step * per)
        parts.append(line(x, HEAD - 6, x, frame.bottom, stroke=frame.palette.line, width=1))
        parts.append(write(x, HEAD - 14, f"{at * step:g}", fill=frame.palette.muted, size=12,
                           anchor="middle"))  # fmt: skip
    return "".join(parts)


def _calendar_axis(frame: _Frame) -> str:
    """Mondays ruled and named, as many as have room."""
    palette = frame.palette
    monday = frame.today + timedelta(days=(7 - frame.today.weekday()) % 7 or 7)
    weeks = [monday + timedelta(days=7 * at) for at in range(60)]
    weeks = [one for one in weeks if one < frame.last]
    every = -(-len(weeks) * 44 // int(_CAL_END - _CAL)) or 1
    parts, month = [], 0
    for at, one in enumerate(weeks):
        x = frame.day(one)
        parts.append(line(x, HEAD - 6, x, frame.bottom, stroke=palette.line, width=1))
        if at % every == 0:
            said = day_text(one, year=False) if one.month != month else str(one.day)
            month = one.month
            parts.append(write(x, HEAD - 14, said, fill=palette.muted, size=12,
                               anchor="middle"))  # fmt: skip
    return "".join(parts)


def _row(one: OrderRow, top: float, frame: _Frame) -> str:
    palette = frame.palette
    rule = line(8, top, WIDTH - 8, top, stroke=palette.line, width=1)
    core = strip(one.core, x=_CORE, y=top + 3, width=24, height=ROW - 6, palette=palette,
                 split_cm=frame.split_cm)  # fmt: skip
    names = write(_RANK, top + 34, one.rank, fill=palette.ink, anchor="middle", weight=700,
                  size=17)  # fmt: skip
    names += write(_NAME, top + 26, one.name, fill=palette.ink, weight=700, size=15)
    names += write(_NAME, top + 44, one.detail, fill=palette.muted, size=12)
    return (rule + core + names + _bars(one, top, frame) + _latest(one, top, frame)
            + _days(one, top, frame) + _figures(one, top, frame))  # fmt: skip


def _bars(one: OrderRow, top: float, frame: _Frame) -> str:
    """Draw what stays thick, what is put on thin, what stays unfilled hatched."""
    palette, y = frame.palette, top + (ROW - _BAR) / 2 - 2
    stays, target = frame.water(one.stays_mm), frame.water(one.target_mm)
    parts = [write(_PUT, top + 35, _figure(one.net_mm, frame.system), fill=palette.ink,
                   anchor="end", weight=700, size=16)]  # fmt: skip
    if one.net_mm > 0:
        parts.append(rect(_BARS, y, stays - _BARS, _BAR, fill=palette.highlight))
        parts.append(rect(_BARS, y + _BAR + 3, frame.water(one.net_mm) - _BARS, 4,
                          fill=palette.highlight))  # fmt: skip
    if target - stays > 1:
        parts.append(rect(stays, y, target - stays, _BAR, fill="url(#unfilled)",
                          stroke=palette.ink, stroke_width=1))  # fmt: skip
    parts.append(line(target, y - 5, target, y + _BAR + 5, stroke=palette.ink, width=2.4))
    return "".join(parts) + _dot(frame.water(one.short_mm), y + _BAR / 2, palette)


def _dot(x: float, y: float, palette: Palette) -> str:
    return element("circle", cx=x, cy=y, r=4.5, fill=palette.ground, stroke=palette.ink,
                   stroke_width=1.6)  # fmt: skip


def _figure(mm: float, system: System) -> str:
    return little(mm, system) if mm > 0 else "—"


def _latest(one: OrderRow, top: float, frame: _Frame) -> str:
    palette = frame.palette
    said = "—" if one.latest is None else day_text(one.latest, year=False)
    words = write(_LATEST, top + 35, said, fill=palette.ink, anchor="end", size=14)
    if one.latest is None:
        return words
    x = frame.day(one.latest)
    hooks = "".join(
        element("path", d=f"M{x - 6:g} {at:g}H{x:g}V{at + turn:g}", fill="none",
                stroke=palette.ink, stroke_width=1.8)
        for at, turn in ((top + 7, 9), (top + ROW - 7, -9))
    )  # fmt: skip
    return words + hooks


def _days(one: OrderRow, top: float, frame: _Frame) -> str:
    palette = frame.palette
    dry, plant = frame.day(one.dry_off), frame.day(one.planting)
    parts = [rect(dry, top + 1, plant - dry, ROW - 2, fill=palette.tint)]
    for spans, fill in ((one.frozen, "url(#frozen)"), (one.shut, "url(#unfilled)")):
        for first, last in spans:
            x, end = frame.day(first), frame.day(last + timedelta(days=1))
            inset = 0 if fill == "url(#frozen)" else ROW / 2 - 4
            parts.append(rect(x, top + 1 + inset, end - x, ROW - 2 - 2 * inset, fill=fill))
    parts.append(line(plant, top, plant, top + ROW, stroke=palette.ink, width=1.4))
    boxes = [
        (frame.day(first), frame.day(last + timedelta(days=1))) for first, last in one.blocks
    ]
    y = top + (ROW - 20) / 2
    parts += [rect(x, y, max(end - x, 2.5), 20, fill=palette.highlight) for x, end in boxes]
    return "".join(parts) + (_named(one, boxes, y, frame) if boxes else "")


def _named(one: OrderRow, boxes: list[tuple[float, float]], y: float, frame: _Frame) -> str:
    """Name the stretch inside its longest block, else beside it on a plate of ground.

    Days on which the source is off stay in sight: the name goes behind planting if it must.
    """
    palette = frame.palette
    said = span_text(one.blocks[0][0], one.blocks[-1][1])
    room = len(said) * _LABEL_PX
    x, end = max(boxes, key=lambda box: box[1] - box[0])
    if end - x > room + 8:
        return write(end - 6, y + 15, said, fill=palette.on_highlight, anchor="end", size=12,
                     weight=700)  # fmt: skip
    left, behind = boxes[0][0] - 6, frame.day(one.planting) + 6
    shut = any(frame.day(first) < left and frame.day(last) + 6 > left - room
               for first, last in one.shut)  # fmt: skip
    if shut and behind + room < _CAL_END:
        start, anchor = behind, "start"
    else:
        start, anchor = (left, "end") if left - room > _CAL else (boxes[-1][1] + 6, "start")
    plate = rect(start - (room if anchor == "end" else 2), y + 2, room + 2, 16,
                 fill=palette.ground, fill_opacity=0.85)  # fmt: skip
    return plate + write(start, y + 15, said, fill=palette.ink, anchor=anchor, size=12)


def _figures(one: OrderRow, top: float, frame: _Frame) -> str:
    palette, middle = frame.palette, top + 35
    unfilled = little(one.unfilled_mm, frame.system) if one.unfilled_mm > 0 else ""
    left = write(_LEFT, middle, unfilled or "none", anchor="end", size=16 if unfilled else 14,
                 fill=palette.ink if unfilled else palette.muted,
                 weight=700 if unfilled else 400)  # fmt: skip
    if one.share != one.share:
        return left + write(_SHARE, middle, "none set", fill=palette.muted)
    width = _SHARE_END - _SHARE
    at = _SHARE + width * min(frame.quarter, 1.0)
    bar = rect(_SHARE, top + 40, width, 6, fill=palette.ground, stroke=palette.edge,
               stroke_width=0.8)  # fmt: skip
    bar += rect(_SHARE, top + 40, width * min(one.share, 1.0), 6, fill=palette.highlight)
    bar += line(at, top + 36, at, top + 50, stroke=palette.ink, width=1.6)
    figure = write(_SHARE, top + 30, percent(one.share), fill=palette.ink, size=15)
    return left + bar + figure


def _foot(frame: _Frame, totals: Totals) -> str:
    palette, y = frame.palette, frame.bottom
    rule = line(8, y, WIDTH - 8, y, stroke=palette.edge, width=1.4)
    now = line(_CAL, HEAD - 6, _CAL, y + 8, stroke=palette.ink, width=1.4)
    now += write(_CAL + 2, y + 22, "today", fill=palette.ink, size=12, weight=700)
    sums = write(_SHARE, y + 22, totals.share, fill=palette.ink, weight=700, size=15)
    sums += write(_LEFT, y + 22, totals.unfilled, fill=palette.ink, weight=700, size=15,
                  anchor="end")  # fmt: skip
    return rule + now + sums + _key(frame, y + 12)


def _key(frame: _Frame, y: float) -> str:
    palette, muted = frame.palette, frame.palette.muted
    parts = [rect(_NAME, y, 14, 11, fill=palette.highlight),
             write(_NAME + 19, y + 10, "stays until planting", fill=muted, size=12),
             rect(_NAME + 140, y + 4, 14, 4, fill=palette.highlight),
             write(_NAME + 159, y + 10, "put on", fill=muted, size=12),
             rect(_BARS - 30, y, 14, 11, fill="url(#unfilled)", stroke=palette.ink,
                  stroke_width=1),
             write(_BARS - 11, y + 10, "unfilled", fill=muted, size=12),
             line(_BARS + 48, y - 1, _BARS + 48, y + 12, stroke=palette.ink, width=2.4),
             write(_BARS + 54, y + 10, "target", fill=muted, size=12),
             _dot(_BARS + 102, y + 6, palette),
             write(_BARS + 111, y + 10, "all that is short", fill=muted, size=12),
             element("path", d=f"M{_BARS + 218:g} {y + 2:g}h6v8", fill="none",
                     stroke=palette.ink, stroke_width=1.8),
             write(_BARS + 230, y + 10, "latest start, alone", fill=muted, size=12),
             ]  # fmt: skip
    x = _CAL + 60
    parts += [rect(x, y, 18, 11, fill="url(#frozen)"),
              write(x + 23, y + 10, "frozen", fill=muted, size=12),
              rect(x + 72, y, 18, 11, fill=palette.tint, stroke=palette.line, stroke_width=1),
              write(x + 95, y + 10, "drying off", fill=muted, size=12),
              line(x + 168, y - 2, x + 168, y + 12, stroke=palette.ink, width=1.4),
              write(x + 174, y + 10, "planting", fill=muted, size=12),
              rect(x + 232, y + 2, 18, 8, fill="url(#unfilled)"),
              write(x + 255, y + 10, "source off", fill=muted, size=12)]  # fmt: skip
    return "".join(parts)
