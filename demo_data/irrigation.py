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
CARRIED_M3 = 40_000.0  # spare water is carried to the next day, up to so much
PUMPING_MONTHS = range(2, 10)  # March to October, counted from 0

#: water before planting: site -> (day, mm)
BEFORE_PLANTING: dict[str, tuple[tuple[date, float], ...]] = {
    CASES["prewatered"].site: (
        (date(2026, 2, 10), 26.0), (date(2026, 2, 15), 28.0), (date(2026, 2, 19), 28.0),
    ),
    CASES["wet_on_top"].site: (
        (date(2024, 3, 14), 30.0), (date(2024, 3, 22), 30.0), (date(2024, 4, 1), 30.0),
        (date(2024, 4, 11), 30.0),
    ),
    "TF05": ((date(2025, 3, 12), 30.0), (date(2025, 3, 21), 30.0), (date(2025, 4, 2), 30.0)),
    "TF33": ((date(2025, 4, 4), 30.0), (date(2025, 4, 14), 30.0)),
}  # fmt: skip


def _wants(need: Floats, since: Floats, growing: NDArray[np.bool_], vigour: Floats) -> Floats:
    """Score each field's wish for a pass: 0 none, larger sooner."""
    due = growing & (need > 22) & (since >= LEAST_DAYS) & (vigour > 0)
    return np.where(due, need * vigour, 0.0)


def _season_day(
    well: int, spare_m3: float, score: Floats, feeds: NDArray[np.int64], gross_m3: Floats
) -> tuple[list[int], float]:
    """Give passes from one source until its day's water is spent."""
    chosen: list[int] = []
    order = np.argsort(-np.where(feeds == well, score, 0.0), kind="stable")
    for index in order.tolist():
        cost = float(gross_m3[index])
        if score[index] <= 0 or feeds[index] != well or spare_m3 < cost:
            break
        chosen.append(index)
        spare_m3 -= cost
    return chosen, spare_m3


def _feeds() -> NDArray[np.int64]:
    """Look up the number of each field's source; -1 for dryland."""
    names = [well[0] for well in WELLS]
    return np.array([names.index(p.source) if p.source else -1 for p in DISTRICT])


def _season_limit_mm(feeds: NDArray[np.int64], vigour: Floats) -> Floats:
    """Give the most that each field may get in a year [mm]: its share of the allocation."""
    allowed = np.array([0.0 if well < 0 else WELLS[well][3] for well in feeds])
    return allowed * np.minimum(vigour, 1.0)


def irrigation_mm(
    days: NDArray[np.datetime64], rain_mm: Floats, demand_mm: Floats, crop: Cover
) -> Floats:
    """Schedule every pass (days, sites) [mm that reach the soil].

    Each source spends at most its capacity; the field with the largest book deficit, weighted
    by its share, goes first; no field goes beyond its share of the seasonal allocation.
    """
    feeds = _feeds()
    gross_m3 = PASS_MM * 10 * np.array([area_ha(plot) for plot in DISTRICT])
    gross_m3 /= np.array([WELLS[well][4] for well in feeds])
    vigour = np.array([plot.vigour for plot in DISTRICT])
    limit, month = (
        _season_limit_mm(feeds, vigour),
        days.astype("datetime64[M]").astype(int) % 12,
    )
    out = np.zeros_like(rain_mm)
    need, used = np.zeros(len(DISTRICT)), np.zeros(len(DISTRICT))
    since = np.full(len(DISTRICT), float(LEAST_DAYS))
    spare = [0.0] * len(WELLS)
    for day in range(len(days)):
        used = used * (month[day] != 0)
        need = np.clip(need + demand_mm[day] - 0.8 * rain_mm[day], 0, 80) * crop.growing[day]
        since += 1
        open_ = crop.growing[day] & (used + PASS_MM <= limit) & (month[day] in PUMPING_MONTHS)
        score = _wants(need, since, open_, vigour)
        for well, row in enumerate(WELLS):
            budget = min(spare[well] + row[2] * 86.4, CARRIED_M3)
            chosen, spare[well] = _season_day(well, budget, score, feeds, gross_m3)
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
