"""One record a quantity: its unit inside, the units people see, its label and plausible range.

Everything inside Overwinter is one unit a quantity (water mm, depth cm, theta m3/m3, degrees C,
litres a second, hectares). People choose a *system*, ``"in"`` or ``"mm"``, and numbers are
converted once, here, at the edge.

Factors are exact by definition: 1 in = 25.4 mm, 1 ft = 30.48 cm (international yard, 1959);
1 US gallon = 231 in3; the international acre = 4046.8564224 m2.
"""

from dataclasses import dataclass
from typing import Literal

System = Literal["in", "mm"]

MM_PER_INCH = 25.4
CM_PER_INCH = 2.54
CM_PER_FOOT = 30.48
LITRES_PER_GALLON = 231 * 2.54**3 / 1000
HECTARES_PER_ACRE = 0.40468564224
M3_PER_ACRE_FOOT = HECTARES_PER_ACRE * 1e4 * CM_PER_FOOT / 100
KM_PER_MILE = 1.609344
EIGHT_IN_TEN = 1.2815515655446004
"""Standard deviations to either side of the mean that hold eight tenths of a normal spread."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """How a quantity is shown in one system: ``shown = inside * factor + offset``."""

    unit: str
    factor: float
    offset: float = 0.0
    digits: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A quantity of the trade."""

    name: str
    label: str
    inside: str
    low: float
    high: float
    in_: Shown
    mm: Shown

    def shown(self, system: System) -> Shown:
        """Give the unit, factor and digits for a system."""
        return self.in_ if system == "in" else self.mm


def _same(unit: str, digits: int) -> dict[str, Shown]:
    both = Shown(unit=unit, factor=1.0, digits=digits)
    return {"in_": both, "mm": both}


WATER = Quantity(
    name="water", label="water", inside="mm", low=0.0, high=3000.0,
    in_=Shown(unit="in", factor=1 / MM_PER_INCH, digits=1),
    mm=Shown(unit="mm", factor=1.0, digits=0),
)  # fmt: skip
DEPTH = Quantity(
    name="depth", label="depth", inside="cm", low=0.0, high=1000.0,
    in_=Shown(unit="in", factor=1 / CM_PER_INCH, digits=0),
    mm=Shown(unit="cm", factor=1.0, digits=0),
)  # fmt: skip
DEPTH_AXIS = Quantity(
    name="depth on an axis", label="depth", inside="cm", low=0.0, high=1000.0,
    in_=Shown(unit="ft", factor=1 / CM_PER_FOOT, digits=1),
    mm=Shown(unit="cm", factor=1.0, digits=0),
)  # fmt: skip
THETA = Quantity(name="theta", label="volumetric water content", inside="m3/m3",
                 low=0.0, high=0.7, **_same("m³/m³", 3))  # fmt: skip
FILL = Quantity(name="fill", label="share of available water held", inside="1",
                low=-0.5, high=2.0,
                in_=Shown(unit="%", factor=100.0, digits=0),
                mm=Shown(unit="%", factor=100.0, digits=0))  # fmt: skip
TEMPERATURE = Quantity(
    name="temperature", label="temperature", inside="C", low=-60.0, high=60.0,
    in_=Shown(unit="°F", factor=1.8, offset=32.0, digits=0),
    mm=Shown(unit="°C", factor=1.0, digits=1),
)  # fmt: skip
AREA = Quantity(
    name="area", label="area", inside="ha", low=0.0, high=100_000.0,
    in_=Shown(unit="ac", factor=1 / HECTARES_PER_ACRE, digits=0),
    mm=Shown(unit="ha", factor=1.0, digits=0),
)  # fmt: skip
FLOW = Quantity(
    name="flow", label="capacity", inside="L/s", low=0.0, high=10_000.0,
    in_=Shown(unit="gpm", factor=60 / LITRES_PER_GALLON, digits=0),
    mm=Shown(unit="L/s", factor=1.0, digits=0),
)  # fmt: skip
VOLUME = Quantity(
    name="volume", label="volume of water", inside="m3", low=0.0, high=1e9,
    in_=Shown(unit="ac-ft", factor=1 / M3_PER_ACRE_FOOT, digits=1),
    mm=Shown(unit="m³", factor=1.0, digits=0),
)  # fmt: skip
DISTANCE = Quantity(
    name="distance", label="distance", inside="km", low=0.0, high=21_000.0,
    in_=Shown(unit="mi", factor=1 / KM_PER_MILE, digits=1),
    mm=Shown(unit="km", factor=1.0, digits=1),
)  # fmt: skip

QUANTITIES = (WATER, DEPTH, DEPTH_AXIS, THETA, FILL, TEMPERATURE, AREA, FLOW, VOLUME, DISTANCE)


def convert(value: float, quantity: Quantity, system: System) -> float:
    """Turn an inside value into the number people see.

    Parameters
    ----------
    value : float
        In the quantity's inside unit.
    quantity : Quantity
        Which quantity it is.
    system : {"in", "mm"}
        What the reader chose.

    Returns
    -------
    float
        In the unit ``quantity.shown(system).unit``.
    """
    shown = quantity.shown(system)
    return value * shown.factor + shown.offset


def inside(value: float, quantity: Quantity, system: System) -> float:
    """Turn a number that a person typed back into the inside unit."""
    shown = quantity.shown(system)
    return (value - shown.offset) / shown.factor


def text(
    value: float | None, quantity: Quantity, system: System, *, signed: bool = False
) -> str:
    """Write a value with its unit, or an em dash where it is not known.

    A rounded nought never carries a minus sign.
    """
    if value is None or value != value:  # noqa: PLR0124 - only NaN differs from itself
        return "—"
    shown = quantity.shown(system)
    number = round(convert(value, quantity, system), shown.digits) + 0.0
    sign = "+" if signed and number > 0 else ""
    figure = f"{sign}{number:,.{shown.digits}f}".replace("-", "−")
    return f"{figure} {shown.unit}"
