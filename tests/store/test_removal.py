"""Wrong rows of people's tables are taken out, kept aside, and can be brought back."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from analytics.contract import PEOPLE, TABLES
from analytics.errors import InputRefused, NotAllowed, NotKnown
from analytics.model import Record
from analytics.store import connection, people, readings, sight
from analytics.store.removal import remove, remove_readings
from tests.store.conftest import frames

OTHERS = {
    "fields": ("seasons", "water", "sites"), "sites": ("layers",), "stations": ("weather",),
}  # fmt: skip
"""What names the rows of a table, and goes before them."""


def spelled(row: pd.Series, table: str) -> dict[str, str]:
    """Spell a row's key as a file would."""
    key = {name: row[name] for name in TABLES[table].key}
    return {
        name: "" if pd.isna(value) else
        f"{value:%Y-%m-%d}" if isinstance(value, pd.Timestamp) else str(value)
        for name, value in key.items()
    }  # fmt: skip


def emptied(store: Path, table: str) -> None:
    for row in people.table(store, table).iloc:
        remove(store, table, spelled(row, table))


@pytest.mark.parametrize("name", [table.name for table in PEOPLE])
def test_each_row_goes_by_its_key_and_comes_back_from_what_was_kept(
    store: Path, name: str
) -> None:
    for other in OTHERS.get(name, ()):
        for before in OTHERS.get(other, ()):
            emptied(store, before)
        emptied(store, other)
    whole = people.table(store, name)
    row = whole.iloc[0]
    gone = remove(store, name, spelled(row, name))
    assert len(gone) == 1
    left = people.table(store, name)
    pd.testing.assert_frame_equal(
        pd.DataFrame(left), pd.DataFrame(whole.iloc[1:].reset_index(drop=True)),
        check_dtype=False,
    )  # fmt: skip
    kept = people.table(store, "removed").query("taken_from == @name").iloc[-1]
    people.put(store, name, brought_back(kept["told"], name))
    again = people.table(store, name)
    pd.testing.assert_frame_equal(
        pd.DataFrame(again).drop(columns="geometry", errors="ignore"),
        pd.DataFrame(whole).drop(columns="geometry", errors="ignore"), check_dtype=False,
    )  # fmt: skip
    if isinstance(again, gpd.GeoDataFrame):
        assert isinstance(whole, gpd.GeoDataFrame)
        assert again.geometry.geom_equals_exact(whole.geometry, 1e-9).all()


def brought_back(told: str, name: str) -> pd.DataFrame:
    values = json.loads(told)
    frame = pd.DataFrame([values])
    for column in TABLES[name].columns:
        if column.kind == "date" and column.name in frame:
            frame[column.name] = pd.to_datetime(frame[column.name])
    if "geometry" in frame:
        return gpd.GeoDataFrame(
            frame.drop(columns="geometry"), crs="EPSG:4326",
            geometry=[shapely.from_wkt(values["geometry"])],
        )  # fmt: skip
    return frame


@pytest.mark.parametrize(("table", "wanted", "told"), [
    ("season", {"field": "north"}, "no people's table 'season'. Known: fields, sources"),
    ("seasons", {"field": "nord"}, "seasons: no row has field=nord"),
    ("seasons", {"crop": "corn"}, "Name rows by field, planted_on"),
    ("seasons", {"planted_on": "1 May"}, "planted_on=1 May: cannot be read. Write a day like"),
    ("layers", {"depth_cm": "deep"}, "depth_cm=deep: cannot be read. Write a number"),
    ("seasons", {"field": "north"}, "2 rows have it. Name more of field, planted_on"),
    ("readings", {"site": "N1"}, "no people's table 'readings'"),
    ("fields", {"field": "north"}, "2 of seasons, 1 of sites, 2 of water"),
    ("sites", {"site": "N1"}, "by 2 of layers"),
    ("stations", {"station": "far"}, "by 1 of weather"),
])  # fmt: skip
def test_what_cannot_go_is_refused_and_all_stays(
    store: Path, table: str, wanted: dict[str, str], told: str
) -> None:
    with pytest.raises((InputRefused, NotKnown), match=told):
        remove(store, table, wanted)
    for name, frame in frames().items():
        assert len(people.table(store, name)) == len(frame)
    assert people.table(store, "removed").empty


def test_several_go_at_once_where_that_is_meant(store: Path) -> None:
    gone = remove(store, "seasons", {"field": "north"}, every=True)
    assert gone["crop"].tolist() == ["corn", "wheat"]
    assert people.table(store, "seasons").empty
    assert len(people.table(store, "removed")) == 2


def test_a_probe_with_readings_stays(store: Path, record: Callable[..., Record]) -> None:
    emptied(store, "layers")
    readings.merge(store, record("N1"))
    with pytest.raises(InputRefused, match="site N1: it is still named, by its readings"):
        remove(store, "sites", {"site": "N1"})
    frame = people.table(store, "sites").query("site == 'N1'")
    people.put(store, "sites", frame.assign(installed_on=pd.Timestamp("2020-04-01")))
    remove(store, "sites", {"site": "N1", "installed_on": "2018-04-01"})  # one of its two holes
    assert set(people.table(store, "sites")["site"]) == {"N1", "../S 1"}


