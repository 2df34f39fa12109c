"""FAO-56 (Allen, Pereira, Raes & Smith 1998), Example 36, p. 166: TAW and RAW of three soils.

The refill point is where RAW is used up: full - p (full - lower).
"""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from analytics.contract import TABLES
from analytics.model import Daily, Layer, Placement, Season
from analytics.settings import Settings
from analytics.soil.limits import learn_limits, points_of

SOILS = {"loamy sand": (0.15, 0.06), "silt": (0.32, 0.15), "silty clay": (0.35, 0.23)}
# crop, rooting depth in m; then (TAW, RAW) in mm for the three soils, as printed
EXAMPLE_36 = [
    ("onion", 0.4, ((36, 11), (68, 20), (48, 14))),
    ("tomato", 0.8, ((72, 29), (136, 54), (96, 38))),
    ("maize", 1.2, ((108, 59), (204, 112), (144, 79))),
]
CASES = [
    (crop, depth, soil, *printed)
    for crop, depth, row in EXAMPLE_36
    for soil, printed in zip(SOILS, row, strict=True)
]


@pytest.mark.parametrize(("crop", "depth_m", "soil", "taw_mm", "raw_mm"), CASES)
def test_available_and_readily_available_water(
    crop: str, depth_m: float, soil: str, taw_mm: float, raw_mm: float
) -> None:
    full, lower = SOILS[soil]
    layer = Layer(site="p", depth_cm=50 * depth_m, top_cm=0.0, bottom_cm=100 * depth_m,
                  texture=soil, full=full, lower=lower)  # fmt: skip
    points = points_of(_limits(layer, crop), (layer,), 1)
    got_taw = 1000 * (points.full[0] - points.lower[0]) * depth_m  # FAO-56 Eq. 82
    got_raw = 1000 * (points.full[0] - points.refill[0]) * depth_m  # Eq. 83
    assert got_taw == pytest.approx(taw_mm, abs=0.51)
    assert got_raw == pytest.approx(raw_mm, abs=0.51)  # printed as whole mm


def _limits(layer: Layer, crop: str) -> pd.DataFrame:
    state = np.full((30, 1), np.nan)
    none = np.zeros(state.shape, dtype=bool)
    daily = Daily(
        site="p", days=np.datetime64("2021-01-01", "D") + np.arange(30),
        depths_cm=np.array([layer.depth_cm]), first=state, last=state, low=state, high=state,
        mean=state, predawn=state, state=state, temp_c=state, good=none.astype(np.int32),
        frozen=none, held=none, placement=np.ones(30, dtype=np.int16),
    )  # fmt: skip
    stay = Placement(site="p", field="f", number=1, latitude=39.0, longitude=-101.0,
                     timezone="America/Chicago", installed_on=date(2021, 1, 1),
                     removed_on=None)  # fmt: skip
    season = Season(field="f", crop=crop, planted_on=date(2021, 4, 1))
    unset = pd.DataFrame(columns=list(TABLES["limits"].names))
    return learn_limits(daily, (layer,), (season,), (stay,), unset, Settings())
