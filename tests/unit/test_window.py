"""When a probe can go into the ground; dates worked out by hand."""

from datetime import date

import pytest

from analytics.model import Season
from analytics.water.window import Window, installation_window

# Medians: freezes on 10 December, thaws on 25 February.
WINTERS = [
    (date(2022, 12, 1), date(2023, 2, 20)),
    (date(2023, 12, 10), date(2024, 2, 25)),
    (date(2024, 12, 20), date(2025, 3, 5)),
]
USUAL = {"wheat": (6, 25), "corn": (10, 1)}


def season(crop: str, planted: date, harvested: date | None = None) -> Season:
    return Season(field="f", crop=crop, planted_on=planted, harvested_on=harvested)


CORN_OVER = season("corn", date(2025, 5, 1), date(2025, 10, 1))
CORN_NEXT = season("corn", date(2026, 5, 1))
WHEAT = season("wheat", date(2025, 10, 5))


@pytest.mark.parametrize(
    ("day", "seasons", "expected"),
    [
        # in the frozen season: from the day after the usual thaw to the day before planting
        (
            date(2026, 2, 1),
            [CORN_OVER, CORN_NEXT],
            (date(2026, 2, 26), date(2026, 4, 30), True),
        ),
        # unfrozen, no crop, planting known: nothing is a guess
        (
            date(2026, 3, 10),
            [CORN_OVER, CORN_NEXT],
            (date(2026, 3, 10), date(2026, 4, 30), False),
        ),
        # wheat stands: after its usual harvest, until the usual frost
        (date(2026, 2, 1), [WHEAT], (date(2026, 6, 26), date(2026, 12, 9), True)),
        # corn stands to 1 October by its usual date; frost on 10 December
        (date(2026, 7, 1), [CORN_NEXT], (date(2026, 10, 2), date(2026, 12, 9), True)),
        # just before Christmas: frozen until the next year's thaw
        (date(2025, 12, 20), [CORN_OVER], (date(2026, 2, 26), date(2026, 12, 9), True)),
    ],
)
def test_next_window(day: date, seasons: list[Season], expected: tuple) -> None:
    opens, closes, about = expected
    found = installation_window(day, seasons, WINTERS, USUAL, month=7)
    assert found == Window(opens=opens, closes=closes, about=about)


def test_without_frost_on_record_only_crops_count() -> None:
    found = installation_window(date(2026, 2, 1), [CORN_OVER], [], USUAL, month=7)
    assert found == Window(opens=date(2026, 2, 1), closes=None, about=False)


def test_a_stretch_that_is_frozen_throughout_is_passed_over() -> None:
    early = season("oats", date(2026, 2, 20), date(2026, 7, 1))
    found = installation_window(date(2026, 1, 5), [CORN_OVER, early], WINTERS, USUAL, month=7)
    assert found == Window(opens=date(2026, 7, 2), closes=date(2026, 12, 9), about=True)


def test_a_mild_site_freezes_only_after_new_year() -> None:
    mild = [(date(year, 1, 5), date(year, 1, 20)) for year in (2023, 2024, 2025)]
    found = installation_window(date(2026, 1, 10), [CORN_OVER], mild, USUAL, month=7)
    assert found == Window(opens=date(2026, 1, 21), closes=date(2027, 1, 4), about=True)


def test_a_crop_without_a_usual_harvest_stands_until_the_year_ends() -> None:
    found = installation_window(
        date(2025, 6, 1), [season("teff", date(2025, 5, 20))], [], USUAL, month=7
    )
    assert found == Window(opens=date(2026, 1, 1), closes=None, about=True)


def test_south_of_the_equator_winter_lies_within_the_year() -> None:
    """Medians: day 166 and 226 of a leap year, 16 June and 15 August of others."""
    winters = [
        (date(2023, 6, 10), date(2023, 8, 10)),
        (date(2024, 6, 15), date(2024, 8, 14)),
        (date(2025, 6, 20), date(2025, 8, 20)),
    ]
    found = installation_window(date(2026, 7, 1), [], winters, {}, month=1)
    assert found == Window(opens=date(2026, 8, 16), closes=date(2027, 6, 15), about=True)
    found = installation_window(date(2026, 5, 1), [], winters, {}, month=1)
    assert found == Window(opens=date(2026, 5, 1), closes=date(2026, 6, 15), about=True)


def test_a_frost_in_the_month_that_parts_winters_begins_the_next() -> None:
    winters = [(date(year, 6, 10), date(year, 8, 10)) for year in (2023, 2024, 2025)]
    found = installation_window(date(2026, 7, 1), [], winters, {}, month=6)
    assert found == Window(opens=date(2026, 8, 11), closes=date(2027, 6, 9), about=True)
