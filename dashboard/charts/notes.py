"""Words on the data, each on a plate of ground; at most four."""

import altair as alt
import pandas as pd

from dashboard.charts.palette import Palette
from dashboard.charts.strip import Span
from dashboard.charts.theme import TEXT_PX, wall_times

MOST_NOTES = 4
_NARROW_PX = 640
_LETTER_PX, _PAD_PX, _HALF_PX, _APART_PX = 6.6, 9.0, 10.0, 23.0


def note_layers(
    notes: pd.DataFrame, span: Span, palette: Palette, *, px_per_cm: float
) -> list[alt.Chart]:
    """Draw notes.

    Parameters
    ----------
    notes : DataFrame
        Columns date, depth_cm, text; the first four are drawn.
    span : Span
        The plot.
    palette : Palette
        Colours.
    px_per_cm : float
        Vertical scale, to keep notes apart.
    """
    layers: list[alt.Chart] = []
    taken: list[tuple[float, float, float]] = []
    few = notes.head(MOST_NOTES)
    for when, depth, words in zip(
        wall_times(few["date"]), few["depth_cm"], few["text"], strict=True
    ):
        half = len(str(words)) * _LETTER_PX / 2 + _PAD_PX
        px = min(max(span.px(when), half), span.width_px - half)
        y = _free(px, float(depth) * px_per_cm, half, taken)
        y = min(y, span.plot_bottom * px_per_cm - _HALF_PX - 2)
        taken.append((px, y, half))
        at = {"from": span.when(px), "depth": y / px_per_cm, "words": str(words)}
        layers += _plate(pd.DataFrame([at]), half, span, palette, first=not layers)
    return layers


def _free(px: float, y: float, half: float, taken: list[tuple[float, float, float]]) -> float:
    """Move a note down until it touches no other."""
    for other, other_y, other_half in sorted(taken, key=lambda one: one[1]):
        if abs(px - other) < half + other_half and abs(y - other_y) < _APART_PX:
            y = other_y + _APART_PX
    return y


def _plate(
    row: pd.DataFrame, half: float, span: Span, palette: Palette, *, first: bool
) -> list[alt.Chart]:
    """Draw one note; where the plot is narrow the first stands alone."""
    shown = "true" if first else f"width >= {_NARROW_PX}"
    base = alt.Chart(row).transform_filter(shown).encode(x=span.x(),
                                 y=span.y("depth"))  # fmt: skip
    plate = base.mark_rect(
        fill=palette.ground, stroke=None, cornerRadius=3, xOffset=-half, x2Offset=half,
        yOffset=-_HALF_PX, y2Offset=_HALF_PX,
    ).encode(x2=alt.X2("from"), y2=alt.Y2("depth"))  # fmt: skip
    words = base.mark_text(
        fontWeight=600, fontSize=TEXT_PX, color=palette.ink, baseline="middle"
    )
    return [plate, words.encode(text=alt.Text("words:N"))]
