"""What the scenario contains on purpose: where it is, and what a reader should find there."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One thing put into the record on purpose; ``end`` None means "until today"."""

    site: str
    start: date
    end: date | None
    depth_cm: float | None
    what: str


CASES: dict[str, Case] = {
    "wet_on_top": Case(
        site="TF10", start=date(2025, 9, 1), end=None, depth_cm=90.0,
        what="Corrie 12: wet above 90 cm on the last day, dry beneath since the corn of 2024",
    ),
    "filling_winter": Case(
        site="TF06", start=date(2019, 9, 1), end=date(2020, 4, 30), depth_cm=None,
        what="a wet off-season that filled nearly every profile of the district",
    ),
    "empty_winter": Case(
        site="TF16", start=date(2022, 9, 1), end=date(2023, 4, 15), depth_cm=None,
        what="the drought: next to no rain or snow from September to mid April",
    ),
    "deep_frost": Case(
        site="TF14", start=date(2021, 1, 8), end=date(2021, 3, 15), depth_cm=40.0,
        what="frost below 40 cm; snow falls on it and melts while the ground is still hard",
    ),
    "silent_probe": Case(
        site="TF35", start=date(2026, 1, 14), end=None, depth_cm=None,
        what="Penrow 3: no reading since 14 January, 40 days before the last day",
    ),
    "late_block": Case(
        site="TF20", start=date(2024, 11, 5), end=date(2025, 2, 20), depth_cm=None,
        what="Ansel 6: missing from the main file, arrives later in a file of its own",
    ),
    "stuck_sensor": Case(
        site="TF24", start=date(2024, 6, 20), end=date(2024, 12, 1), depth_cm=60.0,
        what="Quillet 1: the sensor at 60 cm repeats one value for months",
    ),
    "dying_sensor": Case(
        site="TF30", start=date(2025, 5, 1), end=None, depth_cm=120.0,
        what="Marl Bench: the deepest sensor grows noisy, drifts down, then reads nonsense",
    ),
    "reinstalled": Case(
        site="TF11", start=date(2023, 4, 11), end=None, depth_cm=None,
        what="Windle 3: taken out for deep tillage, back on 11 April 2023 in a new hole",
    ),
    "never_full": Case(
        site="TF01", start=date(2019, 3, 1), end=None, depth_cm=100.0,
        what="Sallow East: below 100 cm never wetted to drainage in the whole record",
    ),
    "prewatered": Case(
        site="TF21", start=date(2026, 2, 10), end=date(2026, 2, 19), depth_cm=None,
        what="Teasel 5: three passes of water before planting, once the frost had left",
    ),
}  # fmt: skip
"""Case -> site, dates and depth."""

LATE_OVERLAP_DAYS = 4
"""The late file repeats so many days on either side that the main file has too."""

REMOVED_ON = date(2023, 3, 27)
"""The day the probe of case ``reinstalled`` came out of its first hole."""
