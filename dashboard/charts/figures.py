"""Small figures that stand in a row of a list."""

from analytics.units import WATER, System, text
from dashboard.charts.palette import Palette
from dashboard.charts.svg import element, line, svg
from dashboard.words import EIGHT_IN_TEN

_TICKS = 5
_PAD_PX = 4.0


def interval_svg(
    value_mm: float | None,
    sd_mm: float | None,
    max_mm: float,
    system: System,
    palette: Palette,
    *,
    width: float = 128.0,
    height: float = 20.0,
) -> str:
    """Draw a shortage as a dot with its 8-in-10 interval on a scale from nought.

    Parameters
    ----------
    value_mm, sd_mm : float or None
        The figure and its standard deviation, mm; without a value only the scale is drawn.
    max_mm : float
        Right end of the scale, mm.
    system : {"in", "mm"}
        Units of the spoken label.
    palette : Palette
        Colours.
    width, height : float
        Px.
    """
    middle, right = height / 2, width - _PAD_PX
    scale = line(_PAD_PX, middle, right, middle, stroke=palette.line, width=1.4)
    step = (right - _PAD_PX) / (_TICKS - 1)
    for at in (_PAD_PX + i * step for i in range(_TICKS)):
        scale += line(at, middle - 4, at, middle + 4, stroke=palette.line, width=1.4)
    if value_mm is None or value_mm != value_mm or max_mm <= 0:  # noqa: PLR0124 - NaN
        return svg(scale, size=(width, height), label="not known")
    return svg(scale + _mark(value_mm, sd_mm, max_mm, palette, (_PAD_PX, right, middle)),
               size=(width, height), label=_spoken(value_mm, sd_mm, system))  # fmt: skip


def _mark(
    value: float,
    sd: float | None,
    top: float,
    palette: Palette,
    box: tuple[float, float, float],
) -> str:
    left, right, middle = box

    def at(water: float) -> float:
        return left + (right - left) * min(max(water / top, 0.0), 1.0)

    dot = element("circle", cx=at(value), cy=middle, r=4.4, fill=palette.ink)
    if sd is None or sd != sd:  # noqa: PLR0124 - NaN
        return dot
    half = EIGHT_IN_TEN * sd
    span = line(at(value - half), middle, at(value + half), middle, stroke=palette.ink, width=2)
    return span + dot


def _spoken(value_mm: float, sd_mm: float | None, system: System) -> str:
    said = text(value_mm, WATER, system)
    if sd_mm is None or sd_mm != sd_mm:  # noqa: PLR0124 - NaN
        return said
    half = EIGHT_IN_TEN * sd_mm
    low, high = (text(value_mm + sign * half, WATER, system) for sign in (-1, 1))
    return f"{said}, 8 in 10 between {low} and {high}"
