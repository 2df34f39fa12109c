"""Points that a person sets: kept with author and reason, in force until taken back."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analytics.errors import InputRefused
from analytics.model import Record
from analytics.store import people, points, readings
from analytics.store.assessment import assess
from analytics.store.inputs import site_inputs
from analytics.store.points import SetPoint
from analytics.store.statements import query

DAY = date(2024, 1, 5)
FROM = date(2024, 11, 6)  # a day after the point that was given with the layers
DEPTH = 10.0


def assessed(store: Path) -> None:
    with ThreadPoolExecutor(1) as pool:
        assess(store, DAY, pool)


@pytest.fixture
def known(store: Path, record: Callable[..., Record]) -> Path:
    """Give the small store with one probe's readings, assessed."""
    readings.merge(store, record())
    assessed(store)
    return store


def one(**change: object) -> SetPoint:
    plain = SetPoint(site="N1", placement=1, depth_cm=DEPTH, point="full", value=0.33,
                     valid_from=FROM, set_by="A. Ash", reason="cored in March")  # fmt: skip
    return replace(plain, **change)


def limits(store: Path) -> pd.DataFrame:
    return people.table(store, "limits")


def in_force(store: Path, point: str = "full") -> float:
    rows = query(store, "layer_points", site="N1", placement=1, depth_cm=DEPTH)
    return float(rows[point].iloc[0])


def test_a_set_point_is_one_more_version_and_wins(known: Path) -> None:
    before = limits(known)
    (number,) = points.save(known, [one()])
    assessed(known)
    after = limits(known)
    mine = after[(after["depth_cm"] == DEPTH) & (after["set_by"] == "A. Ash")]
    assert set(mine["point"]) >= {"full"}
    full = mine[mine["point"] == "full"].iloc[0]
    assert (full["value"], full["state"], full["reason"]) == (0.33, "set", "cored in March")
    assert in_force(known) == 0.33
    learned = after[after["set_by"] != "A. Ash"]
    pd.testing.assert_frame_equal(learned.reset_index(drop=True), before.reset_index(drop=True))
    assert number == 1


def test_taking_back_restores_everything_exactly(known: Path) -> None:
    before = {name: people.table(known, name) for name in ("limits", "readiness", "tally")}
    (number,) = points.save(known, [one()])
    assessed(known)
    assert not people.table(known, "readiness").equals(before["readiness"])
    assert (
        points.take_back(known, number, "B. Birch", "the core was from a wheel track") == "N1"
    )
    assessed(known)
    for name, frame in before.items():
        pd.testing.assert_frame_equal(people.table(known, name), frame)


def test_taking_back_the_newer_brings_the_older_set_point_back(known: Path) -> None:
    points.save(known, [one(value=0.30)])
    (second,) = points.save(known, [one(value=0.35)])
    assessed(known)
    assert in_force(known) == 0.35
    points.take_back(known, second, "A. Ash", "a slip")
    assessed(known)
    assert in_force(known) == 0.30


def test_a_version_that_nobody_saw_is_not_saved_over(known: Path) -> None:
    (first,) = points.save(known, [one(value=0.30, set_by="Ann")], over=0)
    with pytest.raises(InputRefused, match=r"set to 0\.3 m3/m3 by Ann"):
        points.save(known, [one(value=0.35)], over=0)
    assert list(query(known, "show_set_points", site="N1")["value"]) == [0.30]
    (second,) = points.save(known, [one(value=0.35)], over=first)
    points.take_back(known, second, "A. Ash", "a slip")
    with pytest.raises(InputRefused, match="by Ann"):
        points.save(known, [one(value=0.36)], over=second)
    points.take_back(known, first, "A. Ash", "a slip")
    with pytest.raises(InputRefused, match="taken back"):
        points.save(known, [one(value=0.36)], over=first)
    points.save(known, [one(value=0.36)], over=0)