@pytest.mark.parametrize(("table", "wanted", "sites", "since"), [
    ("seasons", {"field": "north", "planted_on": "2023-05-01"}, {"N1"}, None),
    ("water", {"field": "north", "kind": "rain"}, {"N1"}, date(2024, 11, 4)),
    ("weather", {"station": "near"}, {"N1", "../S 1"}, date(2024, 11, 4)),
    ("layers", {"site": "N1", "depth_cm": "10"}, {"N1"}, None),
])  # fmt: skip
def test_sites_are_assessed_again_from_the_day_that_changed(
    store: Path, table: str, wanted: dict[str, str], sites: set[str], since: date | None
) -> None:
    with connection.writing(store) as db:
        db.execute("DELETE FROM touched")
    remove(store, table, wanted)
    with connection.reading(store) as db:
        told = db.execute("SELECT site, since FROM touched").fetchall()
    assert {site for site, _ in told} == sites
    days = {None if at is None else at.date() for _, at in told}
    assert days == {since}


def test_a_grower_neither_takes_out_nor_sees_what_was(store: Path) -> None:
    remove(store, "seasons", {"field": "north", "planted_on": "2023-05-01"})
    with sight.looking(sight.Sight(who="ash@example.org", role="grower", growers=("Ash",))):
        with pytest.raises(NotAllowed):
            remove(store, "seasons", {"field": "north"}, every=True)
        assert people.table(store, "removed").empty
    assert len(people.table(store, "removed")) == 1


def filled(store: Path, record: Callable[..., Record]) -> pd.DataFrame:
    """Bring a site's readings across a new year, and give them."""
    readings.merge(store, record("N1", start="2023-12-28", hours=200))
    return readings.long(store)


def test_readings_of_a_span_go_and_are_kept(store: Path, record: Callable[..., Record]) -> None:
    before = filled(store, record)
    wall = before["time"].dt.tz_convert("America/Denver").dt.date
    inside = (wall >= date(2023, 12, 30)) & (wall <= date(2024, 1, 2))
    count = remove_readings(store, "N1", "2023-12-30", "2024-01-02")
    assert count == before.loc[inside, "time"].nunique() == 4 * 24
    left = readings.long(store)
    pd.testing.assert_frame_equal(left, before[~inside].reset_index(drop=True))
    kept = readings.superseded(store)
    assert kept["vwc_now"].isna().all()
    taken = before[inside].reset_index(drop=True)
    pd.testing.assert_frame_equal(kept[list(taken.columns)], taken)
    readings.merge(store, record("N1", start="2023-12-28", hours=200))
    pd.testing.assert_frame_equal(readings.long(store), before)


def test_a_wrong_clock_leaves_nothing_beside_the_right_one(
    store: Path, record: Callable[..., Record]
) -> None:
    right = record("N1")
    wrong = replace(right, times=right.times + np.timedelta64(17, "m"))
    readings.merge(store, wrong)
    last = pd.Timestamp(wrong.times[-1]).tz_localize("UTC").isoformat()
    first = pd.Timestamp(wrong.times[0]).tz_localize("UTC").isoformat()
    assert remove_readings(store, "N1", first, last) == len(wrong.times)
    assert not len(readings.read(store, "N1").times)
    assert readings.newest(store, "N1") is None
    readings.merge(store, right)
    assert (readings.read(store, "N1").times == right.times).all()


@pytest.mark.parametrize(("site", "first", "last", "told"), [
    ("N9", "2024-01-01", "2024-01-02", "no site 'N9'"),
    ("N1", "2019-01-01", "2019-01-02", "N1 has no readings from 2019-01-01 to 2019-01-02"),
    ("N1", "1 May", "2024-01-02", "from=1 May: cannot be read. Write a day like"),
    ("N1", "2024-01-01", "2024-01-02T06:00:00", "to=2024-01-02T06:00:00: cannot be read"),
    ("N1", "2024-01-02", "2024-01-01", "N1 has no readings from 2024-01-02 to 2024-01-01"),
])  # fmt: skip
def test_no_readings_go_where_the_span_is_none(  # noqa: PLR0917
    store: Path, record: Callable[..., Record], site: str, first: str, last: str, told: str
) -> None:
    before = filled(store, record)
    with pytest.raises((InputRefused, NotKnown), match=told):
        remove_readings(store, site, first, last)
    pd.testing.assert_frame_equal(readings.long(store), before)


def test_readings_that_went_are_assessed_again_even_if_cut_short(
    store: Path, record: Callable[..., Record], monkeypatch: pytest.MonkeyPatch
) -> None:
    filled(store, record)
    with connection.writing(store) as db:
        db.execute("DELETE FROM touched")

    def killed(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as broken:
        broken.setattr(readings.parts, "write", killed)
        with pytest.raises(KeyboardInterrupt):
            remove_readings(store, "N1", "2023-12-30", "2024-01-02")
    with connection.reading(store) as db:
        assert db.execute("SELECT site, since FROM touched").fetchall() == [("N1", None)]
    assert remove_readings(store, "N1", "2023-12-30", "2024-01-02") == 4 * 24
    assert not readings.superseded(store).duplicated(["time", "depth_cm"]).any()
