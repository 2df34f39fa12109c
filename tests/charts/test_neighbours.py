"""Fields side by side share one scale and one depth; every text in them is escaped."""

import re

import pandas as pd
import pytest

from dashboard.charts.core_strip import core_layers
from dashboard.charts.neighbours import Column, side_by_side, spread
from dashboard.charts.palette import DARK, LIGHT
from dashboard.charts.spec import spec


def layers(full: float, held: float, depths=((0, 30), (30, 60))):
    rows = pd.DataFrame([
        {"zone": "layer", "top_cm": a, "bottom_cm": b, "fill": held / full, "class": "partial",
         "water_mm": held, "full_mm": full, "lower_mm": 0.0, "left_mm": held / 2,
         "basis": "learned", "held": False}
        for a, b in depths
    ])  # fmt: skip
    return core_layers(rows)


@pytest.mark.parametrize("palette", [LIGHT, DARK])
def test_one_scale_holds_for_all(palette):
    rich, poor = Column(name="Rich", under="", layers=layers(60, 30)), Column(
        name="<Poor>", under="after corn", layers=layers(30, 30))  # fmt: skip
    drawn = side_by_side([rich, poor], "in", palette, label="both")
    held = re.findall(rf'width="([\d.]+)"[^>]*fill="{palette.partial}"', drawn)
    assert len(held) == 4
    assert len(set(held)) == 1  # the same water is as wide, whatever the layer could hold
    assert "<Poor>" not in drawn
    assert "&lt;Poor&gt;" in drawn


def test_water_is_per_foot_so_that_a_thick_layer_is_not_taken_for_a_wet_one():
    thin = Column(name="thin", under="", layers=layers(30, 30, ((0, 30), (30, 60))))
    thick = Column(name="thick", under="", layers=layers(60, 60, ((0, 60),)))
    drawn = side_by_side([thin, thick], "mm", LIGHT, label="both")
    held = re.findall(rf'width="([\d.]+)"[^>]*fill="{LIGHT.partial}"', drawn)
    assert len(set(held)) == 1


def test_groups_stand_with_the_shortest_of_water_on_top_and_say_how_many():
    rows = pd.DataFrame({
        "field": list("abc"), "name": list("abc"), "group": ["corn", "wheat", "wheat"],
        "short_mm": [20.0, 60.0, 90.0],
    })  # fmt: skip
    drawn = spec(spread(rows, "mm", LIGHT, chosen="b", title="short, mm"))
    assert drawn["layer"][0]["encoding"]["y"]["sort"] == ["wheat (2)", "corn (1)"]
