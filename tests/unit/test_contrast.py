"""The pairs shown to a room differ for sure, and on like points."""

import pandas as pd

from analytics.water.contrast import contrasts


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
