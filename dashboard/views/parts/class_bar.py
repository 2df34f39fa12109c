"""The bar of counts above the map: key and answer at once."""

from collections import Counter
from collections.abc import Iterable
from html import escape

import streamlit as st

from dashboard.charts.palette import CLASSES, Palette, class_colour, text_on
from dashboard.views.parts.measures import Measure
from dashboard.words import NOT_KNOWN


def class_bar(codes: Iterable[str | None], chosen: Measure, palette: Palette) -> None:
    """Show how many fields stand in each step, each as wide as its count.

    Parameters
    ----------
    codes : iterable of str or None
        One a field; None is not known.
    chosen : Measure
        Names and bounds of the steps.
    palette : Palette
        Colours.
    """
    counts = Counter(codes)
    parts = [
        _segment(
            counts[one.code], one.letter, chosen.names[one.code], chosen.bounds[one.code],
            f"background:{class_colour(palette, one.code)};color:{text_on(palette, one.code)};"
            f"border-color:{palette.edge}",
        )
        for one in CLASSES
    ]  # fmt: skip
    if counts[None]:
        hatch = f"repeating-linear-gradient(45deg,{palette.edge} 0 2px,{palette.ground} 2px 6px)"
        tone = f"background:{hatch};color:{palette.ink};border-color:{palette.edge}"
        parts.append(_segment(counts[None], "?", NOT_KNOWN, "", tone, plate=palette.ground))
    st.html(f'<div class="ow-bar" role="list" aria-label="Fields by class">{"".join(parts)}</div>')


def _segment(
    count: int, letter: str, name: str, bound: str, tone: str, plate: str | None = None
) -> str:
    said = escape(f"{name}, {bound}: {count}" if bound else f"{name}: {count}")
    back = f' style="background:{plate};padding:0 4px"' if plate else ""
    full = f"{letter} {name}" if letter != "?" else name
    return (
        f'<div class="ow-seg" role="listitem" aria-label="{said}" title="{said}" '
        f'style="flex:{max(count, 0.35)} 1 30px"><div class="tone" style="{tone}">'
        f'<span class="name"{back}>{escape(full)}</span>'
        f'<span class="letter">{escape(letter)}</span>'
        f'<span{back}>{count}</span></div><div class="bound">{escape(bound)}</div></div>'
    )
