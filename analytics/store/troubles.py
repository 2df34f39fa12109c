"""What is wrong at sensors, asked in one way by the Record page and by ``check``."""

from collections.abc import Callable
from datetime import date

import pandas as pd

from analytics.settings import Settings


def troubles_on(
    ask: Callable[..., pd.DataFrame], day: date, settings: Settings
) -> pd.DataFrame:
    """Give what is wrong on a day, a row a sensor: site, kind, depth_cm, since, hours.

    Parameters
    ----------
    ask : callable
        Runs a statement of ``sql/`` by its name and parameters, on the store that is meant.
    day : date
    settings : Settings
        Uses lost_within_days, gap_shown_h, lost_hours.
    """
    return ask(
        "show_record_troubles", date=day, since_days=int(settings.lost_within_days),
        least_hours=settings.gap_shown_h, lost_hours=settings.lost_hours,
    )  # fmt: skip
