"""The bar of counts above the map: key and answer at once."""

from collections import Counter
from collections.abc import Iterable
from html import escape

import streamlit as st

from dashboard.charts.palette import CLASSES, CODES, FillClass, Palette, class_colour, text_on
from dashboard.views.parts.measures import Measure
from dashboard.words import NOT_KNOWN

LEAST = 0.35
"""An empty step still takes so much of one field's width, being part of the key."""


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
    counts = Counter(one if one in CODES else None for one in codes)
    parts = [_known(one, counts[one.code], chosen, palette) for one in CLASSES]
    if counts[None]:
        parts.append(_unknown(counts[None], palette))
    bar = "".join(parts)
    st.html(f'<div class="ow-bar" role="list" aria-label="Fields by class">{bar}</div>')


def _known(one: FillClass, count: int, chosen: Measure, palette: Palette) -> str:
    tone = (
        f"background:{class_colour(palette, one.code)};color:{text_on(palette, one.code)};"
        f"border-color:{palette.edge}"
    )
    name, bound = chosen.names[one.code], chosen.bounds[one.code]
    full = f"{one.letter} {name}" if name == one.name else name
    return _segment(count, (one.letter, full), bound, tone)


def _unknown(count: int, palette: Palette) -> str:
    stripes = f"{palette.edge} 0 2px,{palette.ground} 2px 6px"
    tone = (
        f"background:repeating-linear-gradient(45deg,{stripes});color:{palette.ink};"
        f"border-color:{palette.edge}"
    )
    plate = f' style="background:{palette.ground};padding:0 4px"'
    return _segment(count, ("?", NOT_KNOWN), "", tone, plate)


def _segment(count: int, names: tuple[str, str], bound: str, tone: str, plate: str = "") -> str:
    letter, name = (escape(one) for one in names)
    said = escape(f"{names[1]}, {bound}: {count}" if bound else f"{names[1]}: {count}")
    return (
        f'<div class="ow-seg" role="listitem" aria-label="{said}" title="{said}" '
        f'style="flex:{max(count, LEAST)} 1 30px"><div class="tone" style="{tone}">'
        f'<span class="name"{plate}>{name}</span><span class="letter"{plate}>{letter}</span>'
        f'<span{plate}>{count}</span></div><div class="bound">{escape(bound)}</div></div>'
    )
