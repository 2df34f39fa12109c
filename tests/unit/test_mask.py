"""Masked tables name nobody and no place, and say the same otherwise."""

import re
from pathlib import Path

import numpy as np
import pandas as pd
from hypothesis import given
from hypothesis import strategies as st
from pandas.testing import assert_frame_equal

from analytics.contract import TABLES
from analytics.report.mask import letters_of, masked
from analytics.store import people

NAMES = st.lists(
    st.text(alphabet="abcdefghij .*[(", min_size=3, max_size=9).map(str.strip).filter(bool),
    min_size=4, max_size=4, unique_by=str.casefold,
)  # fmt: skip


def tables(names: list[str]) -> dict[str, pd.DataFrame]:
    one, two, grower, other = names
    fields = pd.DataFrame(
        {"field": [f"#{one}", f"#{two}"], "name": [f"~{one}", f"~{two}"],
         "grower": [f"@{grower}", f"@{other}"], "source": "w§1", "latitude": 37.123}
    )  # fmt: skip
    return {
        "fields": fields,
        "sites": pd.DataFrame({"site": ["p§1", "p§2"], "field": fields["field"]}),
        "sources": pd.DataFrame({"source": ["w§1"], "name": ["Wells §"]}),
        "told": pd.DataFrame({"field": fields["field"], "deficit_mm": [1.0, 2.0],
                              "words": [f"start ~{two} after ~{one}", "p§2 is silent"]}),
        "stations": pd.DataFrame({"station": ["S"], "latitude": [37.1]}),
    }  # fmt: skip


@given(NAMES)
def test_no_name_or_place_is_left_in_any_cell(names: list[str]) -> None:
    given_ = tables(names)
    out = masked(given_)
    told = "\n".join(frame.to_csv(index=False) for frame in out.values())
    for word in letters_of(given_):
        assert word not in told
    assert "37.1" not in told
    assert "stations" not in out


@given(NAMES)
def test_letters_are_the_same_in_every_table(names: list[str]) -> None:
    given_ = tables(names)
    letters, out = letters_of(given_), masked(given_)
    mm = dict(zip(out["told"]["field"], out["told"]["deficit_mm"], strict=True))
    first, second = given_["fields"]["field"]
    assert mm == {letters[first]: 1.0, letters[second]: 2.0}
    assert len({letters[one] for one in given_["fields"]["grower"]}) == 2


@given(NAMES)
def test_a_grower_sees_their_own_by_name_and_nobody_elses(names: list[str]) -> None:
    given_ = tables(names)
    mine = given_["fields"].iloc[0]
    out = masked(given_, unmask=[mine["grower"]])
    told = "\n".join(frame.to_csv(index=False) for frame in out.values())
    assert mine["name"] in out["fields"]["name"].tolist()
    assert given_["fields"]["field"][1] not in told
    assert given_["fields"]["grower"][1] not in told


@given(NAMES)
def test_rows_in_any_order_come_out_in_the_same(names: list[str]) -> None:
    given_ = tables(names)
    turned = masked({name: frame.iloc[::-1] for name, frame in given_.items()})
    for name, frame in masked(given_).items():
        assert_frame_equal(turned[name], frame)


def test_naming_one_grower_leaves_the_others_their_letters() -> None:
    fields = pd.DataFrame(
        {"field": [f"f{n}" for n in range(9)], "grower": ["Own", "Else", "X"] * 3}
    )
    sites = pd.DataFrame({"site": [f"p{n}" for n in range(9)], "field": fields["field"]})
    every = {"fields": fields, "sites": sites}
    before, after = letters_of(every, deal="d"), letters_of(every, unmask=["Own"], deal="d")
    own = {"Own", "f0", "f3", "f6", "p0", "p3", "p6"}
    assert set(before) - set(after) == own
    assert after == {word: one for word, one in before.items() if word not in own}


def test_letters_go_on_after_z() -> None:
    many = pd.DataFrame({"field": [f"f{n:03}x" for n in range(60)], "grower": None})
    letters = letters_of({"fields": many})
    assert len(set(letters.values())) == 60
    assert all(re.fullmatch(r"Field [A-Z]{1,2}", one) for one in letters.values())


def test_the_demonstration_keeps_no_name_id_or_place(demo_store: Path) -> None:
    every = {
        name: people.table(demo_store, name)
        for name in TABLES
        if name not in {"readings", "daily", "flags", "uptake"}
    }
    out = masked(every)
    columns = [frame[name] for frame in out.values() for name in frame]
    told = "\n".join({str(one) for some in columns if some.dtype.kind not in "fiubM"
                      for one in some.unique()})  # fmt: skip
    hidden = letters_of(every)
    assert len(hidden) > 100
    assert not [one for one in hidden if one in told]
    places = every["sites"][["latitude", "longitude"]].to_numpy().ravel()
    assert not [place for place in places if f"{place:.5f}" in told]
    assert not any(np.isin(some, places).any() for some in columns
                   if some.dtype.kind == "f")  # fmt: skip


def test_an_unmasked_field_keeps_its_name_though_a_source_s_is_part_of_it() -> None:
    fields = pd.DataFrame({"field": ["mill-bench", "b"], "name": ["Mill Bench", "Hallow"],
                           "grower": ["Own", "Else"]})  # fmt: skip
    sources = pd.DataFrame({"source": ["bench"], "name": ["Bench wells"]})
    told = pd.DataFrame({"name": fields["name"], "source": ["bench", "bench"]})
    out = masked({"fields": fields, "sources": sources, "told": told}, unmask=iter(["Own"]))
    own, other = out["told"].sort_values("name", ascending=False)["name"]
    assert own == "Mill Bench"
    assert re.fullmatch("Field [AB]", other)
    assert set(out["told"]["source"]) == {"Source A"}


def test_another_deal_gives_other_letters_and_the_same_deal_the_same() -> None:
    fields = pd.DataFrame({"field": [f"f{i}" for i in range(20)], "grower": "g"})
    first, again, other = (letters_of({"fields": fields}, deal=one) for one in ("a", "a", "b"))
    assert first == again
    assert first != other
