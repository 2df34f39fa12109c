"""When a source keeps up with a crop: by hand, and against a search day by day."""

from datetime import date

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from analytics.contract import TABLES
from analytics.settings import Settings
from analytics.water.season import (
    Opening,
    Season,
    run_days,
    season_tables,
    water_dates,
    weekly_mean,
)

DEMAND = arrays(float, st.integers(1, 60), elements=st.floats(0, 12))
SETTINGS = Settings()


@given(DEMAND, st.floats(0, 12))
def test_outside_the_weeks_to_run_the_source_keeps_up(demand, capacity: float) -> None:
    found = run_days(demand, capacity, np.ones(len(demand), bool))
    short = [day for day, mm in enumerate(demand) if mm > capacity]
    assert found == ((short[0], short[-1]) if short else None)


@given(DEMAND, st.floats(0, 12), st.floats(0, 3))
def test_more_capacity_never_lengthens_the_weeks_to_run(
    demand, capacity: float, more: float
) -> None:
    always = np.ones(len(demand), bool)
    before = run_days(demand, capacity, always)
    after = run_days(demand, capacity + more, always)
    if after is not None:
        assert before is not None
        assert before[0] <= after[0] <= after[1] <= before[1]


@given(DEMAND, st.floats(0, 12), st.integers(0, 59), st.integers(0, 59))
def test_nobody_runs_while_the_source_has_no_water(
    demand, capacity: float, first: int, last: int
) -> None:
    rows = np.arange(len(demand))
    found = run_days(demand, capacity, (rows >= first) & (rows <= last))
    short = [day for day in rows[first : last + 1] if demand[day] > capacity]
    assert found == ((short[0], short[-1]) if short else None)


def test_a_date_of_a_source_speaks_of_its_own_year_alone() -> None:
    days = np.array(["2025-01-01", "2025-12-31", "2026-01-01", "2026-03-23", "2026-03-24",
                     "2026-10-15", "2026-10-16", "2026-12-31", "2027-01-01"],
                    "datetime64[D]")  # fmt: skip
    dated = Opening(date(2026, 3, 24), date(2026, 10, 15)).on(days)
    assert dated.tolist() == [True, True, False, False, True, True, False, False, True]
    assert Opening().on(days).all()


def test_a_source_s_year_may_begin_in_july() -> None:
    days = np.array(["2025-12-30", "2026-04-30", "2026-05-01", "2026-06-30", "2026-07-01",
                     "2026-08-14", "2026-08-15", "2027-06-30"], "datetime64[D]")  # fmt: skip
    dated = Opening(date(2026, 8, 15), date(2026, 4, 30), 7).on(days)
    assert dated.tolist() == [True, True, False, False, False, False, True, True]
    cut = water_dates(np.arange("2025-10-10", "2026-05-20", dtype="datetime64[D]"),
                      Opening(date(2026, 8, 15), date(2026, 4, 30), 7))  # fmt: skip
    assert cut == Opening(None, date(2026, 4, 30), 7)


def test_a_crop_that_winters_runs_after_the_gap_that_its_source_leaves() -> None:
    water = np.array([True, True, False, False, True, True])
    assert run_days(np.full(6, 5.0), 3.0, water) == (4, 5)


def test_a_week_is_the_mean_of_seven_days_and_of_fewer_at_the_ends() -> None:
    days = np.array([[0.0, 7.0, 0.0, 0.0, 0.0, 0.0, 0.0, 14.0]])
    week = weekly_mean(days)[0]
    assert week[3] == pytest.approx(1.0)  # 7 / 7
    assert week[4] == pytest.approx(3.0)  # (7 + 14) / 7
    assert week[0] == pytest.approx(7 / 4)  # the first four days
    assert week[7] == pytest.approx(14 / 4)


def season(capacity: float, **other) -> Season:
    """Demand rises from nought to 10 mm and falls again over 101 days, the same every year."""
    ramp = np.concatenate([np.arange(50), [50], np.arange(50)[::-1]]) / 5.0
    given_ = {"field": "f", "source": "w", "crop": "corn", "planting": date(2025, 4, 30),
              "crop_mm": np.tile(ramp, (9, 1)), "bank_mm": 80.0}  # fmt: skip
    return Season(capacity_mm_d=capacity, **{**given_, **other})


def test_windows_by_hand() -> None:
    # the week's mean is above 6 mm a day from row 31 (6.2) to row 69
    windows, demand = season_tables([season(6.0)], SETTINGS)
    row = windows.iloc[0]
    first = pd.Timestamp("2025-05-01")  # the day after planting
    assert row["run_from"] == first + pd.Timedelta(days=31)
    assert row["run_until"] == first + pd.Timedelta(days=69)
    assert row["peak_on"] == first + pd.Timedelta(days=50)
    assert row["ends_on"] == first + pd.Timedelta(days=100)
    assert row["bank_mm"] == 80.0
    assert row["years"] == 9
    assert len(demand) == 101
    ordered = demand[["low_mm_d", "middle_mm_d", "high_mm_d"]].to_numpy()
    assert (np.diff(ordered, axis=1) >= 0).all()


def test_the_weeks_to_run_lie_within_those_with_water() -> None:
    opening = Opening(date(2025, 6, 10), date(2025, 7, 1))  # rows 40 to 61
    windows, _ = season_tables([season(6.0, opening=opening)], SETTINGS)
    row = windows.iloc[0]
    assert row["run_from"] == row["water_from"] == pd.Timestamp(2025, 6, 10)
    assert row["run_until"] == row["water_until"] == pd.Timestamp(2025, 7, 1)


def test_dates_that_leave_the_season_whole_are_not_told() -> None:
    last_year = Opening(date(2024, 6, 10), date(2024, 7, 1))
    wide = Opening(date(2025, 3, 1), date(2025, 10, 1))
    rows, _ = season_tables([season(6.0, opening=one) for one in (last_year, wide)], SETTINGS)
    assert rows[["water_from", "water_until"]].isna().all(axis=None)
    assert (rows["run_until"] == pd.Timestamp("2025-05-01") + pd.Timedelta(days=69)).all()


def test_a_source_shut_all_season_leaves_its_date() -> None:
    shut = Opening(last=date(2025, 4, 1))
    row = season_tables([season(6.0, opening=shut)], SETTINGS)[0].iloc[0]
    assert pd.isna(row["run_from"])
    assert row["water_until"] == pd.Timestamp(2025, 4, 1)


@pytest.mark.parametrize("capacity", [20.0, float("nan")])
def test_nothing_to_run_through_where_the_source_keeps_up_or_there_is_none(
    capacity: float,
) -> None:
    windows, _ = season_tables([season(capacity)], SETTINGS)
    assert windows[["run_from", "run_until"]].isna().all(axis=None)


def test_the_tables_are_those_of_the_contract() -> None:
    windows, demand = season_tables([season(6.0)], SETTINGS)
    assert list(windows.columns) == list(TABLES["season_windows"].names)
    assert list(demand.columns) == list(TABLES["season_demand"].names)
    assert all(one.empty for one in season_tables([], SETTINGS))
