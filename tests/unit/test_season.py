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
from analytics.water.season import Season, run_days, season_tables, weekly_mean

DEMAND = arrays(float, st.integers(1, 60), elements=st.floats(0, 12))
SETTINGS = Settings()


@given(DEMAND, st.floats(0, 12))
def test_outside_the_weeks_to_run_the_source_keeps_up(demand, capacity: float) -> None:
    found = run_days(demand, capacity)
    short = [day for day, mm in enumerate(demand) if mm > capacity]
    assert found == ((short[0], short[-1]) if short else None)


@given(DEMAND, st.floats(0, 12), st.floats(0, 3))
def test_more_capacity_never_lengthens_the_weeks_to_run(
    demand, capacity: float, more: float
) -> None:
    before, after = run_days(demand, capacity), run_days(demand, capacity + more)
    if after is not None:
        assert before is not None
        assert before[0] <= after[0] <= after[1] <= before[1]


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
