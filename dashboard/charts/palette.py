"""The colours, once: every chart, core and map takes one ``Palette``.

Need is contrast: the shorter of water, the stronger the mark on the ground, in both themes.
"""

from dataclasses import dataclass
from typing import Literal

from analytics.water.classes import CLASSES as CLASS_CODES
from analytics.water.classes import EDGES
from dashboard.words import CLASS_NAMES

LIGHT_INK = "#FFFFFF"
DARK_INK = "#1F1B17"


@dataclass(frozen=True, slots=True, kw_only=True)
class Palette:
    """All tokens of one theme, as ``#RRGGBB``."""

    theme: Literal["light", "dark"]
    ground: str
    panel: str
    tint: str
    ink: str
    muted: str
    edge: str
    line: str
    highlight: str
    on_highlight: str
    depleted: str
    low: str
    partial: str
    near_full: str
    full: str
    on_depleted: str
    on_low: str
    on_partial: str
    on_near_full: str
    on_full: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FillClass:
    """One of the five classes of fill; ``lower`` is the share at which it begins."""

    code: str
    letter: str
    name: str
    lower: float


LIGHT = Palette(
    theme="light", ground="#FBFAF7", panel="#F3F0EA", tint="#ECE7DE", ink="#1F1B17",
    muted="#5F5850", edge="#8A8175", line="#D9D3C9", highlight="#5B2A9D",
    on_highlight=LIGHT_INK, depleted="#55290F", low="#875229", partial="#A3866A",
    near_full="#78BFB7", full="#AEEAE3", on_depleted=LIGHT_INK, on_low=LIGHT_INK,
    on_partial=DARK_INK, on_near_full=DARK_INK, on_full=DARK_INK,
)  # fmt: skip
DARK = Palette(
    theme="dark", ground="#171513", panel="#211E1B", tint="#262320", ink="#F1ECE4",
    muted="#B3AA9E", edge="#857C71", line="#3B3631", highlight="#C7AEFF",
    on_highlight=DARK_INK, depleted="#F6D9B0", low="#D3A574", partial="#9F8C79",
    near_full="#3B7A76", full="#1D4C4A", on_depleted=DARK_INK, on_low=DARK_INK,
    on_partial=DARK_INK, on_near_full=LIGHT_INK, on_full=LIGHT_INK,
)  # fmt: skip

BAND, SHADE = 0.35, 0.35
"""Opacity of ``edge`` as a band of values, and of ``line`` as a stretch of days beneath it."""

CLASSES = tuple(
    FillClass(code=code, letter=code[0].upper(), name=CLASS_NAMES[code], lower=float(lower))
    for code, lower in zip(CLASS_CODES, (float("-inf"), *EDGES), strict=True)
)
CODES = tuple(one.code for one in CLASSES)


def class_colour(palette: Palette, code: str) -> str:
    """Give the ramp colour of a class.

    Raises
    ------
    KeyError
        When ``code`` is not one of the five: what is not known has no ramp colour.
    """
    if code not in CODES:
        raise KeyError(code)
    return getattr(palette, code)


def text_on(palette: Palette, code: str) -> str:
    """Give the colour of text that stands on a class's ramp colour (KeyError if unknown)."""
    if code not in CODES:
        raise KeyError(code)
    return getattr(palette, f"on_{code}")


def letter(code: str | None) -> str:
    """Give a class's letter, or ``?`` where it is not known."""
    return next((one.letter for one in CLASSES if one.code == code), "?")
