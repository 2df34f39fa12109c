"""The sentence that says, foot by foot, what is full and what is short."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.units import CM_PER_FOOT
from dashboard.words.by_foot import Held, foot_by_foot, steps_of

COTTON, CORN = ("the 2023 cotton", 2023.0), ("the 2024 corn", 2024.0)


def feet(*shorts: float | None, since: tuple = COTTON, size: float = CM_PER_FOOT) -> list[Held]:
    """Make one layer a foot with 50 mm of room."""
    return [
        Held(top_cm=i * size, bottom_cm=(i + 1) * size, short_mm=one,
             room_mm=None if one is None else 50.0, since=since[0], order=since[1])
        for i, one in enumerate(shorts)
    ]  # fmt: skip


INCHES = {
    "as the issue has it": (
        feet(0, 0, 0, 26.0, 27.34),
        (
            "Three feet are full; the fourth and fifth are 2.1 in short and have not been full "
            "since the 2023 cotton."
        ),
    ),
    "all full": (feet(0, 0, 0, 0), "All four feet are full."),
    "all full but a little": (feet(5, 5, 0, 0), "All four feet are full but for 0.4 in."),
    "both full": (feet(0, 0), "Both feet are full."),
    "all dry": (
        feet(50, 50, 50, 50),
        (
            "Not one of the four feet is full: together they are 7.9 in short and have not "
            "been full since the 2023 cotton."
        ),
    ),
    "middle dry": (
        feet(0, 40, 0),
        (
            "The first and third feet are full; the second is 1.6 in short and has not been "
            "full since the 2023 cotton."
        ),
    ),
    "one in the middle full": (
        feet(40, 0, 40),
        (
            "The second foot is full; the first and third are 3.1 in short and have not been "
            "full since the 2023 cotton."
        ),
    ),
    "short, and not known": (
        feet(40, None),
        (
            "The first foot is 1.6 in short and has not been full since the 2023 cotton; what "
            "the second holds is not known."
        ),
    ),
    "one foot": (
        feet(40), "The one foot is 1.6 in short and has not been full since the 2023 cotton."
    ),
    "deepest not known": (
        feet(0, 40, None),
        (
            "One foot is full; the second is 1.6 in short and has not been full since the 2023 "
            "cotton; what the third holds is not known."
        ),
    ),
    "nothing known": (feet(None, None), "What the soil holds is not known."),
    "never seen full": (
        feet(0, 40, since=(None, float("-inf"))),
        "One foot is full; the second is 1.6 in short and has never been seen full.",
    ),
    "many never seen full": (
        feet(40, 40, 40, 40, since=(None, float("-inf"))),
        (
            "Not one of the four feet is full: together they are 6.3 in short and none of them "
            "has ever been seen full."
        ),
    ),
    "two never seen full": (
        feet(40, 40, since=(None, float("-inf"))),
        (
            "Neither foot is full: both together are 3.1 in short and neither has ever been "
            "seen full."
        ),
    ),
    "part full longer ago": (
        [*feet(0, 40, since=CORN), *feet(0, 0, 40)[2:]],
        (
            "One foot is full; the second and third are 3.1 in short; the third has not been "
            "full since the 2023 cotton."
        ),
    ),
    "no layers": ([], ""),
}  # fmt: skip


@pytest.mark.parametrize("case", INCHES)
def test_feet_and_inches(case: str) -> None:
    layers, said = INCHES[case]
    assert foot_by_foot(layers, "in") == said


METRIC = {
    "top full": (
        feet(0, 0, 40, 40, size=30),
        (
            "0 to 60 cm is full; 60 to 120 cm is 80 mm short and has not been full since the "
            "2023 cotton."
        ),
    ),
    "apart": (
        feet(0, 40, 0, 40, size=30),
        (
            "0 to 30 and 60 to 90 cm is full; 30 to 60 and 90 to 120 cm is 80 mm short and has "
            "not been full since the 2023 cotton."
        ),
    ),
    "all full": (feet(0, 0, size=30), "0 to 60 cm is full."),
    "not known": (
        feet(0, None, size=30),
        "0 to 30 cm is full; what 30 to 60 cm holds is not known.",
    ),
    "all dry": (
        feet(40, 40, size=30),
        "0 to 60 cm is 80 mm short and has not been full since the 2023 cotton.",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", METRIC)
def test_centimetres_and_millimetres(case: str) -> None:
    layers, said = METRIC[case]
    assert foot_by_foot(layers, "mm") == said


def test_a_step_without_the_middle_of_a_layer_goes_by_the_one_that_fills_most_of_it() -> None:
    layers = [
        Held(top_cm=0, bottom_cm=90, short_mm=0, room_mm=90, since="x", order=3),
        Held(top_cm=90, bottom_cm=136, short_mm=30, room_mm=46, since="the 2024 corn", order=2),
    ]
    last = steps_of(layers, "mm")[-1]
    assert (last.top_cm, last.since) == (120, "the 2024 corn")  # though its middle is at 113
    assert "never" not in foot_by_foot(layers, "mm")


def test_layers_that_cross_a_foot_are_shared_by_thickness() -> None:
    layers = [
        Held(top_cm=0, bottom_cm=20, short_mm=0, room_mm=30, since="x", order=1),
        Held(top_cm=20, bottom_cm=40.96, short_mm=20.96, room_mm=30, since="x", order=1),
        Held(top_cm=40.96, bottom_cm=60.96, short_mm=20, room_mm=30, since="x", order=1),
    ]
    one, two = steps_of(layers, "in")
    assert one.short_mm == pytest.approx(10.48)
    assert two.short_mm == pytest.approx(30.48)


@pytest.mark.parametrize(
    ("reach_cm", "count"), [(10, 1), (121.92, 4), (134.6, 4), (137, 4), (137.5, 5), (152.4, 5)]
)
def test_a_foot_read_for_less_than_half_is_none_of_its_own(reach_cm: float, count: int) -> None:
    layers = [Held(top_cm=0, bottom_cm=reach_cm, short_mm=40, room_mm=50)]
    steps = steps_of(layers, "in")
    assert len(steps) == count
    assert steps[-1].bottom_cm == reach_cm, "what is left is counted with the foot above it"


@given(st.lists(st.floats(0, 50), min_size=1, max_size=9), st.sampled_from([10.0, 15.0, 30.0]))
@settings(max_examples=50, deadline=None)
def test_no_water_is_lost_between_feet(shorts: list[float], size: float) -> None:
    for system in ("in", "mm"):
        steps = steps_of(feet(*shorts, size=size), system)
        assert sum(one.short_mm for one in steps) == pytest.approx(sum(shorts))
        assert [one.number for one in steps] == [*range(1, len(steps) + 1)]
        assert foot_by_foot(feet(*shorts, size=size), system).endswith(".")
