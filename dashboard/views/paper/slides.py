"""The growers' meeting as slides: the same sentences, drawings and tables as on the screen."""

import secrets

from analytics.report.slides import EDGE, WHOLE, WIDE, Box, Part, Picture, Table, Words, heading
from analytics.report.slides import deck as set_deck
from analytics.units import System
from analytics.water.contrast import contrasts
from dashboard import data, words
from dashboard.charts import paper
from dashboard.charts.palette import LIGHT
from dashboard.data import meeting
from dashboard.views.parts import meeting_told
from dashboard.views.parts.meeting_told import Core, Drawn, Room
from dashboard.words import day_text
from dashboard.words import meeting as said

TITLE = "Growers' meeting"


def meeting_slides(store: data.Store, *, masked: bool, system: System) -> bytes:
    """Make the slides of the whole district's meeting.

    Parameters
    ----------
    store : Store
        Assessed.
    masked : bool
        Letters for every name, dealt anew.
    system : {"in", "mm"}
    """
    walk = meeting.walk(store, meeting.begun(store), names=not masked,
                        deal=secrets.token_hex(16), grower="")  # fmt: skip
    room = Room(walk=walk, palette=LIGHT, system=system, split_cm=store.settings.zone_split_cm)
    return slides_of(room, f"{day_text(store.as_of)}")


def slides_of(room: Room, day: str) -> bytes:
    """Make the slides of a walk as it is set up; they are for paper and projector, so light."""
    pages: list[list[Part]] = [_opening(room, day), _five(room)]
    pages += [_pair(room, one) for one in contrasts(room.walk.rows)]
    pages += [_order(room), _cautions()]
    return set_deck(TITLE, pages)


def _opening(room: Room, day: str) -> list[Part]:
    drawn = meeting_told.fields_as_tiles(room, set())
    sentence, note = meeting_told.opening(room)
    foot = " ".join(one for one in (f"{day}.", note, *said.TILES_KEY) if one)
    return [heading(sentence), *_tiles(drawn, WHOLE), _foot(foot)]


def _tiles(drawn: Drawn, box: Box) -> list[Part]:
    title = Words(lines=(drawn.title,), size=18, bold=True,
                  box=Box(left=box.left, top=box.top, width=box.width, height=0.4))  # fmt: skip
    room = Box(left=box.left, top=box.top + 0.5, width=box.width, height=box.height - 1.0)
    return [title, Picture(png=_png(drawn.svg), told=drawn.told, box=room)]


def _png(svg: str) -> bytes:
    return paper.png_of_svg(svg)


def _foot(line: str) -> Words:
    box = Box(left=EDGE, top=6.85, width=WIDE - 2 * EDGE, height=0.4)
    return Words(lines=(line,), box=box, size=14, muted=True)


def _five(room: Room) -> list[Part]:
    figures = meeting_told.five(room)
    rows = tuple((figure, what) for figure, what in figures)
    return [heading(meeting_told.FIVE_HEAD),
            Table(head=("Figure", "What it is"), rows=rows, box=WHOLE, size=24,
                  widths=(1.0, 3.0))]  # fmt: skip


def _pair(room: Room, found: meeting_told.Contrast) -> list[Part]:
    sentence, cores = meeting_told.pair(room, found)
    parts: list[Part] = [heading(sentence)]
    for at, one in enumerate(cores):
        parts += _core(one, EDGE + at * 3.4)
    right = Box(left=7.4, top=WHOLE.top, width=WIDE - EDGE - 7.4, height=WHOLE.height)
    parts += _tiles(meeting_told.fields_as_tiles(room, {found.shorter, found.other}), right)
    return [*parts, _foot(said.CORE_KEY)]


def _core(one: Core, left: float) -> list[Part]:
    (upper, above), (deep, below) = one.zones
    top = WHOLE.top
    return [
        Words(lines=(one.name,), size=20, bold=True,
              box=Box(left=left, top=top, width=3.2, height=0.4)),
        Picture(png=_png(one.svg), told=one.label,
                box=Box(left=left, top=top + 0.5, width=1.5, height=4.6)),
        Words(lines=(upper, above), size=16,
              box=Box(left=left + 1.6, top=top + 0.7, width=1.7, height=0.8)),
        Words(lines=(deep, below), size=18, bold=True,
              box=Box(left=left + 1.6, top=top + 3.2, width=1.7, height=0.9)),
    ]  # fmt: skip


def _order(room: Room) -> list[Part]:
    sentence, rows = meeting_told.order(room)
    if not rows:
        return [heading(sentence)]
    lines = tuple(tuple(row) for row in rows)
    return [heading(sentence), Table(head=meeting_told.ORDER_HEAD, rows=lines, box=WHOLE)]


def _cautions() -> list[Part]:
    return [heading("Before acting on this"), Words(lines=tuple(words.CAUTIONS), box=WHOLE)]
