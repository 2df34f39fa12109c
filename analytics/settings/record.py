"""When a probe needs a visit, and which gaps are told one by one."""

from dataclasses import dataclass

from analytics.settings.declare import setting


@dataclass(frozen=True, kw_only=True)
class Upkeep:
    """When a probe needs a visit, and which gaps are told one by one."""

    due_years: float = setting(
        5.0,
        "a",
        "a probe buried this long is due for replacement",
        "common practice, no source: probes stay buried five to seven years",
    )
    overdue_years: float = setting(
        7.0,
        "a",
        "a probe buried longer than this is past its usual life",
        "common practice, no source: probes stay buried five to seven years",
    )
    years_month: float = setting(
        10.0,
        "month",
        "month in which the years begin that are laid over one another",
        "ours; when most crops of the district are off",
    )
    gap_shown_h: float = setting(
        6.0,
        "h",
        "a gap longer than this is listed, shorter ones are counted",
        "ours; shorter ones may be interpolated for daily values",
    )
    lost_within_days: float = setting(
        90.0, "d", "how far back lost hours are summed for the visiting list", "ours"
    )
    lost_hours: float = setting(
        72.0, "h", "a sensor that lost so many hours lately is worth a visit", "ours"
    )
