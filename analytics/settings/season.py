"""The season itself: how a crop's root zone is followed, and what is worth a word."""

from dataclasses import dataclass

from analytics.settings.declare import setting


@dataclass(frozen=True, kw_only=True)
class InSeason:
    """How a crop's root zone is followed, and what is worth a word."""

    emergence_days: float = setting(
        10.0, "d", "a crop comes up so long after planting", "common practice, no source"
    )
    root_start_cm: float = setting(
        20.0, "cm", "depth of the roots at planting", "MEMORY: FAO-56 Annex 8, 0.15 to 0.20 m"
    )
    maturity_depletion: float = setting(
        0.60,
        "1",
        "share of the available water that may be gone when the crop is mature",
        "UNL CropWatch 22 August 2013: 60 per cent near the end",
    )
    forecast_days: float = setting(
        10.0, "d", "how far ahead a forecast of depletion is graded", "ours"
    )
    pace_days: float = setting(
        21.0, "d", "a crop's pace is read off so many days", "ours, by the demonstration"
    )
    pace_prior_mm: float = setting(
        20.0, "mm", "so much use as reckoned stands behind a pace", "ours"
    )
    part_days: float = setting(
        7.0, "d", "balance and probe are set beside each other over so many days", "ours"
    )
    part_mm: float = setting(
        25.0,
        "mm",
        "balance and probe that part by more within part_days are worth a word",
        "ours: one day in thirty of the demonstration, where nothing is wrong with most",
    )
    soon_days: float = setting(
        5.0, "d", "what happens within so many days is worth a word", "ours"
    )
    answer_rain_mm: float = setting(
        20.0, "mm", "rain of a day that a probe should answer", "common practice, no source"
    )
    answer_days: float = setting(
        3.0, "d", "so long a probe may take to answer rain", "common practice, no source"
    )
    quiet_days: float = setting(
        2.0, "d", "a probe without readings for longer is said to be silent", "ours"
    )
    word_days: float = setting(
        7.0, "d", "a word on the landing page stands for so long", "ours"
    )
