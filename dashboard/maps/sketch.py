"""Many shapes and words as one element of the map: a compact list and one loop that draws it.

folium writes a statement a mark, each rendered by itself: a thousand fields took seconds and
1.6 MB at every click. Here places, styles and words go over as one list.
"""

import json
from typing import Any

from branca.element import Element, Figure, MacroElement
from folium.template import Template
from shapely.geometry.base import BaseGeometry

from dashboard.maps.labels import script_safe
from dashboard.maps.shapes import circle_of, paths

_TENTH_OF_A_METRE = 6  # decimals of a degree
_UNSAFE = str.maketrans({one: f"\\u{ord(one):04x}" for one in "<>&\u2028\u2029"})


class Drawn(MacroElement):
    """What a sketch told, drawn into a feature group."""

    _template = Template("""
        {% macro script(this, kwargs) %}
            (function (group, told) {
                told.shapes.forEach(function (one) {
                    var style = told.styles[one.style];
                    var drawn = one.circle
                        ? L.circle(one.circle.slice(0, 2),
                                   Object.assign({radius: one.circle[2]}, style))
                        : L.polygon(one.rings, style);
                    if (one.tip) {
                        drawn.bindTooltip(one.tip, {sticky: true});
                        // a tooltip makes a shape a stop of the tab key; the list is one
                        drawn.on("add", function () {
                            this.getElement().setAttribute("tabindex", "-1");
                        });
                    }
                    drawn.addTo(group);
                });
                told.words.forEach(function (one) {
                    var style = told.styles[one.style];
                    L.marker(one.at, {
                        interactive: false, keyboard: false,
                        icon: L.divIcon({
                            html: '<div style="' + style.css + '">' + one.text + '</div>',
                            iconSize: [0, 0], iconAnchor: [0, 0], className: style.kind
                        })
                    }).addTo(group);
                });
            })({{ this._parent.get_name() }}, {{ this.told }});
        {% endmacro %}
    """)

    def __init__(self, told: str) -> None:
        super().__init__()
        self._name = "sketch"
        self.told = told

    def render(self, **_kwargs: Any) -> None:
        """Hand the page its script as it is.

        folium would read it as a template, half a megabyte of it each time.
        """
        figure = self.get_root()
        assert isinstance(figure, Figure)  # noqa: S101 - a sketch lies on a map
        write = self._template.module.__dict__["script"]
        figure.script.add_child(_Written(write(self, {})), name=self.get_name())


class _Written(Element):
    """A script in which nothing is left to fill in."""

    def __init__(self, script: str) -> None:
        super().__init__()
        self.script = script

    def render(self, **_kwargs: Any) -> str:
        return self.script


class Sketch:
    """What is to be drawn into a feature group, gathered mark by mark.

    ``shapes`` and ``words`` hold what was added; ``styles`` each style once.
    """

    def __init__(self) -> None:
        self.shapes: list[dict[str, Any]] = []
        self.words: list[dict[str, Any]] = []
        self.styles: list[dict[str, Any]] = []
        self._known: dict[str, int] = {}

    def draw(self, shape: BaseGeometry, tip: str = "", **style: Any) -> None:
        """Add a shape, as a circle where it is one; ``tip`` is plain text."""
        one: dict[str, Any] = {"style": self._style(style)}
        circle = circle_of(shape)
        if circle is not None:
            lat, lon, radius = circle
            one["circle"] = [*_place(lat, lon), round(radius, 1)]
        else:
            one["rings"] = [[_place(*at) for at in path] for path in paths(shape)]
        if tip:
            one["tip"] = script_safe(tip)
        self.shapes.append(one)

    def write(self, place: tuple[float, float], text: str, css: str, kind: str) -> None:
        """Add plain words that no click ever hits."""
        style = self._style({"css": css, "kind": kind})
        self.words.append({"at": _place(*place), "text": script_safe(text), "style": style})

    def told(self) -> str:
        """Give all of it as JSON that is safe inside a page's script."""
        whole = {"styles": self.styles, "shapes": self.shapes, "words": self.words}
        return json.dumps(whole, separators=(",", ":")).translate(_UNSAFE)

    def _style(self, style: dict[str, Any]) -> int:
        key = repr(style)
        if key not in self._known:
            self._known[key] = len(self.styles)
            self.styles.append(style)
        return self._known[key]


def _place(lat: float, lon: float) -> list[float]:
    return [round(lat, _TENTH_OF_A_METRE), round(lon, _TENTH_OF_A_METRE)]
