"""Which full points need a person, and which may be accepted at once."""

from dataclasses import replace

import pandas as pd
import pytest

from analytics.settings import Settings
from analytics.units import EIGHT_IN_TEN
from analytics.water.review import reviewed

NONE = pd.DataFrame()
PLAIN = {
    "site": "s1", "placement": 1, "depth_cm": 15.0, "top_cm": 0.0, "bottom_cm": 30.0,
    "value": 0.30, "sd": 0.005, "state": "learned", "recorded": 0.30, "recorded_sd": 0.005,
    "recorded_state": "learned", "set_id": None, "pinned": False,
}  # fmt: skip


def layers(*changes: dict[str, object]) -> pd.DataFrame:
    rows = [{**PLAIN, "site": f"s{i}", **change} for i, change in enumerate(changes, 1)]
    return pd.DataFrame(rows)


def opinions(*rows: tuple[str, str, float, str | None]) -> pd.DataFrame:
    return pd.DataFrame(
        [{"site": site, "placement": 1, "depth_cm": 15.0, "point": "full", "kind": kind,
          "value": value, "on": pd.Timestamp(on) if on else pd.NaT}
         for site, kind, value, on in rows]
    )  # fmt: skip


def drifting(site: str, beyond: bool) -> pd.DataFrame:
    return pd.DataFrame([{"site": site, "placement": 1, "depth_cm": 15.0, "point": "full",
                          "beyond_noise": beyond}])  # fmt: skip


def test_effect_is_the_half_width_over_the_thickness_largest_first() -> None:
    frame = layers({"sd": 0.005}, {"sd": 0.02, "state": "provisional"})
    found = reviewed(frame, NONE, NONE, Settings())
    assert list(found["site"]) == ["s2", "s1"]
    assert found["effect_mm"].iloc[0] == pytest.approx(EIGHT_IN_TEN * 0.02 * 300.0)
    assert list(found["why"]) == ["provisional", ""]


def test_a_small_effect_needs_no_person() -> None:
    frame = layers({"sd": 0.02, "state": "not_yet_seen", "recorded_state": "not_yet_seen"})
    few = replace(Settings(), review_effect_mm=100.0)
    assert reviewed(frame, NONE, NONE, few)["why"].iloc[0] == ""
    assert reviewed(frame, NONE, NONE, Settings())["why"].iloc[0] == "not_yet_seen"


def test_second_opinion_nearest_peak_and_latest_season_speak() -> None:
    told = opinions(
        ("s1", "histogram", 0.20, None), ("s1", "histogram", 0.302, None),
        ("s1", "season", 0.22, "2022-03-01"), ("s1", "season", 0.304, "2024-03-01"),
        ("s2", "season", 0.34, "2024-03-01"), ("s2", "texture", 0.10, None),
    )  # fmt: skip
    found = reviewed(layers({}, {}), told, NONE, Settings()).set_index("site")
    assert found.loc["s1", "apart"] == pytest.approx(0.004)
    assert found.loc["s2", "apart"] == pytest.approx(0.04)
    assert list(found.loc[["s1", "s2"], "why"]) == ["", "apart"]
    assert list(found.loc[["s1", "s2"], "sure"]) == [True, False]
    assert found.loc["s2", "effect_mm"] == pytest.approx(12.0)


def test_drift_beyond_noise_needs_a_person_and_is_not_sure() -> None:
    frame = layers({"sd": 0.008})
    assert reviewed(frame, NONE, drifting("s1", True), Settings())["why"].iloc[0] == "drift"
    assert not reviewed(frame, NONE, drifting("s1", True), Settings())["sure"].iloc[0]
    assert reviewed(frame, NONE, drifting("s1", False), Settings())["sure"].iloc[0]


@pytest.mark.parametrize(
    ("change", "sure"),
    [
        ({}, True),
        ({"recorded_sd": 0.02}, False),
        ({"state": "provisional", "recorded_state": "provisional"}, False),
        ({"state": "set", "set_id": 1.0, "pinned": True}, False),
        ({"state": "set", "set_id": 1.0, "pinned": False}, True),
        (
            {"state": "set", "recorded": None, "recorded_sd": None, "recorded_state": None},
            False,
        ),
    ],
)
def test_only_what_is_learned_narrowly_and_not_pinned_is_sure(
    change: dict[str, object], sure: bool
) -> None:
    assert bool(reviewed(layers(change), NONE, NONE, Settings())["sure"].iloc[0]) is sure


def test_nothing_to_review() -> None:
    assert reviewed(layers({}).head(0), NONE, NONE, Settings()).empty
