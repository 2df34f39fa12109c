"""The Neighbours page on the demonstration, and which fields it sets beside one."""

import re

import pandas as pd
import pytest

from analytics.store import people
from dashboard.data import opened
from dashboard.data.received import received
from dashboard.views.parts.neighbours_gathered import nearest
from dashboard.words import neighbours as words
from tests.app.launching import launched, said


@pytest.mark.parametrize("beside", ["Nearest", "Same last crop"])
def test_fields_are_set_beside_one(demo_store, monkeypatch, beside) -> None:
    told = said(launched(demo_store, monkeypatch, "neighbours", field="Corrie 12",
                         beside=beside))  # fmt: skip
    assert "Below 3 feet, Corrie 12 " in told
    assert told.count("<figure>") == 6
    assert " mi away" in told


def test_a_figure_of_a_silent_probe_is_not_ranked_as_if_it_were_of_today(
    demo_store, monkeypatch
) -> None:
    own = said(launched(demo_store, monkeypatch, "neighbours", field="Penrow 3"))
    head = re.search(r"<h1.*?</p>", own, re.DOTALL)
    assert head is not None
    assert "As of 13 Jan, 41 days old." in head.group()
    assert own.count("as of 13 Jan, 41 days old") == 2, "in its figure and in the table"
    name = re.search(r"<figcaption><b>([^<]+)</b>", own.split("</figure>")[1])
    assert name is not None
    other = said(launched(demo_store, monkeypatch, "neighbours", field=name.group(1)))
    assert "As of" not in other.split("</h1>")[1].split("</p>")[0]
    captions = [one for one in other.split("<figcaption>") if one.startswith("<b>Penrow 3<")]
    assert "as of 13 Jan, 41 days old" in captions[0]
    assert "Of those beside it 1 has old figures, as marked." in other


def test_a_likeness_that_nobody_shares_says_so() -> None:
    said = words.answer("Corrie 12", [], "in", 91.44)
    assert said == "No other field that shares what was asked for can be set beside Corrie 12."


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
