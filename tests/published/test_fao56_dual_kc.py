"""FAO-56 (Allen, Pereira, Raes & Smith 1998): Examples 31 (p. 146) and 35 (p. 154)."""

import numpy as np
import pytest

from analytics.water.surface import evaporate


def run(days, depletion_mm, **fixed):
    out = []
    for day in days:
        step = evaporate(np.array([depletion_mm]), **{k: np.array(v) for k, v in day.items()},
                         **fixed)  # fmt: skip
        depletion_mm = float(step.depletion_mm[0])
        out.append([float(value[0]) for value in step])
    return np.array(out).T


def test_example_31_bare_loam_dries():
    # TEW 20, REW 9, Kc max 1.20, Kcb 0.15, ETo 4.5
    days = [{"water_mm": 0.0, "eto_mm": 4.5, "kcb": 0.15}] * 10
    depletion, evaporated, *_ = run(days, 0.0, kc_max=1.20, rew_mm=9.0, tew_mm=20.0)
    printed = [4.73, 9.45, 13.98, 16.57, 18.04, 18.88, 19.36, 19.64, 19.79, 19.88]
    assert depletion == pytest.approx(printed, abs=0.006)
    etc = [5.4, 5.4, 5.2, 3.3, 2.1, 1.5, 1.2, 0.9, 0.8, 0.8]
    assert evaporated + 0.15 * 4.5 == pytest.approx(etc, abs=0.051)


def test_wet_bare_fallow_loses_kc_max_times_eto():
    # p. 146: with Kcb = 0, Ke = Kc max = 1.20
    step = evaporate(np.zeros(1), np.zeros(1), np.array([4.5]), kc_max=1.2, rew_mm=9, tew_mm=20)
    assert step.ke == pytest.approx([1.20])
    assert step.evaporated_mm == pytest.approx([5.4])


# Days 1-10. ETo, Kcb, Kc max and few are MEMORY (high); the printed Ke, Kr and De agree.
ETO = [4.5, 5.0, 3.9, 4.2, 4.8, 2.7, 5.8, 5.1, 4.7, 5.2]
KCB = [0.30, 0.31, 0.32, 0.33, 0.34, 0.36, 0.37, 0.38, 0.39, 0.40]
KC_MAX = [1.21, 1.21, 1.21, 1.21, 1.21, 1.21, 1.21, 1.21, 1.21, 1.21]
FEW = [0.80] * 5 + [0.90] + [0.80] * 4


def test_example_35_cotton_on_sandy_loam():
    # TEW 18, REW 8; irrigation of 40 mm over 0.8 of the ground on day 1, 6 mm of rain on day 6
    days = [
        {"water_mm": w, "eto_mm": e, "kcb": k, "kc_max": m, "wet_share": f}
        for w, e, k, m, f in zip(
            [50.0, 0, 0, 0, 0, 6.0, 0, 0, 0, 0], ETO, KCB, KC_MAX, FEW, strict=True
        )
    ]
    depletion, _, drained, kr, ke = run(days, 18.0, rew_mm=8.0, tew_mm=18.0)
    assert drained == pytest.approx([32] + [0] * 9, abs=0.5)
    assert depletion == pytest.approx([5, 11, 14, 16, 17, 13, 16, 17, 18, 18], abs=0.75)
    assert kr == pytest.approx([1, 1, 0.70, 0.40, 0.20, 0.75, 0.53, 0.20, 0.09, 0.05], abs=0.06)
    assert ke == pytest.approx(
        [0.91, 0.90, 0.62, 0.35, 0.18, 0.64, 0.45, 0.17, 0.08, 0.04], abs=0.055
    )
