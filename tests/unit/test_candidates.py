"""What else a point might be, from states laid down by hand."""

from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analytics.contract import TABLES
from analytics.model import Daily, Layer, Placement, Season
from analytics.settings import Settings
from analytics.soil.attractors import attractors
from analytics.soil.candidates import candidates
from analytics.soil.layer_points import counted
from analytics.soil.limits import learn_limits
from analytics.soil.texture import texture_points

DEPTHS = np.array([15.0, 45.0, 75.0])
FULL, LOWER = 0.300, 0.150
LAYERS = tuple(
    Layer(site="p", depth_cm=float(z), top_cm=float(z) - 15, bottom_cm=float(z) + 15,
          texture="silt loam")
    for z in DEPTHS
)  # fmt: skip
FIRST = np.datetime64("2018-01-01", "D")
YEARS = (2018, 2019, 2020)
SEASONS = tuple(
    Season(field="f", crop="corn", planted_on=date(y, 5, 10), harvested_on=date(y, 10, 1))
    for y in YEARS
)
NONE_SET = pd.DataFrame(columns=list(TABLES["limits"].names))


def placement(number: int, start: date, end: date | None = None) -> Placement:
    return Placement(
        site="p", field="f", number=number, latitude=39.0, longitude=-101.0,
        timezone="America/Chicago", installed_on=start, removed_on=end,
    )  # fmt: skip


def states(days: int = 3 * 365) -> np.ndarray:
    """Three wettings each spring that drain to FULL; a crop dries the layers to LOWER."""
    theta = np.full((days, len(DEPTHS)), FULL)
    for day in range(days):
        of_year, wet = day % 365, [30, 60, 90]
        since = min((of_year - one for one in wet if of_year >= one), default=365)
        theta[day] = FULL + (0.06 * np.exp(-since / 2.0) if since < 365 else 0.0)
        if of_year >= 130:
            theta[day] = max(FULL - 0.002 * (of_year - 130), LOWER)
        if of_year > 273:
            theta[day] = LOWER
        if of_year < 30:
            theta[day] = LOWER if day >= 365 else 0.27
    return theta + np.random.default_rng(1).normal(0.0, 0.0005, theta.shape)


def a_daily(state: np.ndarray, numbers: np.ndarray | None = None) -> Daily:
    none = np.zeros(state.shape, dtype=bool)
    one = np.ones(len(state), dtype=np.int16) if numbers is None else numbers
    return Daily(
        site="p", days=FIRST + np.arange(len(state)), depths_cm=DEPTHS, first=state, last=state,
        low=state, high=state, mean=state, predawn=state, state=state,
        temp_c=np.full(state.shape, 8.0), good=np.isfinite(state).astype(np.int32),
        frozen=none, held=none, placement=one,
    )  # fmt: skip


def told(daily: Daily, *placements: Placement) -> pd.DataFrame:
    stays = placements or (placement(1, date(2017, 1, 1)),)
    settings = Settings()
    limits = learn_limits(daily, LAYERS, SEASONS, stays, NONE_SET, settings)
    return candidates(daily, LAYERS, SEASONS, stays, limits, settings)


def of(frame: pd.DataFrame, point: str, kind: str, depth: float = 45.0) -> pd.DataFrame:
    return frame[(frame["point"] == point) & (frame["kind"] == kind)
                 & (frame["depth_cm"] == depth)]  # fmt: skip


def test_columns_are_the_contract_s() -> None:
    assert list(told(a_daily(states()))) == list(TABLES["candidates"].names)


def test_every_wetting_s_drained_value_has_its_date() -> None:
    found = of(told(a_daily(states())), "full", "drained")
    assert len(found) >= 6
    assert found["value"].to_numpy() == pytest.approx(FULL, abs=0.008)
    stamps = pd.DatetimeIndex(found["on"])
    assert ((stamps.day_of_year > 32) & (stamps.day_of_year < 131)).all()


def test_each_season_has_its_own_estimate_of_full_and_lower() -> None:
    found = told(a_daily(states()))
    fulls = of(found, "full", "season")
    assert list(pd.DatetimeIndex(fulls["on"]).year) == list(YEARS)
    assert fulls["value"].to_numpy() == pytest.approx(FULL, abs=0.008)
    lows = of(found, "lower", "season")
    assert [f"{one:%Y-%m-%d}" for one in lows["on"]] == [f"{y}-10-01" for y in YEARS]
    assert lows["value"].to_numpy() == pytest.approx(LOWER, abs=0.003)


def test_histogram_peaks_speak_of_full_and_of_lower() -> None:
    found = told(a_daily(states()))
    for point, value in (("full", FULL), ("lower", LOWER)):
        peaks = of(found, point, "histogram")
        assert np.abs(peaks["value"] - value).min() < 0.004
        assert peaks["on"].isna().all()


def test_texture_stands_beside_for_all_three_points() -> None:
    found = told(a_daily(states()))
    said = texture_points("silt loam")
    assert of(found, "full", "texture")["value"].item() == said.full
    assert of(found, "lower", "texture")["value"].item() == said.lower
    refill = said.full - 0.55 * (said.full - said.lower)  # FAO-56 Table 22, maize
    assert of(found, "refill", "texture")["value"].item() == pytest.approx(refill)


def test_the_placement_before_is_there_for_comparison_only() -> None:
    state = states()
    numbers = np.where(np.arange(len(state)) < 2 * 365, 1, 2).astype(np.int16)
    state[numbers == 2] += 0.04  # another hole
    stays = (placement(1, date(2017, 1, 1), date(2020, 1, 1)), placement(2, date(2020, 1, 1)))
    found = told(a_daily(state, numbers), *stays)
    first, second = (found[found["placement"] == one] for one in (1, 2))
    assert of(first, "full", "previous placement").empty
    before: Any = of(second, "full", "previous placement")["value"].item()
    assert before == pytest.approx(FULL, abs=0.008)
    drained = of(second, "full", "drained")["value"]
    assert (drained > FULL + 0.03).all()


def test_two_heaps_make_two_peaks_at_their_middles() -> None:
    rng = np.random.default_rng(2)
    heaps = np.concatenate([rng.normal(0.16, 0.004, 300), rng.normal(0.31, 0.004, 200)])
    value, days = attractors(heaps, Settings())
    assert value == pytest.approx([0.16, 0.31], abs=0.003)
    assert days == pytest.approx([300, 200])


@pytest.mark.parametrize("theta", [np.empty(0), np.full(100, np.nan), np.full(59, 0.3)])
def test_too_few_days_make_no_peak(theta: np.ndarray) -> None:
    assert len(attractors(theta, Settings())[0]) == 0


def test_a_layer_that_never_moves_has_one_peak() -> None:
    value, days = attractors(np.full(90, 0.25), Settings())
    assert value == pytest.approx([0.25], abs=0.002)
    assert days == pytest.approx([90])


def test_one_is_counted_as_one() -> None:
    assert counted(1, "off-season") == "1 off-season"
    assert counted(2, "off-season") == "2 off-seasons"
