"""Trends of the seasons' own estimates: Theil (1950), Sen (1968)."""

import numpy as np
import pandas as pd
import pytest

from analytics.contract import TABLES
from analytics.settings import Settings
from analytics.soil.drift import drift

SETTINGS = Settings()


def estimates(values: list[float], kind: str = "season") -> pd.DataFrame:
    return pd.DataFrame({
        "site": "p", "placement": 1, "depth_cm": 45.0, "point": "full", "value": values,
        "kind": kind, "weight": 3.0,
        "on": pd.to_datetime([f"{2015 + i}-04-01" for i in range(len(values))])})  # fmt: skip


def test_the_slope_is_the_median_of_all_pairs_slopes() -> None:
    # Pairs of (0, .30), (1, .29), (2, .31), (3, .27) a year apart: slopes -.010 .005 -.010
    # .020 -.010 -.040; their median is -.010.
    found = drift(estimates([0.30, 0.29, 0.31, 0.27]), SETTINGS)
    assert list(found) == list(TABLES["drift"].names)
    assert found["slope_per_year"].item() == pytest.approx(-0.010, rel=2e-3)
    assert found["seasons"].item() == 4
    assert found["low"].item() <= -0.010 <= found["high"].item()
    assert not found["beyond_noise"].item()


def test_a_steady_fall_is_beyond_noise() -> None:
    noise = np.random.default_rng(4).normal(0.0, 0.001, 6)
    found = drift(estimates(list(0.33 - 0.008 * np.arange(6) + noise)), SETTINGS)
    assert found["beyond_noise"].item()
    assert found["high"].item() < 0.0
    assert found["slope_per_year"].item() == pytest.approx(-0.008, abs=0.001)


def test_a_sure_but_small_change_is_none() -> None:
    step = 0.9 * SETTINGS.drift_noise * SETTINGS.sensor_sd / 5
    assert not drift(estimates(list(0.3 + step * np.arange(6))), SETTINGS)[
        "beyond_noise"
    ].item()
    more = 1.2 * SETTINGS.drift_noise * SETTINGS.sensor_sd / 5
    assert drift(estimates(list(0.3 + more * np.arange(6))), SETTINGS)["beyond_noise"].item()


def test_three_seasons_are_too_few_and_two_make_no_row() -> None:
    assert not drift(estimates([0.33, 0.30, 0.27]), SETTINGS)["beyond_noise"].item()
    assert drift(estimates([0.33, 0.30]), SETTINGS).empty


def test_only_seasons_count() -> None:
    assert drift(estimates([0.33, 0.30, 0.27, 0.25], "drained"), SETTINGS).empty


def test_noise_alone_is_seldom_called_drift() -> None:
    rng = np.random.default_rng(5)
    called = [
        drift(estimates(list(rng.normal(0.3, SETTINGS.sensor_sd, 6))), SETTINGS)
        for _ in range(60)
    ]
    assert np.mean([one["beyond_noise"].item() for one in called]) <= 0.05
