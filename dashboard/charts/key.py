"""The tone key under the depth-by-time picture, in marks: a legend cannot show patterns.

Symbols and names stand at px below the plot; where the plot is narrow they take several rows.
"""

from collections.abc import Sequence

import altair as alt
import pandas as pd

from dashboard.charts.palette import CLASSES, Palette, class_colour
from dashboard.charts.theme import TEXT_PX
from dashboard.words import HELD, NOT_KNOWN

SQUARE = "M-1,-1L1,-1L1,1L-1,1Z"
HATCH = f"{SQUARE}M-1,0L0,-1M-1,1L1,-1M0,1L1,0"
_DOT = "m-.1,0a.1,.1 0 1,0 .2,0a.1,.1 0 1,0 -.2,0"
DOTS = SQUARE + "".join(f"M{x},{y}{_DOT}" for x in (-0.5, 0, 0.5) for y in (-0.5, 0, 0.5))
KEY_PX = 30.0  # what the key takes of a chart's height, below the axis
_LETTER_PX, _SYMBOL_PX, _APART_PX = 6.9, 22.0, 18.0
_BELOW_PX, _ROW_PX = 46.0, 22.0
_AREA_PX2 = 200
_NARROW_PX, _IN_A_ROW = 640, 3


def key_layers(palette: Palette) -> list[alt.Chart]:
    """Draw the key.

    Parameters
    ----------
    palette : Palette
        Colours.
    """
    marks = [(one.name, SQUARE, class_colour(palette, one.code)) for one in CLASSES]
    marks += [(NOT_KNOWN, HATCH, palette.ground), (HELD, DOTS, palette.ground)]
    return marks_key(marks, palette)


def marks_key(marks: list[tuple[str, str, str]], palette: Palette) -> list[alt.Chart]:
    """Draw a key of marks: name, symbol and fill of each."""
    frame = _placed([name for name, _, _ in marks])
    frame["shape"] = [shape for _, shape, _ in marks]
    frame["fill"] = [fill for _, _, fill in marks]
    base = alt.Chart(frame).transform_calculate(
        x=f"width < {_NARROW_PX} ? datum.narrow_x : datum.wide_x",
        y=f"height + (width < {_NARROW_PX} ? datum.narrow_y : datum.wide_y)",
    )
    at = {"x": alt.X("x:Q", scale=None, axis=None), "y": alt.Y("y:Q", scale=None, axis=None)}
    symbols = base.mark_point(size=_AREA_PX2, stroke=palette.edge, strokeWidth=1, opacity=1)
    names = base.mark_text(align="left", dx=12, baseline="middle", fontSize=TEXT_PX,
                           color=palette.muted)  # fmt: skip
    return [
        symbols.encode(**at, fill=alt.Fill("fill:N", scale=None),
                       shape=alt.Shape("shape:N", scale=None)),
        names.encode(**at, text=alt.Text("name:N")),
    ]  # fmt: skip


def _placed(names: list[str]) -> pd.DataFrame:
    wide = _row(names)
    narrow = [
        x
        for first in range(0, len(names), _IN_A_ROW)
        for x in _row(names[first : first + _IN_A_ROW])
    ]
    rows = [_BELOW_PX + _ROW_PX * (i // _IN_A_ROW) for i in range(len(names))]
    return pd.DataFrame({"name": names, "wide_x": wide, "wide_y": _BELOW_PX, "narrow_x": narrow,
                         "narrow_y": rows})  # fmt: skip


def _row(names: Sequence[str]) -> list[float]:
    """Set names in a row, each with its symbol before it."""
    places, at = [], _SYMBOL_PX / 2
    for name in names:
        places.append(at)
        at += _SYMBOL_PX + len(name) * _LETTER_PX + _APART_PX
    return places
