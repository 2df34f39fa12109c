"""Water summed over layers, against printed sums.

Sources:

- precisionag.org irrigation tutorial, practice calculation 5: layers 0-12 in at 0.75 in/ft,
  12-36 in at 1.60, 36-48 in at 2.20 hold 0.75 + 3.20 + 2.20 = 6.15 in; clay of field capacity
  48 % and wilting point 28 % holds 5.76, 3.36 and 2.40 in/ft (full, lower, available);
  14 % and 6 % available give 1.68, 0.96, 0.72; 1.25 in/ft over 4 ft is 5 in.
- Patrignani et al. 2012, Soil Sci. Soc. Am. J. 76:1768-1775, neutron probe at Lahoma, Oklahoma,
  ten depths 10 to 190 cm: readings of 2 July 2009. Their trapezoid sum is 39.77 cm; the layer
  sum over 0-200 cm, 439.8 mm, was worked from the same readings by the rule tested here.
"""

import numpy as np
import pytest

from analytics.model import Layer
from analytics.soil.profile import layer_water_mm, resolve_layers, zone_sum, zone_weights
from analytics.units import CM_PER_INCH, MM_PER_INCH

LAHOMA_CM = np.arange(10.0, 191.0, 20.0)
LAHOMA = np.array([0.135, 0.172, 0.228, 0.260, 0.157, 0.195, 0.239, 0.256, 0.271, 0.286])


def feet(tops_in: list[float], bottoms_in: list[float]):
    return tuple(
        Layer(site="p", depth_cm=(top + bottom) / 2 * CM_PER_INCH,
              top_cm=top * CM_PER_INCH, bottom_cm=bottom * CM_PER_INCH)
        for top, bottom in zip(tops_in, bottoms_in, strict=True)
    )  # fmt: skip


def test_three_layers_hold_six_inches_and_fifteen_hundredths():
    layers = feet([0, 12, 36], [12, 36, 48])
    inches = layer_water_mm(np.array([0.75, 1.60, 2.20]) / 12, layers) / MM_PER_INCH
    assert inches == pytest.approx([0.75, 3.20, 2.20], abs=0.005)
    weights = zone_weights(layers, 36 * CM_PER_INCH)
    assert zone_sum(inches, weights["profile"]) == pytest.approx(6.15, abs=0.005)
    assert zone_sum(inches, weights["upper"]) == pytest.approx(3.95, abs=0.005)


@pytest.mark.parametrize(
    ("theta", "inches_a_foot"),
    [(0.48, 5.76), (0.28, 3.36), (0.20, 2.40), (0.14, 1.68), (0.08, 0.96), (0.06, 0.72)],
)
def test_percent_and_inches_a_foot_agree(theta, inches_a_foot):
    one_foot = feet([0], [12])
    held = layer_water_mm(np.array([theta]), one_foot)[0] / MM_PER_INCH
    assert held == pytest.approx(inches_a_foot, abs=0.005)


def test_four_feet_at_an_inch_and_a_quarter_hold_five_inches():
    layers = feet([0, 12, 24, 36], [12, 24, 36, 48])
    held = layer_water_mm(np.full(4, 1.25 / 12), layers).sum() / MM_PER_INCH
    assert held == pytest.approx(5.0, abs=0.005)


def test_lahoma_2_july_2009():
    layers = resolve_layers("lahoma", LAHOMA_CM, (), None)
    assert [one.bottom_cm for one in layers] == list(np.arange(20.0, 201.0, 20.0))
    water = layer_water_mm(LAHOMA, layers)
    total = zone_sum(water, zone_weights(layers, 90.0)["profile"])
    assert total == pytest.approx(439.8, abs=0.05)


def test_lahoma_trapezoid_is_the_layer_sum_less_its_two_ends():
    """39.77 cm is printed; the trapezoid stops at the outer sensors, half a layer each."""
    layers = resolve_layers("lahoma", LAHOMA_CM, (), None)
    water_cm = layer_water_mm(LAHOMA, layers) / 10
    assert water_cm.sum() - (water_cm[0] + water_cm[-1]) / 2 == pytest.approx(39.77, abs=0.005)


@pytest.mark.parametrize(
    ("span", "layer_mm", "total_mm"),
    [
        ("25-Oct-2010 to 9-Mar-2011",
         [-3.0, -8.8, -3.4, -3.0, -4.8, -4.4, -3.4, -2.2, -2.0, -0.8], -35.8),
        ("4-Nov-2009 to 17-Mar-2010",
         [5.8, -0.8, -0.6, -0.4, -1.6, -3.0, -3.4, -1.2, -1.4, -1.4], -8.0),
        ("19-Sep to 17-Oct-2009",
         [15.0, 2.0, 2.8, 1.4, 2.6, 2.2, 1.4, 0.4, -0.8, 0.0], 27.0),
    ],
)  # fmt: skip
def test_lahoma_winter_changes_sum_to_the_profile(span, layer_mm, total_mm):
    """Changes in theta are the listed mm over 200 mm; layer and profile sums must agree."""
    layers = resolve_layers("lahoma", LAHOMA_CM, (), None)
    after = LAHOMA + np.array(layer_mm) / 200.0
    change = layer_water_mm(after, layers) - layer_water_mm(LAHOMA, layers)
    assert change == pytest.approx(layer_mm, abs=1e-9)
    weights = zone_weights(layers, 90.0)
    assert zone_sum(change, weights["profile"]) == pytest.approx(total_mm, abs=0.05)
    parts = zone_sum(change, weights["upper"]) + zone_sum(change, weights["deep"])
    assert parts == pytest.approx(total_mm, abs=0.05)
