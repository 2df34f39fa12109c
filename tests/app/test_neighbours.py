"""The Neighbours page on the demonstration, and which fields it sets beside one."""

from pathlib import Path

import pandas as pd
import pytest
from streamlit.testing.v1 import AppTest

import dashboard
from analytics.store import people
from dashboard.data import opened
from dashboard.data.received import received
from dashboard.views.parts.neighbours_gathered import nearest

APP = str(Path(dashboard.__file__).with_name("app.py"))


@pytest.mark.parametrize("beside", ["Nearest", "Same last crop"])
def test_fields_are_set_beside_one(demo_store, monkeypatch, beside) -> None:
    monkeypatch.setenv("OVERWINTER_STORE", str(demo_store))
    app = AppTest.from_file(APP, default_timeout=60)
    app.query_params["field"], app.query_params["beside"] = "Corrie 12", beside
    app.run()
    app.switch_page("views/neighbours.py").run()
    assert not app.exception, app.exception
    told = "\n".join(one.proto.body for one in app.get("html"))
    assert "Below 3 feet, Corrie 12 " in told
    assert told.count("<figure>") == 6
    assert " mi away" in told
    for word in ("NaN", "None", "nan"):
        assert f">{word}" not in told


def test_the_nearest_come_first_and_what_is_not_said_is_shared_with_nobody() -> None:
    every = pd.DataFrame({
        "field": list("abcde"), "name": list("abcde"), "km": [0, 3, 1, 2, None],
        "site": ["A", "B", "C", None, "E"], "soil": ["loam", "loam", "clay", "loam", "loam"],
        "source": [None] * 5, "last_crop": ["corn"] * 5,
    })  # fmt: skip
    mine = every.iloc[0]
    assert list(nearest(every, mine, "near")["field"]) == ["c", "b", "e"]
    assert list(nearest(every, mine, "soil")["field"]) == ["b", "e"]
    assert nearest(every, mine, "source").empty


def test_what_fell_and_was_put_on_is_what_the_tally_received(demo_store, monkeypatch) -> None:
    monkeypatch.setenv("OVERWINTER_STORE", str(demo_store))
    store = opened()
    had = received(store, f"{store.as_of}").set_index("field")
    tally = people.table(demo_store, "tally")
    bare = tally[tally["depth_cm"].isna() & tally["open"] & ~tally["standing"]]
    bare = bare[pd.to_datetime(bare["to"]) == pd.Timestamp(str(store.as_of))]
    want = bare.dropna(subset=["received_mm"]).set_index("field")["received_mm"]
    mm = had["fell_mm"] + had["since_mm"].fillna(0)
    assert len(want) > 20
    assert mm[want.index].to_numpy() == pytest.approx(want.to_numpy(), abs=0.01)
