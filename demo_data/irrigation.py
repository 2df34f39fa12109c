"""Irrigation in season, limited by what each well group can pump, and before planting."""

from datetime import date

import numpy as np
from numpy.typing import NDArray

from demo_data.cases import CASES
from demo_data.district import DISTRICT, SITE_INDEX, WELLS, area_ha
from demo_data.rotations import Cover

Floats = NDArray[np.float64]

PASS_MM = 28.0
LEAST_DAYS = 4

#: water before planting: site -> (day, mm)
BEFORE_PLANTING: dict[str, tuple[tuple[date, float], ...]] = {
    CASES["prewatered"].site: (
        (date(2026, 2, 3), 24.0), (date(2026, 2, 11), 30.0), (date(2026, 2, 18), 30.0),
    ),
    "TF05": ((date(2025, 3, 12), 30.0), (date(2025, 3, 21), 30.0), (date(2025, 4, 2), 30.0)),
    "TF33": ((date(2025, 4, 4), 30.0), (date(2025, 4, 14), 30.0)),
}  # fmt: skip


def _wants(need: Floats, since: Floats, growing: NDArray[np.bool_], vigour: Floats) -> Floats:
    """Score each field's wish for a pass: 0 none, larger sooner."""
    due = growing & (need > 22) & (since >= LEAST_DAYS) & (vigour > 0)
    return np.where(due, need * vigour, 0.0)


def _season_day(
    well: int, spare_m3: float, score: Floats, feeds: NDArray[np.int64], area: Floats
) -> tuple[list[int], float]:
    """Give passes from one source until its day's water is spent."""
    chosen: list[int] = []
    order = np.argsort(-np.where(feeds == well, score, 0.0), kind="stable")
    for index in order.tolist():
        cost = PASS_MM * area[index] * 10
        if score[index] <= 0 or feeds[index] != well or spare_m3 < cost:
            break
        chosen.append(index)
        spare_m3 -= cost
    return chosen, spare_m3


def irrigation_mm(
    days: NDArray[np.datetime64], rain_mm: Floats, demand_mm: Floats, crop: Cover
) -> Floats:
    """Schedule every pass (days, sites) [mm that reach the soil].

    Each source spends at most its capacity; the field with the largest book deficit, weighted
    by its share, goes first; no field goes beyond its source's seasonal allocation.
    """
    names = [well[0] for well in WELLS]
    feeds = np.array([names.index(p.source) if p.source else -1 for p in DISTRICT])
    area = np.array([area_ha(plot) for plot in DISTRICT])
    vigour = np.array([plot.vigour for plot in DISTRICT])
    limit = np.array([0.0 if w < 0 else WELLS[w][3] for w in feeds]) * np.minimum(vigour, 1.0)
    out = np.zeros_like(rain_mm)
    need, since, used = np.zeros(len(DISTRICT)), np.full(len(DISTRICT), 9.0), np.zeros(36)
    spare = [0.0] * len(WELLS)
    years = days.astype("datetime64[Y]").astype(int)
    for day in range(len(days)):
        if day and years[day] != years[day - 1]:
            used[:] = 0.0
        need = np.clip(need + demand_mm[day] - 0.8 * rain_mm[day], 0, 80)
        need[~crop.growing[day]] = 0.0
        since += 1
        score = _wants(need, since, crop.growing[day] & (used + PASS_MM <= limit), vigour)
        for well, row in enumerate(WELLS):
            budget = min(spare[well] + row[2] * 86.4, 40_000.0)
            chosen, spare[well] = _season_day(well, budget, score, feeds, area)
            out[day, chosen] = PASS_MM
            used[chosen] += PASS_MM
            need[chosen] -= PASS_MM
            since[chosen] = 0
    return _before_planting(days, out)


def _before_planting(days: NDArray[np.datetime64], out: Floats) -> Floats:
    for site, passes in BEFORE_PLANTING.items():
        for day, mm in passes:
            out[days == np.datetime64(day), SITE_INDEX[site]] += mm
    return out
