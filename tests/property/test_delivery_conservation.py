"""Whatever pieces a record comes in, no row vanishes and the store ends up the same."""

import atexit
import shutil
import tempfile
from functools import lru_cache
from pathlib import Path

import numpy as np
import pandas as pd
import shapely
from geopandas import GeoDataFrame
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.intake import Known, read
from analytics.store import importing, layout, people, readings

SITES = ("p1", "p2")
KNOWN = Known(sites=dict.fromkeys(SITES, "UTC"))
# An index of an hour, a depth and a value; None is a cell without one, "wet" is no number.
CELL = st.one_of(st.none(), st.integers(100, 104), st.just("wet"))
ROWS = st.lists(
    st.tuples(st.sampled_from((*SITES, "p9")), st.integers(0, 9), CELL, CELL),
    min_size=1,
    max_size=25,
)
LUCK = st.randoms(use_true_random=False)
Rows = list[tuple]


def new_store(folder: Path) -> Path:
    return Path(shutil.copytree(empty_store(), folder / "store"))


@lru_cache
def empty_store() -> Path:
    """Make one store to be copied, since founding one takes longer than any import here."""
    folder = tempfile.TemporaryDirectory()
    atexit.register(folder.cleanup)
    store = Path(folder.name) / "store"
    layout.create(store)
    field = GeoDataFrame({"field": ["f"]}, geometry=[shapely.box(0, 0, 1, 1)], crs="EPSG:4326")
    people.put(store, "fields", field)
    placed = {"site": [*SITES], "field": "f", "latitude": 0.5, "longitude": 0.5}
    people.put(
        store, "sites", pd.DataFrame(placed | {"timezone": "UTC", "installed_on": pd.NaT})
    )
    return store


def cell(value: object) -> str:
    return "" if value is None else f"0.{value}" if isinstance(value, int) else str(value)


def wide(rows: Rows) -> str:
    lines = [f"{s},2023-12-31T{18 + h // 2:02d}:{h % 2 * 30:02d}Z,{cell(a)},{cell(b)}"
             for s, h, a, b in rows]  # fmt: skip
    return "site,time,vwc 10 cm [m3/m3],vwc 20 cm [m3/m3]\n" + "\n".join(lines) + "\n"


def long(rows: Rows) -> str:
    lines = [f"{s},2024-01-01T{h:02d}:00Z,{d},{cell(v)}"
             for s, h, a, b in rows for d, v in ((10, a), (20, b))]  # fmt: skip
    return "site,time,depth_cm,vwc\n" + "\n".join(lines) + "\n"


def brought(store: Path, folder: Path, pieces: list[Rows], form) -> list[importing.Outcome]:
    """Import the pieces, each led by a row that can always be taken."""
    outcomes = []
    for number, rows in enumerate(pieces):
        path = folder / f"{number}.csv"
        path.write_text(form([("p1", 9, 100, 100), *rows]))
        outcome = importing.take(store, read(path, KNOWN))
        assert outcome.counts.total + outcome.rejected == outcome.rows_in
        lines = (len(rows) + 1) * (2 if form is long else 1)
        assert outcome.rows_in == lines
        outcomes.append(outcome)
    return outcomes


def held(store: Path) -> dict[tuple[str, str, float], float]:
    frame = readings.long(store)
    key = zip(frame["site"], frame["time"].astype(str), frame["depth_cm"], strict=True)
    return dict(zip(key, frame["vwc"].round(4), strict=True))


def ends(rows: Rows, form) -> int:
    """Count the cells that the last known values of the good rows fill."""
    known = set()
    for site, hour, first, second in [("p1", 9, 100, 100), *rows]:
        good = site in SITES and (form is long or "wet" not in (first, second))
        for depth, value in ((10, first), (20, second)):
            if good and isinstance(value, int):
                known.add((site, hour, depth))
    return len(known)


def cut(rows: Rows, luck) -> list[Rows]:
    at = sorted(luck.choices(range(len(rows) + 1), k=luck.randint(0, 3)))
    return [rows[a:b] for a, b in zip([0, *at], [*at, len(rows)], strict=True)]


@settings(max_examples=10, deadline=None)
@given(ROWS, LUCK, st.sampled_from([wide, long]))
def test_pieces_in_order_end_as_the_whole_with_the_newest_winning(rows, luck, form) -> None:
    with tempfile.TemporaryDirectory() as one, tempfile.TemporaryDirectory() as other:
        # Each piece repeats the leading row, whose value must not differ.
        rows = [one for one in rows if one[:2] != ("p1", 9)]
        whole, parted = new_store(Path(one)), new_store(Path(other))
        brought(whole, Path(one), [rows], form)
        brought(parted, Path(other), cut(rows, luck), form)
        assert held(whole) == held(parted)
        assert len(held(whole)) == ends(rows, form)


@settings(max_examples=10, deadline=None)
@given(ROWS, LUCK, st.sampled_from([wide, long]))
def test_pieces_that_agree_may_come_in_any_order_and_again(rows, luck, form) -> None:
    # One value a site, hour and depth, so that no two rows contradict each other.
    rows = [(s, h, a and 100 + h, b and 100 + h) for s, h, a, b in rows if h != 9]
    pieces = cut(rows, luck)
    shuffled = [*pieces, *luck.choices(pieces, k=2)]
    luck.shuffle(shuffled)
    with tempfile.TemporaryDirectory() as one, tempfile.TemporaryDirectory() as other:
        whole, parted = new_store(Path(one)), new_store(Path(other))
        brought(whole, Path(one), [rows], form)
        outcomes = brought(parted, Path(other), shuffled, form)
        assert held(whole) == held(parted)
        assert sum(one.counts.superseded for one in outcomes) == 0
        assert readings.superseded(parted).empty


def test_what_gave_way_is_kept_and_countable(tmp_path: Path) -> None:
    store = new_store(tmp_path)
    first, second = [("p2", 1, 101, 101)], [("p2", 1, 102, None), ("p2", 1, 103, 101)]
    told = brought(store, tmp_path, [first, second], wide)
    assert [one.counts.superseded for one in told] == [0, 2]
    kept = people.table(store, "superseded")
    assert kept["vwc"].round(4).tolist() == [0.101, 0.102]
    assert kept["vwc_now"].round(4).tolist() == [0.103, 0.103]
    assert kept["site"].tolist() == ["p2", "p2"]
    assert np.isclose(held(store)["p2", "2023-12-31 18:30:00+00:00", 10.0], 0.103)


def test_rejects_name_their_file(tmp_path: Path) -> None:
    store = new_store(tmp_path)
    brought(store, tmp_path, [[("p9", 1, 101, 101), ("p1", 2, "wet", 1)]], wide)
    kept = people.table(store, "rejects")
    assert kept[["file", "line", "reason"]].to_numpy().tolist() == [
        ["0.csv", 3, "there is no such site"],
        ["0.csv", 4, "not a finite number"],
    ]
