"""A district as tiles in the order of need: no place, no shape, no size of any field."""

from dataclasses import dataclass
from math import ceil, sqrt

from dashboard.charts.palette import CODES, Palette, class_colour, text_on
from dashboard.charts.svg import FONT, hatch, rect, svg, write

_SIDE, _GAP, _RING = 104.0, 12.0, 5.0
_SIZES = ((2, 34.0), (10, 17.0), (15, 12.0))
"""Letters of a name that fit a tile, and the type that makes them fit, px."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """One field: its letter or name, its class or None, its shortage as text."""

    name: str
    code: str | None
    figure: str
    marked: bool = False


def tiles(shown: list[Tile], palette: Palette, *, label: str) -> str:
    """Draw tiles, row by row.

    Parameters
    ----------
    shown : list of Tile
        Shortest of water first.
    palette : Palette
        Colours.
    label : str
        What a screen reader says.
    """
    across = max(ceil(sqrt(len(shown) * 1.4)), 1)
    down = ceil(len(shown) / across)
    drawn = "".join(
        _tile(one, _RING + (i % across) * (_SIDE + _GAP),
              _RING + (i // across) * (_SIDE + _GAP), palette)
        for i, one in enumerate(shown)
    )  # fmt: skip
    size = (across * (_SIDE + _GAP), down * (_SIDE + _GAP))
    return svg(drawn, size=size, label=label, defs=hatch(palette, "hatch"), font=FONT)


def _tile(one: Tile, x: float, y: float, palette: Palette) -> str:
    known = one.code in CODES
    fill = class_colour(palette, str(one.code)) if known else "url(#hatch)"
    ink = text_on(palette, str(one.code)) if known else palette.ink
    drawn = rect(x, y, _SIDE, _SIDE, rx=4, fill=fill, stroke=palette.edge, stroke_width=1)
    if one.marked:
        drawn += rect(x - 3, y - 3, _SIDE + 6, _SIDE + 6, rx=6, fill="none",
                      stroke=palette.highlight, stroke_width=_RING)  # fmt: skip
    plate = "" if known else rect(x + 4, y + 6, _SIDE - 8, _SIDE - 12, fill=palette.ground)
    big = next((px for letters, px in _SIZES if len(one.name) <= letters), _SIZES[-1][1])
    most = _SIZES[-1][0]
    name = one.name if len(one.name) <= most else f"{one.name[: most - 1]}…"
    return (
        drawn + plate
        + write(x + 10, y + 38, name, fill=ink, weight=700, size=big)
        + write(x + _SIDE - 10, y + _SIDE - 14, one.figure, fill=ink, anchor="end", size=24)
    )  # fmt: skip
