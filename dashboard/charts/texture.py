"""Hatching and dots as marks, since Altair has no pattern fill; both clipped to their boxes."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

STEP_PX = 6.0
MOST_MARKS = 3000  # below the row guard of a plain chart


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A box of the plot in px, y down."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def area(self) -> float:
        """Px squared."""
        return max(self.right - self.left, 0.0) * max(self.bottom - self.top, 0.0)


Line = tuple[float, float, float, float]


def hatching(boxes: Iterable[Box], step_px: float = STEP_PX) -> list[Line]:
    """Rule boxes with 45 degree lines that run on from box to box.

    Parameters
    ----------
    boxes : iterable of Box
        Px.
    step_px : float
        Distance of the lines, px, square to them.

    Returns
    -------
    list of (x1, y1, x2, y2)
        Px; the lines x + y = constant, cut at each box.
    """
    gap = step_px * 2**0.5
    return [line for one in boxes for line in _hatch(one, gap)]


def _hatch(one: Box, gap: float) -> Iterator[Line]:
    count = int((one.left + one.top) // gap) + 1
    while count * gap < one.right + one.bottom:
        total = count * gap
        x1, x2 = max(one.left, total - one.bottom), min(one.right, total - one.top)
        if x2 > x1:
            yield x1, total - x1, x2, total - x2
        count += 1


def dotting(boxes: Iterable[Box], step_px: float = STEP_PX) -> list[tuple[float, float]]:
    """Fill boxes with points of one grid, coarser where they would be too many."""
    boxes = list(boxes)
    area = sum(one.area for one in boxes)
    step = max(step_px, (area / MOST_MARKS) ** 0.5)
    return [point for one in boxes for point in _dots(one, step)]


def _dots(one: Box, step: float) -> Iterator[tuple[float, float]]:
    for row in range(int(one.top // step), int(one.bottom // step) + 1):
        y = (row + 0.5) * step
        if not one.top + 1 <= y <= one.bottom - 1:
            continue
        for column in range(int(one.left // step), int(one.right // step) + 1):
            x = (column + 0.5) * step
            if one.left + 1 <= x <= one.right - 1:
                yield x, y
