"""Of a probe that was moved, what is told of its latest hole: the one that opened last."""

import shutil
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analytics.store import engine, people, statements
from analytics.store.assessment import assess
from analytics.store.inputs import site_inputs
from analytics.store.paths import database
from demo_data import TODAY

OPENED = {1: "2018-04-01", 101: "2020-05-01", 2: "2021-04-01"}
"""A hole, the part of it after a move that nobody told of, and the next hole."""


def limits() -> pd.DataFrame:
    rows = [
        {"site": "S", "depth_cm": 30.0, "placement": number, "point": "full",
         "value": 0.01 * number, "sd": 0.01, "state": "learned", "valid_from": since,
         "set_by": "record", "reason": "", "wettings": 3, "ponded": False}
        for number, since in OPENED.items()
    ]  # fmt: skip
    return pd.DataFrame(rows).assign(valid_from=lambda rows: pd.to_datetime(rows["valid_from"]))


def test_the_points_to_review_are_those_of_the_latest_hole(demo_store: Path) -> None:
    edges = pd.DataFrame({
        "field": ["F"], "site": ["S"], "date": [pd.Timestamp("2024-01-01")], "zone": ["layer"],
        "depth_cm": [30.0], "top_cm": [0.0], "bottom_cm": [60.0]})  # fmt: skip
    none = pd.DataFrame(columns=["site", "depth_cm", "placement", "point", "valid_from", "id",
                                 "reverted_at", "pinned"])  # fmt: skip
    told = {"limits": limits(), "readiness": edges, "set_limits": none,
            "fields": pd.DataFrame({"field": ["F"], "name": ["Far"]})}  # fmt: skip
    with engine.apart(database(demo_store)) as db:
        for name, rows in told.items():
            db.register(name, rows)
        (row,) = statements.rows(db, "show_full_points").to_dict("records")
    assert (row["placement"], row["value"]) == (2, pytest.approx(0.02))


def test_drift_is_told_of_the_hole_that_reads() -> None:
    days = pd.to_datetime([*OPENED.values(), "2024-01-01"])
    daily = pd.DataFrame({"site": "S", "date": days, "placement": [*OPENED, 2]})
    drift = pd.DataFrame({
        "site": "S", "depth_cm": 30.0, "placement": [*OPENED], "point": "full",
        "beyond_noise": [True, True, False]})  # fmt: skip
    found = troubles(daily, drift)
    assert not (found["kind"] == "drifting").any(), "only an old hole drifted"
    found = troubles(daily, drift.assign(beyond_noise=True))
    assert (found["kind"] == "drifting").sum() == 1


def troubles(daily: pd.DataFrame, drift: pd.DataFrame) -> pd.DataFrame:
    spans = {"site": [], "depth_cm": [], "from": [], "to": []}
    times = {"from": "datetime64[us]", "to": "datetime64[us]", "depth_cm": float}
    gaps = pd.DataFrame({**spans, "reason": []}).astype(times)
    flags = pd.DataFrame({**spans, "flag": []}).astype(times)
    with engine.apart(Path("nowhere")) as db:
        for name, rows in {
            "daily": daily,
            "drift": drift,
            "gaps": gaps,
            "flags": flags,
        }.items():
            db.register(name, rows)
        return statements.rows(
            db, "show_record_troubles", date=date(2024, 1, 2), since_days=30, least_hours=1.0,
            lost_hours=1.0,
        )  # fmt: skip


def test_a_hole_that_is_only_planned_changes_nothing(demo_store: Path, tmp_path: Path) -> None:
    store = Path(shutil.copytree(demo_store, tmp_path / "store"))
    before = people.table(store, "order").set_index("field")
    sites = people.table(store, "sites")
    own = sites[sites["site"] == "TF02"]
    planned = own.assign(installed_on=pd.Timestamp(TODAY) + pd.Timedelta(days=60))
    people.put(store, "sites", planned.drop(columns=["removed_on"]))
    assert [one.number for one in site_inputs(store, "TF02", TODAY).placements] == [1]
    with ThreadPoolExecutor(1) as pool:
        assert assess(store, TODAY, pool).assessed == ("TF02",)
    after = people.table(store, "order").set_index("field")
    field = str(own["field"].iloc[0])
    told = ["target_mm", "need_mm", "net_mm"]
    np.testing.assert_allclose(
        after.loc[field, told].astype(float), before.loc[field, told].astype(float)
    )


@pytest.mark.parametrize(
    ("before", "now", "silent"),
    [
        ([15, 45, 75, 105], [10, 20, 45, 60], 3),
        ([15, 45, 75], [15, 45, 75], None),
        ([15, 45, 75], [15, 45], None),  # a sensor that died
        ([15, 45], [15, 45, 75], None),  # one more
    ],
)
def test_a_probe_put_back_with_other_depths_is_told(
    before: list[float], now: list[float], silent: int | None
) -> None:
    rows = [(1, depth, "2020-05-01") for depth in before]
    rows += [(2, depth, "2022-05-01") for depth in now]
    placements, depths, days = zip(*rows, strict=True)
    daily = pd.DataFrame({
        "site": "S", "placement": placements, "depth_cm": np.array(depths, float),
        "date": pd.to_datetime(days), "good": 24,
    })  # fmt: skip
    sites = pd.DataFrame({"site": ["S", "S", "T"]})
    with engine.apart(Path("nowhere")) as db:
        db.register("daily", daily)
        db.register("sites", sites)
        found = statements.execute(db, "check_other_depths")
    assert found == ([] if silent is None else [("S", silent)])
