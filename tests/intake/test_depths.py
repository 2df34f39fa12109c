"""Depths of a file beside those that a site is known for."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.intake.depths import renamed_cm, settled
from analytics.model import Delivery, Record

DEPTHS_CM = st.lists(
    st.integers(1, 80).map(lambda half: half / 2), min_size=1, max_size=12, unique=True
).map(sorted)


@pytest.mark.parametrize(
    ("said_cm", "known_cm", "meant"),
    [
        ([15.24, 30.48], [15.0, 30.0], {15.24: 15.0, 30.48: 30.0}),
        ([15.24], [15.0, 15.24], {}),  # it is known as it stands
        ([15.24, 35.56], [15.0, 30.0], {15.24: 15.0}),
        ([15.0], [14.0, 16.0], {}),  # either could be meant
        ([14.5, 15.5], [15.0], {}),  # both cannot be
        ([16.5], [15.0], {16.5: 15.0}),
        ([16.6], [15.0], {}),
    ],
)
def test_a_depth_is_a_known_one_only_where_no_other_can_be_meant(
    said_cm: list[float], known_cm: list[float], meant: dict[float, float]
) -> None:
    assert renamed_cm(np.array(said_cm), np.array(known_cm)) == meant


@given(said_cm=DEPTHS_CM, known_cm=DEPTHS_CM)
def test_sensors_stay_apart_and_in_order(said_cm: list[float], known_cm: list[float]) -> None:
    meant = renamed_cm(np.array(said_cm), np.array(known_cm))
    assert (np.diff([meant.get(one, one) for one in said_cm]) > 0).all()


def test_values_that_a_file_contradicts_itself_move_with_their_sensor() -> None:
    one = Record(
        site="p1", times=np.array(["2024-01-01"], "datetime64[us]"),
        depths_cm=np.array([15.24]), theta=np.array([[0.2]]), temp_c=np.array([[np.nan]]),
    )  # fmt: skip
    replaced = pd.DataFrame({"site": ["p1"], "depth_cm": [15.24], "vwc": [0.3]})
    told = Delivery(path="a", kind="readings", sha256="x", readings=(one,), replaced=replaced)
    meant = settled(told, {"p1": np.array([15.0])})
    assert meant.readings[0].depths_cm.tolist() == [15.0]
    assert meant.replaced["depth_cm"].tolist() == [15.0]
