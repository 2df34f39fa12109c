"""People's tables: in and out unchanged, newest row wins, references are checked."""

import subprocess
import sys
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pytest

from analytics.contract import PEOPLE, TABLES
from analytics.errors import InputRefused, NotKnown
from analytics.store import connection, people
from analytics.store.counts import Counts


@pytest.mark.parametrize("name", [table.name for table in PEOPLE])
def test_round_trip(store: Path, people_frames: dict[str, pd.DataFrame], name: str) -> None:
    put, found = people_frames[name], people.table(store, name)
    put = put.sort_values(list(TABLES[name].key), ignore_index=True)
    assert tuple(found.columns) == TABLES[name].names
    if isinstance(put, gpd.GeoDataFrame):
        assert isinstance(found, gpd.GeoDataFrame)
        assert found.crs == put.crs
        assert found.geometry.geom_equals_exact(put.geometry, 0).all()
        put, found = put.drop(columns="geometry"), found.drop(columns="geometry")
    pd.testing.assert_frame_equal(
        pd.DataFrame(found), pd.DataFrame(put)[list(found.columns)], check_dtype=False
    )


@pytest.mark.parametrize("name", [table.name for table in PEOPLE])
def test_the_same_again_is_identical(
    store: Path, people_frames: dict[str, pd.DataFrame], name: str
) -> None:
    frame = people_frames[name]
    before = people.table(store, name)
    assert people.put(store, name, frame) == Counts(identical=len(frame))
    pd.testing.assert_frame_equal(
        pd.DataFrame(before.astype("str")),
        pd.DataFrame(people.table(store, name).astype("str")),
    )


def test_newest_row_of_a_key_wins_even_where_the_key_is_blank(store: Path) -> None:
    sites = people.table(store, "sites")
    sites["latitude"] = sites["latitude"] + 0.001
    assert people.put(store, "sites", sites) == Counts(superseded=2)
    assert people.table(store, "sites")["latitude"].tolist() == sites["latitude"].tolist()


def test_of_two_rows_with_one_key_the_last_wins(store: Path) -> None:
    rows = pd.DataFrame(
        {"field": "south", "date": pd.Timestamp("2024-01-01"), "kind": "rain", "mm": [1.0, 2.0]}
    )
    assert people.put(store, "water", rows) == Counts(taken=1, superseded=1)
    assert people.table(store, "water").query("field == 'south'")["mm"].tolist() == [2.0]


WRONG = {
    "sites of an unknown field": ("sites", "field", "nowhere", "site 'N1', installed_on"),
    "unknown field": ("sites", "field", "nowhere", "field 'nowhere' is not in the store"),
    "layers of an unknown site": ("layers", "site", "X9", "site 'X9' is not in the store"),
    "seasons of an unknown field": ("seasons", "field", "nowhere", "planted_on 2023-05-01"),
    "water of an unknown field": ("water", "field", "nowhere", "date 2024-11-05"),
    "weather of an unknown station": ("weather", "station", "st", "station 'st' is not"),
    "zone": ("sites", "timezone", "Mars/Base", "time zone 'Mars/Base' does not exist"),
    "order": ("sites", "removed_on", pd.Timestamp("2001-01-01"), "before installed_on"),
}


@pytest.mark.parametrize("case", WRONG)
def test_a_wrong_row_is_named_and_nothing_is_kept(
    store: Path, people_frames: dict[str, pd.DataFrame], case: str
) -> None:
    name, column, value, words = WRONG[case]
    frame = people_frames[name]
    frame[column] = value
    before = people.table(store, name)
    with pytest.raises(InputRefused) as why:
        people.put(store, name, frame)
    assert words in str(why.value)
    assert people.table(store, name).equals(before)


def test_an_unknown_table_is_refused(store: Path) -> None:
    with pytest.raises(NotKnown, match="no table 'nothing'"):
        people.table(store, "nothing")


def test_a_date_stays_that_day_under_any_zone_of_the_machine(store: Path) -> None:
    code = (
        "import sys; from pathlib import Path; from analytics.store import people, readings, "
        "connection\ns = Path(sys.argv[1]); t = people.table(s, 'water')\n"
        "print(t['date'].astype(str).tolist())\n"
        "with connection.reading(s) as db:\n"
        "    print(db.cursor().execute(\"select '2024-11-05 00:00'::timestamptz::varchar\")"
        ".fetchall())"
    )
    told = {
        zone: subprocess.run(
            [sys.executable, "-c", code, str(store)], env={"TZ": zone}, check=True,
            capture_output=True, text=True,
        ).stdout
        for zone in ("Pacific/Auckland", "America/Los_Angeles")
    }  # fmt: skip
    assert len(set(told.values())) == 1
    assert "['2024-11-05', '2024-11-05']" in told["Pacific/Auckland"]
    assert "2024-11-05 00:00:00+00" in told["Pacific/Auckland"]


def test_changed_rows_touch_their_sites_and_no_others(store: Path) -> None:
    with connection.writing(store) as db:
        db.execute("DELETE FROM touched")
    seasons = people.table(store, "seasons")
    people.put(store, "seasons", seasons)
    assert touched(store) == set()
    seasons["crop"] = "sorghum"
    people.put(store, "seasons", seasons)
    assert touched(store) == {"N1"}


def touched(store: Path) -> set[str]:
    with connection.reading(store) as db:
        return {site for (site,) in db.execute("SELECT site FROM touched").fetchall()}


def test_missing_numbers_stay_missing(store: Path) -> None:
    south = people.fields(store).query("field == 'south'")
    assert south["irrigated_ha"].isna().all()


def moved(store: Path, **other: str) -> pd.DataFrame:
    """Give N1's row in another hole."""
    row = people.table(store, "sites").query("site == 'N1'")
    return row.assign(installed_on=pd.Timestamp("2024-04-01"), **other)


def test_a_probe_does_not_take_its_past_to_another_field(store: Path) -> None:
    people.put(store, "sites", moved(store))  # another hole of its own field
    before = people.table(store, "sites")
    with pytest.raises(InputRefused, match=r"site 'N1': it would stand in .*: north, south"):
        people.put(store, "sites", moved(store, field="south"))
    pd.testing.assert_frame_equal(people.table(store, "sites"), before)


def test_a_wrong_field_is_corrected_in_all_rows_of_a_site_at_once(store: Path) -> None:
    people.put(store, "sites", moved(store))
    both = people.table(store, "sites").query("site == 'N1'")
    people.put(store, "sites", both.assign(field="south"))
    assert set(people.table(store, "sites")["field"]) == {"south"}
