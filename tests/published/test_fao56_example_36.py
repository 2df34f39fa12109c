"""FAO-56 (Allen, Pereira, Raes & Smith 1998), Example 36 (p. 166): total and ready water.

Three crops in three soils, TAW = 1000 (full - lower) Zr (Eq. 82) and RAW = p TAW (Eq. 83),
by the program's own refill point: full less refill, over the depth of the roots.
"""

import pandas as pd
import pytest

from analytics.contract import TABLES
from analytics.settings import Settings
from analytics.soil.points import versions
from analytics.soil.texture import depletion_fraction

# crop: (Zr m, p); soil: (full, lower) m3/m3; answers TAW, RAW in mm, all as printed
CROPS = {"onion": (0.4, 0.30), "tomato": (0.8, 0.40), "maize": (1.2, 0.55)}
SOILS = {"loamy sand": (0.15, 0.06), "silt": (0.32, 0.15), "silty clay": (0.35, 0.23)}
PRINTED = {
    ("onion", "loamy sand"): (36, 11), ("onion", "silt"): (68, 20),
    ("onion", "silty clay"): (48, 14), ("tomato", "loamy sand"): (72, 29),
    ("tomato", "silt"): (136, 54), ("tomato", "silty clay"): (96, 38),
    ("maize", "loamy sand"): (108, 59), ("maize", "silt"): (204, 112),
    ("maize", "silty clay"): (144, 79),
}  # fmt: skip
NONE_SET = pd.DataFrame(columns=list(TABLES["limits"].names))


def known(point: str, value: float) -> dict[str, object]:
    return {"placement": 1, "depth_cm": 20.0, "point": point, "value": value, "sd": 0.005,
            "state": "learned", "valid_from": pd.Timestamp("2020-01-01").to_datetime64(),
            "set_by": "record", "reason": "", "wettings": 3, "ponded": False}  # fmt: skip


@pytest.mark.parametrize(("crop", "soil"), PRINTED)
def test_total_and_ready_water_as_printed(crop: str, soil: str):
    depth_m, p = CROPS[crop]
    full, lower = SOILS[soil]
    assert depletion_fraction(crop) == pytest.approx(p)  # Table 22
    rows = [known("full", full), known("lower", lower)]
    table = versions("s", rows, NONE_SET, p, Settings()).set_index("point")["value"]
    total, ready = PRINTED[crop, soil]
    assert 1000 * (table["full"] - table["lower"]) * depth_m == pytest.approx(total, abs=0.51)
    assert 1000 * (table["full"] - table["refill"]) * depth_m == pytest.approx(ready, abs=0.51)
