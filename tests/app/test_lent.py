"""What is read is kept for all sessions: what one does to its frames no other one meets."""

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pandas as pd
import pytest
from pandas.testing import assert_frame_equal

from analytics.model import WORDS_APART
from dashboard import data
from dashboard.data import Store, layer_points, opened

SITE, FIELD = "TF02", "lower-dunnet"
READ: dict[str, Callable[[Store, str], pd.DataFrame]] = {
    "fields": lambda store, _: data.fields(store),
    "landmarks": lambda store, _: data.landmarks(store),
    "going in": lambda store, day: data.going_in(store, day, "profile"),
    "layers": data.layers,
    "layers of a site": lambda store, day: data.layers_of(store, SITE, day),
    "zones of a field": lambda store, day: data.zones(store, FIELD, day),
    "tally": lambda store, day: data.tally(store, SITE, day),
    "order": lambda store, _: data.whole(store, "order"),
    "full points": lambda store, _: layer_points.full_points(store),
}


@pytest.mark.parametrize("name", READ)
def test_a_frame_changed_by_one_is_whole_for_the_next(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.setenv("OVERWINTER_STORE", str(demo_store))
    pd.set_option(*WORDS_APART)  # as the app does
    store = opened()
    day = data.dates(store)[0]
    given = READ[name](store, day)
    before = given.copy(deep=True)
    assert len(before) > 1
    for column in given:
        if isinstance(given[column].dtype, pd.StringDtype):
            continue  # words lie apart in the app, where pandas does not watch their array
        with suppress(ValueError):  # most arrays out of a frame are read-only
            into = given[column].to_numpy(copy=False)
            into[0] = into[-1]
    for column in given.columns.drop("geometry", errors="ignore"):
        given.loc[given.index[0], column] = given[column].iloc[-1]
    given["made up"] = 1  # a column of one's own
    assert_frame_equal(READ[name](store, day), before)


def test_each_sites_own_rows_are_cut_from_those_of_all(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("OVERWINTER_STORE", str(demo_store))
    store = opened()
    days = data.dates(store)
    for day in days[::120]:
        told = data.whole(store, "readiness")
        near = pd.Timestamp(day) - told["date"]
        told = told[near.between(pd.Timedelta(0), pd.Timedelta(days=data.WINDOW_DAYS))]
        told = told[told["date"] == told.groupby("site")["date"].transform("max")]
        for field, rows in told[told["zone"] != "layer"].groupby("field"):
            own = rows.sort_values(["site", "zone"], ignore_index=True)
            assert_frame_equal(
                data.zones(store, str(field), day).reset_index(drop=True), own[[*rows]]
            )
        for site, rows in told[told["zone"] == "layer"].groupby("site"):
            own = rows.sort_values("depth_cm", ignore_index=True)
            assert_frame_equal(
                data.layers_of(store, str(site), day).reset_index(drop=True), own[[*rows]]
            )
    assert data.zones(store, "no field of ours", days[0]).empty
    assert data.layers_of(store, "no probe of ours", days[0]).empty
