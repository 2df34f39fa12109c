"""Water to maturity: UNL CropWatch, 22 August 2013, after NebGuide G1871."""

import numpy as np
import pytest

from analytics.settings import Settings
from analytics.water.ahead import still_to_apply
from analytics.water.demand import CROPS, crop_coefficients
from analytics.water.maturity import STAGES, water_by_stage_mm

IN = 25.4
CORN = {34: 7.5, 24: 5.0, 19: 3.75, 13: 2.25, 7: 1.0, 0: 0.0}
SOYBEAN = {37: 9.0, 29: 6.5, 18: 3.5, 10: 1.9, 0: 0.0}


@pytest.mark.parametrize(("crop", "table"), [("corn", CORN), ("soybean", SOYBEAN)])
def test_the_printed_rows(crop: str, table: dict[int, float]) -> None:
    for days, inches in table.items():
        found = water_by_stage_mm(crop, days)
        assert found is not None
        assert found[1] == pytest.approx(inches * IN)


def test_between_rows_and_outside_them() -> None:
    stage, mm = water_by_stage_mm("field corn", 29) or ("", 0.0)
    assert stage == "R4, dough"
    assert mm == pytest.approx((5.0 + 7.5) / 2 * IN)
    assert water_by_stage_mm("corn", 35) is None
    assert water_by_stage_mm("corn", -1) is None
    assert water_by_stage_mm("cotton", 10) is None


def test_the_worked_text_of_silt_loam_and_loamy_sand() -> None:
    # 4 ft: silt loam 8.8 in, "about 5.3 in" when drawn to 40 % left; beginning dent needs 5.0
    allowed = Settings().maturity_depletion
    dent = CORN[24] * IN
    silt, sand = 2.2 * 4 * allowed * IN, 1.1 * 4 * allowed * IN
    assert silt / IN == pytest.approx(5.3, abs=0.05)
    assert still_to_apply(dent, 0.0, silt) == 0.0
    assert still_to_apply(dent, 0.0, sand) / IN == pytest.approx(2.36, abs=0.005)


@pytest.mark.parametrize(("crop", "within"), [("maize", 0.10), ("soybean", 0.10)])
def test_our_coefficients_fall_towards_maturity_as_the_table_does(
    crop: str, within: float
) -> None:
    # share of the first row's water that each later stage still needs, weather left out
    kc = crop_coefficients(CROPS[crop])
    first = STAGES[crop][0]
    for one in STAGES[crop][1:]:
        left, whole = (kc[len(kc) - int(days) :].sum() for days in (one.days, first.days))
        assert left / whole == pytest.approx(one.inches / first.inches, abs=within)
    assert np.all(np.diff([one.inches for one in STAGES[crop]]) < 0)
