"""What is read is kept for all sessions: what one does to its frames no other one meets."""

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pandas as pd
import pytest
from pandas.testing import assert_frame_equal

from dashboard import data
from dashboard.data import Store, layer_points, opened

SITE = "TF02"
READ: dict[str, Callable[[Store, str], pd.DataFrame]] = {
    "fields": lambda store, _: data.fields(store),
    "landmarks": lambda store, _: data.landmarks(store),
    "going in": lambda store, day: data.going_in(store, day, "profile"),
    "layers": data.layers,
    "tally": lambda store, day: data.tally(store, SITE, day),
    "order": lambda store, _: data.whole(store, "order"),
    "full points": lambda store, _: layer_points.full_points(store),
}


@pytest.mark.parametrize("name", READ)
def test_a_frame_changed_by_one_is_whole_for_the_next(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.setenv("OVERWINTER_STORE", str(demo_store))
    store = opened()
    day = data.dates(store)[0]
    given = READ[name](store, day)
    before = given.copy(deep=True)
    assert len(before) > 1
    for column in given:
        with suppress(ValueError):  # most arrays out of a frame are read-only
            into = given[column].to_numpy(copy=False)
            into[0] = into[-1]
    for column in given.columns.drop("geometry", errors="ignore"):
        given.loc[given.index[0], column] = given[column].iloc[-1]
    given["made up"] = 1  # a column of one's own
    assert_frame_equal(READ[name](store, day), before)
