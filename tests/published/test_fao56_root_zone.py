"""FAO-56 (Allen, Pereira, Raes & Smith 1998): Examples 37 (p. 168) and 38 (pp. 172-173)."""

import numpy as np
import pytest

from analytics.water.balance import root_zone


def test_example_37_stress_grows_as_the_soil_dries():
    # Zr 0.8 m, p 0.40, full 0.32, lower 0.12, ETo 5, Kc 1.2; TAW 160, RAW 64
    got = root_zone(55.0, np.zeros(10), np.full(10, 6.0), available_mm=np.full(10, 160.0),
                    ready_mm=np.full(10, 64.0))  # fmt: skip
    ends = [61.0, 67.0, 72.8, 78.3, 83.4, 88.2, 92.6, 96.9, 100.8, 104.5]
    assert got.end_mm == pytest.approx(ends, abs=0.051)
    stress = [1, 1, 0.97, 0.91, 0.85, 0.80, 0.75, 0.70, 0.66, 0.62]
    assert got.stress == pytest.approx(stress, abs=0.0051)
    taken = [6.0, 6.0, 5.8, 5.4, 5.1, 4.8, 4.5, 4.2, 3.9, 3.7]
    assert got.taken_mm == pytest.approx(taken, abs=0.051)


WATER = np.array([40.0, 0, 0, 0, 0, 6.0, 0, 0, 0, 27.0])
CROP = np.array([5.5, 6.1, 4.0, 2.9, 2.5, 2.7, 4.7, 2.8, 2.2, 6.3])
ROOTS = 0.30 + 0.05 * np.arange(10) / 9


def test_example_38_water_early_in_the_day():
    # full 0.23, lower 0.10, p 0.6; Dr 23 mm; roots 0.30 to 0.35 m into subsoil at full
    got = root_zone(23.0, WATER, CROP, available_mm=130 * ROOTS, ready_mm=78 * ROOTS)
    assert got.start_mm == pytest.approx([0, 5, 12, 16, 18, 15, 18, 22, 25, 0], abs=1.0)
    assert got.drained_mm == pytest.approx([17] + [0] * 9, abs=0.5)
    assert got.end_mm == pytest.approx([5, 12, 16, 18, 21, 18, 22, 25, 27, 6], abs=1.0)


def test_example_38_note_5_dry_subsoil_enters_as_roots_deepen():
    # subsoil 0.03 m3/m3 short: 30 mm a metre of new depth
    growth = np.diff(ROOTS, prepend=0.30)
    plain = root_zone(23.0, WATER, CROP, available_mm=130 * ROOTS, ready_mm=78 * ROOTS)
    dry = root_zone(23.0, WATER, CROP, available_mm=130 * ROOTS, ready_mm=78 * ROOTS,
                    entering_mm=30 * growth)  # fmt: skip
    assert dry.end_mm[8] - plain.end_mm[8] == pytest.approx(30 * growth[:9].sum(), abs=1e-9)
