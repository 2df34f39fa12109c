"""Topp, Davis & Annan 1980, Water Resour. Res. 16(3):574-582, doi:10.1029/WR016i003p00574.

Eq. 7 for mineral soil as quoted by more than eight agreeing public codes; the pairs below
come from running it on its own (shared check values, section 4), not from this program.
"""

import numpy as np
import pytest

from analytics.intake.quantities import KINDS

PAIRS = [
    (3, 0.0298), (4, 0.0553), (5, 0.0798), (8, 0.1476), (10, 0.1883), (15, 0.2758),
    (20, 0.3454), (25, 0.4004), (30, 0.4441), (35, 0.4796), (40, 0.5102), (80, 0.9646),
    (1, -0.0243),
]  # fmt: skip


@pytest.mark.parametrize(("permittivity", "theta"), PAIRS)
def test_theta_from_permittivity(permittivity: float, theta: float) -> None:
    got = KINDS["vwc"].units["permittivity"](np.array([float(permittivity)]))
    assert got[0] == pytest.approx(theta, abs=5e-5)


def test_ice_reads_nearly_dry() -> None:
    # MEMORY: permittivity of ice is about 3.2; run through Eq. 7 it is 0.035.
    got = KINDS["vwc"].units["permittivity"](np.array([3.2]))
    assert got[0] == pytest.approx(0.035, abs=5e-4)
