"""Every page launches: on the demonstration, on empty stores, on odd addresses."""

import re
import shutil
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely import box

from analytics.model import Record
from analytics.settings import Settings
from analytics.store import connection, layout, people, readings, results
from analytics.store.assessment import assess
from analytics.store.statements import query
from dashboard import data, words
from dashboard.views.parts import answers
from tests.app.launching import FIRST, launched, said

PAGES = (FIRST, "field")


def test_the_headline_speaks_of_the_fields_chosen(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    some = said(launched(demo_store, monkeypatch, source="Bench wells"))
    every = said(launched(demo_store, monkeypatch))
    assert "of 34 fields go" in every
    assert re.search(r"\d of the \d+ fields chosen go", some)
    none = said(launched(demo_store, monkeypatch, source="Bench wells", crop="sorghum"))
    assert none.count("No field matches these choices.") == 1
    assert not re.search("36|hang on|Worst is|Probes read", none)


def one_field(store: Path, *, assessed: bool) -> Path:
    """Make a store of one field that no probe has reported from."""
    layout.create(store)
    shape = gpd.GeoDataFrame(
        {"field": ["f1"], "name": ["A field with a name that goes on and on and on"]},
        geometry=[box(-101.5, 37.0, -101.49, 37.01)], crs="EPSG:4326",
    )  # fmt: skip
    people.put(store, "fields", shape)
    if assessed:
        results.publish(store, {}, date(2025, 2, 24), Settings(), "0")
    return store


@pytest.mark.parametrize("page", PAGES)
def test_page_launches_on_the_demonstration(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch, page: str
) -> None:
    told = said(launched(demo_store, monkeypatch, page))
    assert "ow-answer" in told
    assert "below 3 f" in told


def test_district_is_answered_first(demo_store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    told = said(launched(demo_store, monkeypatch))
    assert re.search(r"\d+ of 3\d fields go into the season more than .* short below", told)


def test_only_fields_that_go_into_the_season_are_counted(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(demo_store, monkeypatch)
    store = data.opened()
    rows = data.going_in(store, data.dates(store)[0], "deep")
    standing = rows["growing"].astype(bool)
    assert 0 < standing.sum() < len(rows) / 2
    bare = rows.loc[~standing, "deficit_mm"]
    over_mm = answers.line_mm(bare, "in")
    assert (rows.loc[standing, "deficit_mm"] > over_mm).any()  # else nothing is shown here
    line = words.spelled_water(over_mm, "in")
    told = f"{(bare > over_mm).sum()} of {len(bare)} fields go into the season more than {line}"
    assert told in said(app)
    assert words.not_counted(int(standing.sum())) in said(app)


@pytest.mark.parametrize(("stands", "standing", "told"), [
    ([], False, 0), ([False, False], False, 2), ([True, False], False, 1), ([None], False, 1),
    ([True, True, False], True, 3), ([True, True], True, 2), ([True, None, False], False, 2),
])  # fmt: skip
def test_most_fields_decide_whether_a_season_is_gone_into(
    stands: list[bool | None], standing: bool, told: int
) -> None:
    rows = pd.DataFrame({"growing": pd.array(stands, "boolean")})
    found, kept = answers.of_the_season(rows)
    assert (found, len(kept)) == (standing, told)


def test_units_switch_everywhere(demo_store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for page in PAGES:
        app = launched(demo_store, monkeypatch, page)
        app.button_group(key="units").set_value("mm").run()
        told = said(app)
        assert "below 91 cm" in told or "below 90 cm" in told
        assert not re.search(r"\d (in|ft|inches) short", told)


@pytest.mark.parametrize("measure", ["short", "change", "since", "age"])
def test_every_measure_colours_the_map(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch, measure: str
) -> None:
    app = launched(demo_store, monkeypatch)
    app.selectbox(key="measure").set_value(measure).run()
    said(app)


@pytest.mark.parametrize("zone", ["upper", "profile"])
def test_every_zone_is_shown(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch, zone: str
) -> None:
    app = launched(demo_store, monkeypatch)
    app.button_group(key="zone").set_value(zone).run()
    told = said(app)
    assert {"upper": "in the upper 3 feet", "profile": "in the whole profile"}[zone] in told


def test_filters_that_match_nothing_say_so(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(demo_store, monkeypatch)
    growers, sources = app.multiselect(key="grower"), app.multiselect(key="source")
    growers.set_value(growers.options[:1])
    sources.set_value(sources.options[:1])
    app.run()
    said(app)
    app.multiselect(key="crop").set_value(app.multiselect(key="crop").options[-1:]).run()
    said(app)


def test_a_date_of_the_past(demo_store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    dates = [f"{one:%Y-%m-%d}" for one in query(demo_store, "show_dates")["date"]]
    for page in PAGES:
        app = launched(demo_store, monkeypatch, page)
        for picked in (dates[len(dates) // 2], dates[-1]):
            app.selectbox(key="date").set_value(picked).run()
            said(app)


def test_a_link_opens_its_field(demo_store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    name = people.fields(demo_store)["name"].iloc[5]
    app = launched(demo_store, monkeypatch, field=name, units="mm")
    assert f"{name} " in said(app)
    assert app.button_group(key="units").value == "mm"


def test_unknown_field_in_the_address(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for page in PAGES:
        said(launched(demo_store, monkeypatch, page, field="No such field"))


@pytest.mark.parametrize("page", PAGES)
def test_no_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, page: str) -> None:
    for store in (None, tmp_path / "nowhere"):
        app = launched(store, monkeypatch)
        assert "No store is open." in said(app)


def test_empty_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    layout.create(tmp_path / "store")
    assert "overwinter import" in said(launched(tmp_path / "store", monkeypatch))


def test_store_that_was_not_assessed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    store = one_field(tmp_path / "store", assessed=False)
    assert "overwinter assess" in said(launched(store, monkeypatch))


def test_store_without_readings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    store = one_field(tmp_path / "store", assessed=True)
    assert "No probe has reported yet." in said(launched(store, monkeypatch))


def shallow(store: Path, days: int) -> Path:
    """Make a store of one probe that ends above the split, without crops, water or points."""
    one_field(store, assessed=False)
    site = {"site": ["s1"], "field": ["f1"], "latitude": [37.0], "longitude": [-101.5],
            "timezone": ["America/Chicago"], "installed_on": [pd.NaT]}  # fmt: skip
    people.put(store, "sites", pd.DataFrame(site))
    start = np.datetime64("2025-01-01T12:00", "us")
    wobble = (0.001 * (np.arange(days)[:, None] % 3)).astype(np.float64)
    theta = np.full((days, 2), 0.25, np.float64) + wobble
    record = Record(
        site="s1", times=start + np.arange(days).astype("timedelta64[D]"),
        depths_cm=np.array([10.0, 40.0]), theta=theta, temp_c=np.full((days, 2), np.nan),
    )  # fmt: skip
    readings.merge(store, record)
    with ThreadPoolExecutor(1) as pool:
        assess(store, date(2025, 2, 24), pool)
    return store


MANY = r"(?<![\d.,½–])\b1 (?:fields|off-seasons|wettings|layers|years|days|probes|rows)\b"


@pytest.mark.parametrize("page", ["field", "neighbours", "season"])
def test_one_is_not_told_as_many(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, page: str
) -> None:
    store = shallow(tmp_path / "store", 50)
    assert not re.search(MANY, said(launched(store, monkeypatch, page)))


def test_a_field_that_is_alone_is_not_sent_to_another_likeness(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = shallow(tmp_path / "store", 50)
    told = said(launched(store, monkeypatch, "neighbours"))
    assert "There is no other field with a probe to set beside A field with" in told
    assert "likeness" not in told
    assert "cannot be ranked" not in told
    assert told.count("No field’s water is known at this depth") == 2, "no axis without a field"


@pytest.mark.parametrize("days", [1, 50])
@pytest.mark.parametrize("page", PAGES)
def test_one_shallow_probe(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, page: str, days: int
) -> None:
    store = shallow(tmp_path / "store", days)
    app = launched(store, monkeypatch, page)
    said(app)
    app.button_group(key="units").set_value("mm").run()
    said(app)


@pytest.mark.parametrize("lacks", ["points: extraction.driest", f"{FIRST}: readiness.seen"])
def test_what_an_earlier_program_assessed_is_answered_with_what_to_do(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, lacks: str
) -> None:
    page, table, column = re.split("[:.] ?", lacks)
    store = Path(shutil.copytree(demo_store, tmp_path / "store"))
    files = store / "derived" / table / "*.parquet"
    with connection.writing(store) as db:
        early = db.sql(f"SELECT * EXCLUDE {column} FROM '{files}'")  # noqa: S608 - a test's own
        early.create_view(table, replace=True)
    told = said(launched(store, monkeypatch, page))
    assert "cannot be shown as the store stands" in told
    assert re.search(f"made by an earlier Overwinter.*{column}.*Run: overwinter assess", told)
