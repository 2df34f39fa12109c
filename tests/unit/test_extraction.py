"""What each layer gave, from uptake written down by hand."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from analytics.contract import TABLES
from analytics.model import Daily, Layer, Season
from analytics.settings import Settings
from analytics.soil.extraction import FAO29_RULE, extraction, quarter_shares

DEPTHS = np.array([15.0, 45.0, 75.0])
LAYERS = tuple(
    Layer(site="p", depth_cm=float(z), top_cm=float(z) - 15, bottom_cm=float(z) + 15)
    for z in DEPTHS
)
MM = 300.0
FIRST = np.datetime64("2021-04-01", "D")
CROP = Season(
    field="f", crop="corn", planted_on=date(2021, 5, 1), harvested_on=date(2021, 7, 9)
)
DAYS = 110
PLANTED = 30


def drawn() -> np.ndarray:
    """3 mm a day at 15 cm on days 10-49 of the crop, 2 at 45 cm on days 20-59, none below."""
    mm = np.zeros((DAYS, 3))
    mm[PLANTED + 10 : PLANTED + 50, 0] = 3.0
    mm[PLANTED + 20 : PLANTED + 60, 1] = 2.0
    return mm


def a_daily(mm: np.ndarray, numbers: np.ndarray | None = None) -> Daily:
    state = 0.35 - np.cumsum(mm, axis=0) / MM
    none = np.zeros(state.shape, dtype=bool)
    one = np.ones(DAYS, dtype=np.int16) if numbers is None else numbers
    return Daily(
        site="p", days=FIRST + np.arange(DAYS), depths_cm=DEPTHS, first=state, last=state,
        low=state, high=state, mean=state, predawn=state, state=state, temp_c=state,
        good=none.astype(np.int32), frozen=none, held=none, placement=one,
    )  # fmt: skip


def an_uptake(mm: np.ndarray) -> pd.DataFrame:
    rows = [
        {"site": "p", "date": pd.Timestamp(FIRST + i), "depth_cm": DEPTHS[j], "mm": mm[i, j],
         "rooted": bool(mm[PLANTED : i + 1, j].any())}
        for i in range(PLANTED, PLANTED + 70) for j in range(3)
    ]  # fmt: skip
    return pd.DataFrame(rows)


def found(mm: np.ndarray, season: Season = CROP, **kw: np.ndarray) -> pd.DataFrame:
    return extraction(a_daily(mm, **kw), an_uptake(mm), LAYERS, (season,), "f", Settings())


def test_what_each_layer_gave() -> None:
    rows = found(drawn())
    assert list(rows) == list(TABLES["extraction"].names)
    assert rows["gave_mm"].to_numpy() == pytest.approx([120.0, 80.0, 0.0], abs=1e-6)
    assert rows["uptake_mm"].to_numpy() == pytest.approx([120.0, 80.0, 0.0])
    assert rows["share"].to_numpy() == pytest.approx([0.6, 0.4, 0.0])
    assert rows["peak_mm_d"].to_numpy()[:2] == pytest.approx([3.0, 2.0])


def test_how_dry_it_was_left_for_five_days() -> None:
    mm = drawn()
    mm[PLANTED + 60, 2], mm[PLANTED + 63, 2] = 30.0, -30.0  # for three days only
    assert found(mm)["driest"].to_numpy() == pytest.approx([-0.05, 0.35 - 80.0 / MM, 0.35])


def test_when_it_was_rooted_and_when_it_stopped() -> None:
    rows = found(drawn())
    first = [f"{one:%Y-%m-%d}" for one in rows["rooted_on"][:2]]
    last = [f"{one:%Y-%m-%d}" for one in rows["stopped_on"][:2]]
    assert first == ["2021-05-11", "2021-05-21"]
    assert last == ["2021-06-19", "2021-06-29"]
    assert pd.isna(rows["rooted_on"][2])
    assert pd.isna(rows["stopped_on"][2])


def test_a_crop_still_drawing_has_not_stopped() -> None:
    mm = drawn()
    mm[PLANTED + 50 :, 0] = 3.0
    growing = Season(field="f", crop="corn", planted_on=date(2021, 5, 1))
    rows = found(mm, growing)
    assert pd.isna(rows["stopped_on"][0])
    assert pd.notna(rows["stopped_on"][1])
    assert rows["harvested_on"].isna().all()


def test_one_wild_day_is_no_peak() -> None:
    mm = drawn()
    mm[PLANTED + 30, 0] = 12.0
    assert found(mm)["peak_mm_d"][0] == pytest.approx(3.0)


def test_nothing_is_given_across_a_new_hole() -> None:
    numbers = np.where(np.arange(DAYS) < PLANTED + 40, 1, 2).astype(np.int16)
    rows = found(drawn(), numbers=numbers)
    # ten days of 3 mm in the new hole: the value kept for the first five, less that at the end
    assert rows["gave_mm"][0] == pytest.approx(15.0)


def test_a_daily_record_knows_only_what_was_given() -> None:
    none = an_uptake(drawn()).iloc[:0]
    rows = extraction(a_daily(drawn()), none, LAYERS, (CROP,), "f", Settings())
    assert rows["gave_mm"].to_numpy() == pytest.approx([120.0, 80.0, 0.0], abs=1e-6)
    assert rows[["uptake_mm", "share", "peak_mm_d"]].isna().all(axis=None)


def test_a_season_before_the_record_has_no_row() -> None:
    early = Season(field="f", crop="corn", planted_on=date(2019, 5, 1),
                   harvested_on=date(2019, 9, 1))  # fmt: skip
    assert found(drawn(), early).empty


def test_quarters_of_the_root_zone_stand_beside_the_rule() -> None:
    assert FAO29_RULE == (0.4, 0.3, 0.2, 0.1)  # FAO-56, p. 180
    rows = pd.DataFrame({
        "top_cm": [0.0, 30.0, 60.0, 90.0], "bottom_cm": [30.0, 60.0, 90.0, 120.0],
        "uptake_mm": [40.0, 30.0, 20.0, 10.0],
        "rooted_on": pd.Timestamp("2021-06-01")})  # fmt: skip
    assert quarter_shares(rows) == pytest.approx(FAO29_RULE)


def test_a_layer_is_shared_among_the_quarters_it_covers() -> None:
    rows = pd.DataFrame({
        "top_cm": [0.0, 30.0, 60.0], "bottom_cm": [30.0, 60.0, 90.0],
        "uptake_mm": [60.0, 30.0, 10.0],
        "rooted_on": [pd.Timestamp("2021-06-01")] * 2 + [pd.NaT]})  # fmt: skip
    assert quarter_shares(rows) == pytest.approx((1 / 3, 1 / 3, 1 / 6, 1 / 6))
    assert quarter_shares(rows.assign(uptake_mm=0.0)) is None
    assert quarter_shares(rows.iloc[2:]) is None


def test_each_layer_knows_its_quarter() -> None:
    rows = found(drawn())  # rooted to 60 cm: quarters of 15 cm, middles at 15 and 45
    assert rows["quarter"].tolist()[:2] == [2, 4]
    assert pd.isna(rows["quarter"][2])
