"""Water that corn and soybean still need from a stage to maturity, as a published table says.

UNL CropWatch of 22 August 2013, after NebGuide G1871 (Yonts, Melvin and Eisenhauer). It speaks
of Nebraska; here it stands beside a field's own balance, which goes by the field's weather.
"""

from typing import NamedTuple

import numpy as np

from analytics.water.growth import plain_name

MM_PER_IN = 25.4


class Stage(NamedTuple):
    """One row of the table: days and inches to maturity."""

    name: str
    days: float
    inches: float


STAGES = {
    "maize": (
        Stage("R4, dough", 34, 7.5), Stage("R4.7, beginning dent", 24, 5.0),
        Stage("R5, a quarter milk line", 19, 3.75), Stage("half milk line", 13, 2.25),
        Stage("three quarters milk line", 7, 1.0), Stage("R6, mature", 0, 0.0),
    ),
    "soybean": (
        Stage("R4, end of pod elongation", 37, 9.0),
        Stage("R5, beginning seed enlargement", 29, 6.5),
        Stage("R6, end of seed enlargement", 18, 3.5),
        Stage("R6.5, leaves begin to yellow", 10, 1.9), Stage("R7, beginning maturity", 0, 0.0),
    ),
}  # fmt: skip


def water_by_stage_mm(crop: str, days_left: float) -> tuple[str, float] | None:
    """Read the table between its rows.

    Parameters
    ----------
    crop : str
    days_left : float
        To maturity.

    Returns
    -------
    (stage, mm) or None
        The stage last passed and the water still needed; None for another crop or earlier than
        the table's first row.
    """
    stages = STAGES.get(plain_name(crop))
    if stages is None or not 0.0 <= days_left <= stages[0].days:
        return None
    rising = stages[::-1]
    inches = float(np.interp(days_left, [one.days for one in rising],
                             [one.inches for one in rising]))  # fmt: skip
    passed = [one for one in stages if one.days >= days_left][-1]
    return passed.name, inches * MM_PER_IN
