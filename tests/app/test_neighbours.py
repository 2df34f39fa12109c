"""The Neighbours page on the demonstration, and which fields it sets beside one."""

from pathlib import Path

import pandas as pd
import pytest
from streamlit.testing.v1 import AppTest

import dashboard
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
