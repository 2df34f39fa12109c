"""Wrong rows of people's tables are taken out, kept aside, and can be brought back."""

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from analytics.contract import PEOPLE, TABLES
from analytics.errors import InputRefused, NotAllowed, NotKnown
from analytics.model import Record
from analytics.store import connection, people, readings, sight
from analytics.store.removal import remove
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
