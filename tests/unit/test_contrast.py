"""The pairs shown to a room differ for sure, and on like points."""

from itertools import combinations

import numpy as np
import pandas as pd
from hypothesis import given
from hypothesis import strategies as some

from analytics.water.compare import difference, footing
from analytics.water.contrast import DEPTH_ALIKE_CM, TOP_ALIKE, contrasts


def rows(*told) -> pd.DataFrame:
    names = ["field", "last_crop", "deep_deficit_mm", "sd_mm", "basis", "upper_fill"]
    return pd.DataFrame(told, columns=pd.Index(names)).assign(floor_cm=120.0, growing=False)


def test_the_widest_pair_of_one_crop_is_picked_and_no_field_twice():
    found = contrasts(rows(
        ("a", "corn", 120.0, 3.0, "learned", 0.9), ("b", "corn", 20.0, 3.0, "learned:4", 0.5),
        ("c", "corn", 60.0, 3.0, "learned", 0.9), ("d", "wheat", 10.0, 3.0, "learned", 0.85),
    ))  # fmt: skip
    assert [(one.kind, one.shorter, one.other) for one in found] == [
        ("same crop", "a", "b"), ("same top", "c", "d"),
    ]  # fmt: skip
    assert found[0].apart_mm == 100.0


def test_what_is_not_sure_or_not_alike_is_no_contrast():
    assert not contrasts(rows(
        ("a", "corn", 50.0, 9.0, "learned", 0.9), ("b", "corn", 45.0, 9.0, "learned", 0.9),
        ("c", "corn", 200.0, 3.0, "texture:3", 0.9), ("d", None, None, 3.0, "learned", None),
    ))  # fmt: skip


def test_probes_that_end_at_different_depths_are_no_pair():
    two = rows(
        ("a", "corn", 120.0, 3.0, "learned", 0.9), ("b", "corn", 20.0, 3.0, "learned", 0.9)
    )
    assert contrasts(two)
    standing = pd.array([True, None], dtype="boolean")
    assert not contrasts(two.assign(growing=standing))  # what stands still draws
    assert not contrasts(two.assign(floor_cm=[120.0, 240.0]))


FIELD = some.tuples(
    some.sampled_from(["corn", "wheat", None]),
    some.sampled_from([np.nan, 10.0, 20.0, 40.0, 40.0, 90.0]),
    some.sampled_from([np.nan, 1.0, 9.0]),
    some.sampled_from(["learned", "learned:2;set", "texture:3", "learned;texture"]),
    some.sampled_from([np.nan, 0.5, 0.55, 0.9]),
    some.sampled_from([120.0, 130.0, 200.0, np.nan]),
    some.sampled_from([True, False, None]),
)


@given(some.lists(FIELD, max_size=9))
def test_the_pairs_are_those_that_looking_at_each_one_finds(told) -> None:
    names = [
        "last_crop",
        "deep_deficit_mm",
        "sd_mm",
        "basis",
        "upper_fill",
        "floor_cm",
        "growing",
    ]
    frame = pd.DataFrame(told, columns=pd.Index(names))
    frame = frame.assign(field=[f"f{9 - at}" for at in range(len(told))],
                         growing=frame["growing"].astype("boolean"))  # fmt: skip
    found = [(one.kind, one.shorter, one.other, one.crop, one.apart_mm)
             for one in contrasts(frame, most=4)]  # fmt: skip
    assert found == one_by_one(frame, most=4)


def one_by_one(frame: pd.DataFrame, most: int) -> list[tuple]:
    bare = [row for row in frame.to_dict("records") if row["growing"] is not True]
    every = [one for pair in combinations(bare, 2) for one in kinds_of(*pair)]
    every.sort(key=lambda one: (-one[4], one[1], one[2]))
    picked: list[tuple] = []
    for at in range(most):
        kind = ("same crop", "same top")[at % 2]
        used = {field for one in picked for field in one[1:3]}
        crops = {one[3] for one in picked} if kind == "same crop" else set()
        alike = [one for one in every if one[0] == kind and one[3] not in crops]
        picked += [one for one in alike if not used & {*one[1:3]}][:1]
    return picked


def kinds_of(one: dict, other: dict) -> list[tuple]:
    told = difference(figure(one), figure(other))
    first, second = (one, other) if told.difference_mm > 0 else (other, one)
    if told.verdict not in {"shorter", "less short"}:
        return []
    if not abs(first["floor_cm"] - second["floor_cm"]) <= DEPTH_ALIKE_CM:
        return []
    crop = first["last_crop"] if isinstance(first["last_crop"], str) else ""
    alike = {
        "same crop": crop and crop == second["last_crop"],
        "same top": abs(first["upper_fill"] - second["upper_fill"]) <= TOP_ALIKE,
    }
    about = (first["field"], second["field"], crop, abs(told.difference_mm))
    return [(kind, *about) for kind, holds in alike.items() if holds]


def figure(row: dict):
    states = [one.partition(":")[0] for one in row["basis"].split(";")]
    return row["deep_deficit_mm"], row["sd_mm"], footing(states)
