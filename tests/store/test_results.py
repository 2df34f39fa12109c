"""Results: one generation at a time, for every reader, through crashes."""

import threading
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from analytics.settings import Settings
from analytics.store import connection, manifest, people, results, staged
from analytics.store.connection import reading

DAY = date(2024, 11, 5)
LONG_AGO = date(2024, 6, 1)


def tables(site: str, stamp: float) -> dict[str, pd.DataFrame]:
    """One row in a table by bucket and one in a table by site, both saying ``stamp``."""
    return {
        "frost": pd.DataFrame(
            {"site": [site], "date": [DAY], "top_cm": [0.0], "bottom_cm": [stamp]}
        ),
        "uptake": pd.DataFrame(
            {"site": [site], "date": [LONG_AGO], "depth_cm": [10.0], "mm": [stamp]}
        ),
    }


def publish(store: Path, stamp: float, sites: tuple[str, ...] = ("N1", "../S 1")) -> int:
    made = {site: tables(site, stamp) for site in sites}
    return results.publish(store, made, DAY, Settings(), "1")


def seen(store: Path) -> set[float]:
    with reading(store) as db:
        found = db.execute("SELECT bottom_cm FROM frost UNION ALL SELECT mm FROM uptake")
        return {value for (value,) in found.fetchall()}


def test_untouched_sites_keep_their_results_by_reference(store: Path) -> None:
    publish(store, 1.0)
    before = manifest.read(store, 1)
    publish(store, 2.0, sites=("N1",))
    frost = people.table(store, "frost").set_index("site")["bottom_cm"]
    assert frost.to_dict() == {"N1": 2.0, "../S 1": 1.0}
    after = manifest.read(store, 2)
    assert after["uptake"]["../S 1"] == before["uptake"]["../S 1"]
    assert len(set(after["frost"].values()) & set(before["frost"].values())) == 1


def test_the_latest_weeks_of_a_table_by_day_lie_in_buckets(store: Path) -> None:
    days = pd.date_range(LONG_AGO, DAY, freq="D")
    rows = pd.DataFrame({"site": "N1", "date": days, "depth_cm": 10.0, "mm": 1.0})
    results.publish(store, {"N1": {"uptake": rows}}, DAY, Settings(), "1")
    assert people.table(store, "uptake")["date"].tolist() == days.tolist()
    files = manifest.read(store, 1)
    assert set(files["uptake"]) == {"N1"}
    (late,) = files[staged.latest("uptake")].values()
    with reading(store) as db:
        found = db.execute("SELECT count(*) FROM read_parquet($path)", {"path": str(late)})
        assert found.fetchall() == [(staged.OPEN_DAYS + 1,)]


def test_small_tables_that_waited_on_the_disk_are_published_and_gone(store: Path) -> None:
    publish(store, 1.0, sites=("N1",))
    rows = {
        **tables("../S 1", 2.0),
        "limits": pd.DataFrame({"site": ["../S 1"], "placement": 1}),
        "readiness": pd.DataFrame({"site": ["../S 1"], "date": [DAY], "zone": "deep"}),
    }
    made = staged.stage(store, 2, "../S 1", rows, DAY)
    down = staged.set_down(store, made)
    needed = {"limits", staged.latest("readiness")}
    assert set(down.small) == needed, "what the order needs stays in hand"
    assert set(down.rest) == set(made.small) - needed
    for name, table in made.small.items():
        assert staged.small_table(store, down, name).equals(table)
    assert staged.small_table(store, down, "gaps").num_rows == 0
    left = store / staged.STAGED / "by a crash.arrow"
    left.write_bytes(b"half")
    results.switch(store, [down], DAY, Settings(), "1")
    frost = people.table(store, "frost").set_index("site")["bottom_cm"]
    assert frost.to_dict() == {"N1": 1.0, "../S 1": 2.0}
    assert people.table(store, "limits")["site"].tolist() == ["../S 1"]
    assert not (store / staged.STAGED).exists()


def test_a_site_without_rows_loses_its_rows(store: Path) -> None:
    publish(store, 1.0)
    results.publish(store, {"N1": {}}, DAY, Settings(), "1")
    assert people.table(store, "frost")["site"].tolist() == ["../S 1"]
    assert people.table(store, "uptake")["site"].tolist() == ["../S 1"]


def test_old_files_go_after_one_further_generation(store: Path) -> None:
    for stamp in (1.0, 2.0, 3.0):
        publish(store, stamp)
    names = {path.name for path in (store / "derived").rglob("*") if path.is_file()}
    assert not [one for one in names if one.endswith(("-1.parquet", "-1.json"))]
    assert [one for one in names if one.endswith("-2.parquet")]
    assert (store / "derived" / "CURRENT").read_text() == "3"


@pytest.mark.parametrize("step", ["write", "_views", "_record", "point", "_clear"])
def test_a_crash_at_any_step_leaves_one_whole_generation(
    store: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    publish(store, 1.0)
    where = manifest if step in ("write", "point") else results

    def crash(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(where, step, crash)
        with pytest.raises(KeyboardInterrupt):
            publish(store, 2.0)
    holds = 2.0 if step in ("point", "_clear") else 1.0
    assert seen(store) == {holds}
    with connection.writing(store):
        pass
    assert manifest.current(store) == int(holds), "repaired at the next opening for writing"
    publish(store, 3.0)
    assert seen(store) == {3.0}


def test_readers_never_meet_a_mixture(store: Path) -> None:
    publish(store, 0.0)
    mixed: list[object] = []
    done = threading.Event()

    def look() -> None:
        while not done.is_set():
            try:
                found = seen(store)
            except Exception as why:  # noqa: BLE001 - any error is a failure of the test
                found = {repr(why)}
            if len(found) != 1 or not all(isinstance(one, float) for one in found):
                mixed.append(found)

    readers = [threading.Thread(target=look) for _ in range(3)]
    for one in readers:
        one.start()
    for stamp in range(1, 9):
        publish(store, float(stamp))
    done.set()
    for one in readers:
        one.join()
    assert mixed == []
    assert seen(store) == {8.0}


def test_the_store_may_be_moved(store: Path) -> None:
    publish(store, 4.0)
    moved = store.rename(store.with_name("moved"))
    assert seen(moved) == {4.0}
