"""The few SVG elements that cores and small figures are made of; every text is escaped."""

from functools import cache, lru_cache
from typing import Any
from xml.sax.saxutils import escape, quoteattr

from dashboard.charts.palette import Palette

FONT = "'Source Sans', 'Source Sans Pro', 'Source Sans 3', sans-serif"


def element(name: str, content: str = "", **attributes: Any) -> str:
    """Write one element; ``None`` leaves an attribute out, ``_`` in a name becomes ``-``.

    ``content`` is taken as written: it must be markup or escaped already.
    """
    pairs = "".join(
        f" {_attribute(key)}={_quoted(value) if isinstance(value, str) else _number(value)}"
        for key, value in attributes.items()
        if value is not None
    )
    return f"<{name}{pairs}>{content}</{name}>" if content else f"<{name}{pairs}/>"


@cache
def _attribute(key: str) -> str:
    return key.rstrip("_").replace("_", "-")


@lru_cache(maxsize=1024)  # mostly a few colours
def _quoted(word: str) -> str:
    return quoteattr(word)


def _number(value: float) -> str:
    return f'"{f"{value:.2f}".rstrip("0").rstrip(".")}"'


def rect(x: float, y: float, width: float, height: float, **style: Any) -> str:
    """Write a rectangle."""
    return element("rect", x=x, y=y, width=max(width, 0.0), height=max(height, 0.0), **style)


def line(
    x1: float,
    y1: float,
    x2: float,
    y2: float,
    *,
    stroke: str,
    width: float,
    dash: str | None = None,
) -> str:
    """Write a straight line."""
    return element("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=stroke, stroke_width=width,
                   stroke_dasharray=dash)  # fmt: skip


def write(
    x: float,
    y: float,
    words: str,
    *,
    fill: str,
    anchor: str = "start",
    weight: int = 400,
    size: float = 13,
) -> str:
    """Write a text, escaped."""
    return element("text", escape(words), x=x, y=y, fill=fill, text_anchor=anchor,
                   font_weight=weight, font_size=size)  # fmt: skip


def hatch(palette: Palette, name: str) -> str:
    """Define the pattern for what is not known: 45 degrees, on the ground."""
    lines = rect(0, 0, 6, 6, fill=palette.ground)
    lines += rect(0, 0, 2.6, 6, fill=palette.edge)
    return element("pattern", lines, id=name, width=6, height=6, patternUnits="userSpaceOnUse",
                   patternTransform="rotate(45)")  # fmt: skip


def held_dots(palette: Palette, name: str) -> str:
    """Define the pattern laid over a held value: ink dots."""
    dot = element("circle", cx=3, cy=3, r=1.35, fill=palette.ink)
    return element("pattern", dot, id=name, width=6, height=6, patternUnits="userSpaceOnUse")


def svg(
    content: str,
    *,
    size: tuple[float, float],
    label: str,
    defs: str = "",
    font: str | None = None,
) -> str:
    """Write a whole picture that a screen reader announces by ``label``."""
    width, height = size
    inside = element("defs", defs) + content if defs else content
    return element(
        "svg",
        inside,
        xmlns="http://www.w3.org/2000/svg",
        width=width,
        height=height,
        viewBox=f"0 0 {width:g} {height:g}",
        role="img",
        aria_label=label,
        font_family=font,
    )
