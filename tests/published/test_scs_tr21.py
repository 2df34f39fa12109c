"""USDA-SCS Technical Release 21 (1967): effective rain of growing-season months, inches."""

import numpy as np
import pytest

from analytics.water.demand import effective_rain_scs

# printed for a usable storage of 3 in (MEMORY, high); monthly ETc 0 to 8 in
PRINTED = {
    0.5: [0.28, 0.30, 0.32, 0.34, 0.36, 0.38, 0.40, 0.42, 0.45],
    1.0: [0.59, 0.63, 0.66, 0.70, 0.74, 0.78, 0.83, 0.88, 0.93],
    # RUN of the published equation
    2.0: [1.14, 1.21, 1.28, 1.35, 1.43, 1.51, 1.60, 1.69, 1.78],
    3.0: [1.64, 1.73, 1.83, 1.94, 2.05, 2.17, 2.29, 2.42, 2.56],
    5.0: [2.56, 2.70, 2.86, 3.02, 3.20, 3.38, 3.58, 3.78, 4.00],
}
FACTORS = {0.75: 0.72, 1.0: 0.77, 1.5: 0.86, 2.0: 0.93, 2.5: 0.97, 3.0: 1.00, 5.0: 1.04}


@pytest.mark.parametrize("rain", PRINTED)
def test_table(rain):
    crop = np.arange(9.0)
    got = effective_rain_scs(np.full(9, rain) * 25.4, crop * 25.4, 3.0 * 25.4) / 25.4
    allowed = np.minimum(PRINTED[rain], np.minimum(rain, crop))  # the caps bind at low demand
    assert got == pytest.approx(allowed, abs=0.0151)


@pytest.mark.parametrize("inches", FACTORS)
def test_storage_factor(inches):
    one = effective_rain_scs(np.array([50.8]), np.array([152.4]), inches * 25.4)
    three = effective_rain_scs(np.array([50.8]), np.array([152.4]), 3 * 25.4) / 1.0007
    assert one / three == pytest.approx([FACTORS[inches]], abs=0.0101)
