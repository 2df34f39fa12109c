"""Words on the map, which no click ever hits, kept apart and kept inert."""

import html
import math
from collections.abc import Iterable, Mapping
from typing import Protocol

import folium
from shapely import box
from shapely.geometry.base import BaseGeometry

from dashboard.maps.shapes import M_PER_DEGREE, pixels_per_metre

_LETTER_WIDE_PX, _LINE_PX = 8.2, 14.0  # of a name, bold at 12 px, in a wide fallback face


class Named(Protocol):
    """A field with a name."""

    @property
    def shape(self) -> BaseGeometry:
        """Its boundary."""
        ...

    @property
    def name(self) -> str:
        """Its name."""
        ...


def placed_names(
    drawn: Mapping[str, Named], selected: str | None, names: Iterable[str]
) -> list[tuple[tuple[float, float], str]]:
    """Choose where names stand: below the field, else above it; none where both are taken.

    The selection comes first. Room is judged on the first view.
    """
    wanted = [one for one in (selected, *names) if one in drawn]
    per_m = pixels_per_metre([one.shape for one in drawn.values()])
    taken: list[BaseGeometry] = [_plate(_centre(one.shape), 4, per_m) for one in drawn.values()]
    placed = []
    for field in dict.fromkeys(wanted):
        one = drawn[str(field)]
        for place in _beside(one.shape, per_m):
            plate = _plate(place, len(one.name), per_m, hangs=True)
            if not any(plate.intersects(other) for other in taken):
                taken.append(plate)
                placed.append((place, one.name))
                break
    return placed


def _plate(
    place: tuple[float, float], letters: int, per_m: float, *, hangs: bool = False
) -> BaseGeometry:
    """Give the box that a word takes up, in degrees."""
    lat, lon = place
    tall = _LINE_PX / per_m / M_PER_DEGREE
    wide = letters * _LETTER_WIDE_PX / per_m / M_PER_DEGREE / math.cos(math.radians(lat))
    top = lat if hangs else lat + tall / 2
    return box(lon - wide / 2, top - tall, lon + wide / 2, top)


def _beside(shape: BaseGeometry, per_m: float) -> tuple[tuple[float, float], ...]:
    west, south, east, north = shape.bounds
    middle, line = (west + east) / 2, (_LINE_PX + 6) / per_m / M_PER_DEGREE
    return (south, middle), (north + line, middle)


def _centre(shape: BaseGeometry) -> tuple[float, float]:
    centre = shape.representative_point()
    return centre.y, centre.x


def name_label(
    place: tuple[float, float],
    words: str,
    colour: str,
    *,
    drop_px: int,
    weight: int = 600,
    pane: str = "markerPane",
) -> folium.Marker:
    """Write a name centred below a place."""
    style = name_style(colour, drop_px=drop_px, weight=weight)
    return written(place, words, style, "ow-name", pane)


def name_style(colour: str, *, drop_px: int, weight: int = 600) -> str:
    """Give the style of a name that hangs below its place."""
    return f"color:{colour};margin-top:{drop_px}px;font-weight:{weight};"


def written(
    place: tuple[float, float], words: str, style: str, kind: str, pane: str = "markerPane"
) -> folium.Marker:
    """Put words on the map that no click ever hits."""
    icon = folium.DivIcon(html=f'<div style="{style}">{script_safe(words)}</div>',
                          icon_size=(0, 0), icon_anchor=(0, 0), class_name=kind)  # fmt: skip
    return folium.Marker(place, icon=icon, interactive=False, keyboard=False, pane=pane)


def script_safe(words: str) -> str:
    """Escape text for HTML that folium writes into a script's template literal.

    Besides the five of HTML, the three signs that such a literal obeys are written as entities.
    """
    escaped = html.escape(words)
    for sign in "`$\\":
        escaped = escaped.replace(sign, f"&#{ord(sign)};")
    return escaped
