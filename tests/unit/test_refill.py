"""Refill points from uptake whose break is put there by hand."""

from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analytics.model import Daily, Layer, Season
from analytics.settings import Settings
from analytics.soil.points import BY_TABLE_22
from analytics.soil.refill import broken_stick, refill_fits, with_fitted_refill

SETTINGS = Settings()
BREAK, LOWER, FULL = 0.22, 0.14, 0.32
LAYER = Layer(site="p", depth_cm=45.0, top_cm=30.0, bottom_cm=60.0)
SEASONS = tuple(
    Season(field="f", crop="corn", planted_on=date(y, 5, 1), harvested_on=date(y, 10, 1))
    for y in (2020, 2021)
)
DAYS = np.arange(np.datetime64("2020-01-01", "D"), np.datetime64("2021-12-31", "D"))


def relative(theta: np.ndarray) -> np.ndarray:
    """Uptake over demand: level above the break, straight to nought at LOWER below it."""
    return 0.5 * np.clip((theta - LOWER) / (BREAK - LOWER), 0.0, 1.0)


@pytest.mark.parametrize("seed", range(5))
def test_a_known_break_is_found(seed: int) -> None:
    rng = np.random.default_rng(seed)
    theta = np.linspace(FULL, LOWER + 0.01, 60)
    found = broken_stick(theta, relative(theta) + rng.normal(0.0, 0.03, 60), SETTINGS)
    assert found is not None
    assert found.at == pytest.approx(BREAK, abs=0.012)
    assert found.below == pytest.approx(0.5 / (BREAK - LOWER), rel=0.25)
    assert abs(found.above) < 0.15 * found.below
    assert found.gain >= SETTINGS.refill_bic


@pytest.mark.parametrize("seed", range(5))
def test_one_line_is_not_broken(seed: int) -> None:
    rng = np.random.default_rng(seed)
    theta = np.linspace(FULL, LOWER, 60)
    noise = rng.normal(0.0, 0.03, 60)
    assert broken_stick(theta, 3.0 * (theta - LOWER) + noise, SETTINGS) is None
    assert broken_stick(theta, 0.5 + noise, SETTINGS) is None


def test_uptake_that_falls_as_the_layer_is_wetter_is_no_refill_point() -> None:
    theta = np.linspace(FULL, LOWER, 60)
    assert broken_stick(theta, 0.5 - relative(theta), SETTINGS) is None


def test_few_days_or_a_layer_that_hardly_moves_tell_nothing() -> None:
    theta = np.linspace(FULL, LOWER, 20)
    assert broken_stick(theta, relative(theta), SETTINGS) is None
    still = np.full(60, 0.2)
    assert broken_stick(still, relative(still), SETTINGS) is None


def a_site(noise: float = 0.02) -> tuple[pd.DataFrame, Daily, np.ndarray]:
    stamps = pd.DatetimeIndex(DAYS)
    into = stamps.day_of_year.to_numpy() - 122
    theta = np.where((into >= 0) & (into <= 153), FULL - 0.00096 * into, FULL)[:, None]
    demand = 6.0 + 2.0 * np.sin(np.arange(len(DAYS)))  # mm
    rng = np.random.default_rng(6)
    mm = (relative(theta[:, 0]) + rng.normal(0.0, noise, len(DAYS))) * demand
    none = np.zeros(theta.shape, dtype=bool)
    daily = Daily(
        site="p", days=DAYS, depths_cm=np.array([45.0]), first=theta, last=theta, low=theta,
        high=theta, mean=theta, predawn=theta, state=theta, temp_c=theta,
        good=none.astype(np.int32), frozen=none, held=none,
        placement=np.ones(len(DAYS), dtype=np.int16),
    )  # fmt: skip
    uptake = pd.DataFrame({"site": "p", "date": stamps, "depth_cm": 45.0, "mm": mm,
                           "rooted": (into >= 40) & (into <= 153)})  # fmt: skip
    return uptake, daily, demand


def test_each_season_has_its_fit() -> None:
    fits = refill_fits(*a_site(), (LAYER,), SEASONS, SETTINGS)
    assert fits["value"].to_numpy() == pytest.approx([BREAK, BREAK], abs=0.012)
    assert set(fits["kind"]) == {"uptake"}
    assert set(fits["point"]) == {"refill"}
    assert [one.year for one in fits["on"]] == [2020, 2021]


def test_without_weather_there_is_no_fit() -> None:
    uptake, daily, demand = a_site()
    unknown = np.full(len(demand), np.nan)
    assert refill_fits(uptake, daily, unknown, (LAYER,), SEASONS, SETTINGS).empty
    assert refill_fits(uptake.iloc[:0], daily, demand, (LAYER,), SEASONS, SETTINGS).empty


def limits(reason: str = f"full less 0.55 {BY_TABLE_22}") -> pd.DataFrame:
    values = {"full": FULL, "lower": LOWER, "refill": 0.25}
    return pd.DataFrame([
        {"site": "p", "placement": 1, "depth_cm": 45.0, "point": point, "value": value,
         "sd": 0.02, "state": "provisional", "set_by": "record", "wettings": 3,
         "reason": reason if point == "refill" else "drained", "ponded": False,
         "valid_from": pd.Timestamp("2020-01-01")}
        for point, value in values.items()])  # fmt: skip


def refill(frame: pd.DataFrame) -> dict[Any, Any]:
    return frame[frame["point"] == "refill"].to_dict("records")[0]


def fits(*values: float) -> pd.DataFrame:
    return pd.DataFrame({"placement": 1, "depth_cm": 45.0, "value": list(values)})


def test_two_seasons_that_agree_replace_table_22() -> None:
    row = refill(with_fitted_refill(limits(), fits(0.216, 0.224), SETTINGS))
    assert row["value"] == pytest.approx(0.220)
    assert row["state"] == "learned"
    assert row["reason"] == "uptake begins to fall there, in 2 seasons"


@pytest.mark.parametrize(
    "some", [fits(0.22), fits(0.18, 0.26), fits(0.13, 0.135), fits(0.33, 0.335)],
    ids=["one season", "apart", "below lower", "above full"],
)  # fmt: skip
def test_else_table_22_stands(some: pd.DataFrame) -> None:
    assert refill(with_fitted_refill(limits(), some, SETTINGS))["value"] == 0.25


def test_a_given_refill_point_is_left_alone() -> None:
    given = limits("given with the layers")
    assert refill(with_fitted_refill(given, fits(0.216, 0.224), SETTINGS))["value"] == 0.25