def test_only_the_version_that_holds_is_taken_back(known: Path) -> None:
    (first,) = points.save(known, [one(value=0.30)])
    (second,) = points.save(known, [one(value=0.35)])
    (other,) = points.save(known, [one(point="lower", value=0.11)])
    with pytest.raises(InputRefused, match="a later version holds"):
        points.take_back(known, first, "A. Ash", "a slip")
    assert query(known, "show_set_points", site="N1")["reverted_at"].isna().all()
    for number in (other, second, first):
        points.take_back(known, number, "A. Ash", "a slip")
    assert query(known, "show_set_points", site="N1")["reverted_at"].notna().all()


def test_history_keeps_what_was_taken_back(known: Path) -> None:
    (number,) = points.save(known, [one(pinned=False)])
    points.take_back(known, number, "B. Birch", "wrong layer")
    told = query(known, "show_set_points", site="N1").iloc[0]
    assert (told["id"], told["set_by"], told["reason"]) == (number, "A. Ash", "cored in March")
    assert (told["reverted_by"], told["reverted_why"]) == ("B. Birch", "wrong layer")
    assert not told["pinned"]
    assert told["reverted_at"] >= told["made_at"]
    assert site_inputs(known, "N1", DAY).set_limits.empty


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"set_by": "  "}, "no one is named"),
        ({"reason": ""}, "no reason is given"),
        ({"value": 0.9}, "cannot be"),
        ({"value": float("nan")}, "cannot be"),
        ({"depth_cm": 99.0}, "no such layer"),
        ({"placement": 2}, "no such layer"),
        ({"site": "N9"}, "no such layer"),
        ({"point": "wilting"}, "no such point"),
        ({"value": 0.125}, "from lower to full"),
        ({"point": "refill", "value": 0.6}, "outside the lower and the full point"),
    ],
)
def test_what_cannot_stand_is_refused_and_nothing_is_kept(
    known: Path, change: dict[str, object], said: str
) -> None:
    with pytest.raises(InputRefused, match=said):
        points.save(known, [one(), one(**change)])
    assert query(known, "show_set_points", site="N1").empty


def test_taking_back_needs_author_reason_and_a_version(known: Path) -> None:
    (number,) = points.save(known, [one()])
    for by, why in (("", "x"), ("x", " ")):
        with pytest.raises(InputRefused):
            points.take_back(known, number, by, why)
    points.take_back(known, number, "x", "y")
    with pytest.raises(InputRefused, match="taken back already"):
        points.take_back(known, number, "x", "y")


def test_preview_is_what_saving_brings_and_writes_nothing(known: Path) -> None:
    readiness = people.table(known, "readiness")
    shown = points.preview(known, one(set_by="", reason=""), DAY)
    pd.testing.assert_frame_equal(people.table(known, "readiness"), readiness)
    assert query(known, "show_set_points", site="N1").empty
    assert "N1" not in set(query(known, "touched_sites")["site"])
    points.save(known, [one()])
    assessed(known)
    kept = people.table(known, "readiness")
    kept = kept[kept["date"] == kept["date"].max()]
    for name in ("deficit_mm", "full_mm", "sd_mm", "fill"):
        pairs = zip(
            shown.sort_values(["zone", "depth_cm"])[name],
            kept.sort_values(["zone", "depth_cm"])[name],
            strict=True,
        )
        for a, b in pairs:
            assert a == pytest.approx(b, abs=1e-9, nan_ok=True)


def test_preview_on_top_of_a_set_point_of_the_same_day(known: Path) -> None:
    points.save(known, [one(value=0.30)])
    held = points.with_point(site_inputs(known, "N1", DAY), one(value=0.36)).set_limits
    assert list(held["value"]) == [0.30, 0.36]
    shown = points.preview(known, one(value=0.36), DAY)
    layer = shown[(shown["zone"] == "layer") & np.isclose(shown["depth_cm"], DEPTH)].iloc[0]
    thickness_mm = 10 * (layer["bottom_cm"] - layer["top_cm"])
    assert layer["full_mm"] == pytest.approx(0.36 * thickness_mm)


def test_preview_refuses_what_saving_would_refuse(known: Path) -> None:
    with pytest.raises(InputRefused, match="cannot be"):
        points.preview(known, one(value=0.95), DAY)
