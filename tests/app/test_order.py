"""The watering order's page: its answer, each control, what is taken away, empty stores."""

import json
import re
import shutil
from datetime import date, timedelta
from math import isnan
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pytest
from shapely import box

from analytics.settings import Settings
from analytics.store import layout, people, results, staged
from analytics.store.order_told import inputs_read
from analytics.store.statements import query
from analytics.water.order import solve
from dashboard.charts.palette import LIGHT
from dashboard.data import Store, opened, watering
from dashboard.views.parts import order_page, order_take, order_whatif
from tests.app.launching import EMPTY_WORDS, launched, said, turned_to

A_DAY = timedelta(days=1)


@pytest.fixture
def store(demo_store: Path, tmp_path: Path) -> Path:
    """Give a copy of the demonstration, for tests that write."""
    return Path(shutil.copytree(demo_store, tmp_path / "store"))


@pytest.fixture
def about(demo_store: Path, monkeypatch: pytest.MonkeyPatch) -> Store:
    monkeypatch.setenv("OVERWINTER_STORE", str(demo_store))
    return opened()


@pytest.fixture
def shown(about: Store) -> order_page.Shown:
    return order_page.gathered(about, LIGHT, "in", "")


def test_the_answer_names_those_who_begin_on_the_first_day(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    words = said(launched(demo_store, monkeypatch, "order"))
    order = people.table(demo_store, "order").sort_values("rank")
    day = order["starts_on"].min()
    first = order.loc[order["starts_on"] == day, "field"]
    names = people.fields(demo_store).set_index("field").loc[first, "name"]
    assert f"Start {' and '.join(names)} on {day:%A} {day.day} {day:%B}; " in words
    assert "Local water rules and permits come first." in words
    assert "of what the season’s allocation gives" in words
    assert "past forecasts" in words


def test_one_source_at_a_time(demo_store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    app = launched(demo_store, monkeypatch, "order")
    sources = people.table(demo_store, "sources").set_index("source")["name"]
    order = people.table(demo_store, "order")
    name = sources.iloc[0]
    app.selectbox(key="queue").select(sources.index[0]).run()
    words = said(app)
    assert f"{name}, " in words
    own = order[order["source"] == sources.index[0]]
    assert f" of {int(own['rank'].notna().sum())} field" in words


def test_millimetres(demo_store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    app = launched(demo_store, monkeypatch, "order", units="mm")
    words = said(app)
    assert "Net, mm" in words
    assert "L/s" in words
    assert not re.search(r"\d gpm", words)  # the list of words names both units


def test_half_the_capacity_leaves_more_unfilled_and_is_kept_and_reopened(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(store, monkeypatch, "order")
    app.slider(key="what_if_capacity").set_value(40).run()
    words = said(app)
    told = {"capacity": {"source": "", "share": 0.4}}
    settings = Settings()
    given = inputs_read(people.table(store, "order_inputs"), as_of(store), settings)
    lacks = solve(watering.changed_by(given, told, {})).order["unfilled_mm"].sum()
    assert lacks > solve(given).order["unfilled_mm"].sum()
    assert "stay unfilled</b>" not in words
    assert " stay unfilled in " in words
    assert "can put on" in words
    app.text_input(key="scenario_name").input("Well 2 weak").run()
    app.text_input(key="scenario_by").input("Ash").run()
    app.button(key="scenario_save").click().run()
    said(app)
    kept = query(store, "show_scenarios")
    assert json.loads(kept["told"].iloc[0]) == told
    fresh = launched(store, monkeypatch, "order")
    assert "put on in all" not in said(fresh)
    fresh.button(key="scenario_open").click().run()
    assert fresh.slider(key="what_if_capacity").value == 40
    assert "put on in all" in said(fresh)
    fresh.button(key="scenario_drop").click().run()
    assert query(store, "show_scenarios").empty


def as_of(store: Path) -> date:
    return query(store, "show_about").iloc[0]["as_of"].date()


@pytest.mark.parametrize(("key", "value", "name"), [
    ("planting", -7, "planting_days"), ("wait", 28, "wait_days"), ("rain", 2.0, "rain"),
    ("target", 3.0, "target_mm"), ("sure", 60, "reliability"), ("ceiling", 95, "ceiling"),
])  # fmt: skip
def test_each_change_makes_another_plan_or_the_same(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch, key: str, value: float, name: str
) -> None:
    app = launched(demo_store, monkeypatch, "order")
    if key in {"rain", "target"}:
        app.number_input(key=f"what_if_{key}_in").set_value(value).run()
    else:
        app.slider(key=f"what_if_{key}").set_value(value).run()
    assert "put on in all" in said(app), name
    app.button[0].click().run()
    assert "put on in all" not in said(app)


def test_a_source_off_and_an_allocation(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(demo_store, monkeypatch, "order")
    source = people.table(demo_store, "sources")["source"].iloc[0]
    app.selectbox(key="what_if_off").select(source).run()
    assert "put on in all" in said(app)
    app.selectbox(key="what_if_allocation_of").select(source).run()
    app.number_input(key=f"what_if_allocation_{source}_in").set_value(1.0).run()
    assert "put on in all" in said(app)


def test_a_depth_stays_the_same_in_other_units_and_on_another_page(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = turned_to(launched(demo_store, monkeypatch), "order")
    app.number_input(key="what_if_rain_in").set_value(2.0).run()
    app.segmented_control(key="units").set_value("mm").run()
    assert app.number_input(key="what_if_rain_mm").value == 50.8
    turned_to(app, "going_in")
    turned_to(app, "order")
    assert app.number_input(key="what_if_rain_mm").value == 50.8
    app.segmented_control(key="units").set_value("in").run()
    assert app.number_input(key="what_if_rain_in").value == 2.0
    assert "put on in all" in said(app)


def test_each_source_has_its_own_allocation_also_after_going_back(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(demo_store, monkeypatch, "order")
    sources = people.table(demo_store, "sources").set_index("source")["allocation_mm"]
    next(one for one in app.button if one.label == "Back to the present plan").click().run()
    for source, mm in sources.items():
        app.selectbox(key="what_if_allocation_of").select(source).run()
        box_ = app.number_input(key=f"what_if_allocation_{source}_in")
        assert box_.value == pytest.approx(mm / 25.4, abs=0.005)
        assert "put on in all" not in said(app)


def test_a_source_that_the_order_does_not_know_has_no_allocation_to_change(
    shown: order_page.Shown,
) -> None:
    assert isnan(order_whatif._allocation_mm(shown, "a well without a capacity"))


def test_an_allocation_of_nothing_lets_nothing_be_pumped(about: Store) -> None:
    source = watering.inputs(about).sources[0].source
    laid = watering.what_if(about, {"allocation": {"source": source, "mm": 0.0}})
    assert laid.plan.loc[laid.plan["source"] == source].empty


def test_a_high_target_never_gives_less_than_the_present_plan(about: Store) -> None:
    now = {one.field: one.target_mm for one in watering.inputs(about).fields}
    high = watering.changed_by(watering.inputs(about), {"target_mm": 1e4}, {})
    assert all(one.target_mm >= now[one.field] - 1e-3 for one in high.fields)
    assert all(one.target_mm <= one.need_mm + 100.0 for one in high.fields)


def test_sources_of_one_name_are_told_apart_and_one_without_goes_by_its_id(
    about: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    rows = pd.DataFrame(
        {"source": list("abcd"), "name": ["North wells", "", "North wells", None]}
    )
    monkeypatch.setattr(watering, "_whole", lambda *_: rows)
    assert watering.source_names(about) == {
        "a": "North wells (a)", "b": "b", "c": "North wells (c)", "d": "d",
    }  # fmt: skip


def test_a_wait_counts_from_the_first_day_of_the_present_plan(about: Store) -> None:
    now = watering.what_if(about, {}).plan.groupby("source")["date"].min()
    then = watering.what_if(about, {"wait_days": 14}).plan.groupby("source")["date"].min()
    later = (then - now).dropna()
    assert len(later)
    assert (later.dt.days >= 14).all()


def test_rain_and_later_planting_as_told_change_the_inputs(about: Store) -> None:
    given = watering.inputs(about)
    day = about.as_of
    assert day is not None
    wet = watering.changed_by(given, {"rain": {"mm": 50.0, "day": f"{day}"}}, {})
    assert sum(f.target_mm for f in wet.fields) < sum(f.target_mm for f in given.fields)
    begins = dict.fromkeys((one.source for one in given.sources), day + timedelta(days=9))
    late = watering.changed_by(given, {"planting_days": 7, "wait_days": 3}, begins)
    assert len(late.days) == len(given.days) + 7
    assert all(one.off == ((day + A_DAY, day + 12 * A_DAY - A_DAY),) for one in late.sources)
    assert watering.changed_by(given, {}, {}).fields[0].planting == given.fields[0].planting


def test_the_calendar_has_an_event_for_each_stretch(shown: order_page.Shown) -> None:
    words = order_take.calendar(shown)
    spans = order_page.blocks(shown.laid.plan)
    assert words.count("BEGIN:VEVENT") == sum(len(own) for own in spans.values())
    assert ": 0.0 in net" not in words
    assert all(len(line.encode()) <= 75 for line in words.split("\r\n"))


def test_geojson_has_every_field_of_the_order(shown: order_page.Shown) -> None:
    found = json.loads(order_take.geojson(shown))
    assert len(found["features"]) == len(shown.laid.order)
    told = {one["properties"]["field"]: one["properties"] for one in found["features"]}
    first = shown.laid.order.iloc[0]
    assert told[first["field"]]["net_mm"] == pytest.approx(first["net_mm"], abs=1e-3)


def test_the_valve_page_begins_where_there_is_water() -> None:
    def begins(*days: str) -> date:
        plan = pd.DataFrame({"date": pd.to_datetime(pd.Series(days, dtype="str"))})
        return order_take.first_day(plan, date(2026, 3, 1))

    assert begins() == begins("2026-02-20") == begins("2026-03-11") == date(2026, 3, 1)
    assert begins("2026-03-12", "2026-04-02") == date(2026, 3, 12)


def test_the_valve_page_tells_today_and_ten_days(shown: order_page.Shown) -> None:
    first = shown.laid.plan["date"].min().date()
    words = order_take.valve_page(shown, first)
    assert words.count("<section>") == 11
    row = shown.laid.plan.sort_values("date").iloc[0]
    assert row["name"] in words
    assert f"{row['net_mm'] / 25.4:.2f} in net" in words
    assert not re.search(r"(src|href)=|https?:", words)
    assert not EMPTY_WORDS.search(words)


def one_field(store: Path) -> Path:
    layout.create(store)
    where = [box(-101.5, 37.0, -101.49, 37.01)]
    shape = gpd.GeoDataFrame(
        {"field": ["f1"], "name": ["Lone"]}, geometry=where, crs="EPSG:4326"
    )
    people.put(store, "fields", shape)
    return store


def test_without_sources_the_page_says_what_to_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = published(one_field(tmp_path / "s"))
    words = said(launched(store, monkeypatch, "order"))
    assert "No water source is known" in words
    assert "Import a sources table" in words


def test_without_weather_each_field_says_why(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = published(one_field(tmp_path / "s"))
    people.put(store, "sources", pd.DataFrame({"source": ["w"], "capacity_l_s": [20.0]}))
    words = said(launched(store, monkeypatch, "order"))
    assert "cannot be judged" in words or "can be judged" in words
    assert "there is no weather station" in words


def published(store: Path) -> Path:
    """Give the store a generation in which its one field is left out for want of weather."""
    day = date(2025, 2, 24)
    row = {"field": "f1", "site": "s1", "date": day, "zone": "profile", "deficit_mm": 10.0}
    people.put(store, "sites", pd.DataFrame({
        "site": ["s1"], "field": "f1", "latitude": 37.0, "longitude": -101.5,
        "timezone": "America/Chicago",
        "installed_on": pd.Timestamp("2020-01-01")}))  # fmt: skip
    made = staged.stage(store, 1, "s1", {"readiness": pd.DataFrame([row])}, day)
    why = "field f1: there is no weather station for it. Import a station and its weather."
    whole = {name: pd.DataFrame() for name in results.WHOLE}
    whole["order_left_out"] = pd.DataFrame([{"field": "f1", "site": "s1", "why": why}])
    results.switch(store, [made], day, Settings(), "0", whole=whole)
    return store


def test_of_a_long_order_the_first_fields_are_drawn_and_all_are_listed(
    about: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    every = order_page.gathered(about, LIGHT, "in", "")
    count = int(every.laid.order["rank"].notna().sum())
    assert len(order_page.picture_rows(every)) == count
    monkeypatch.setattr(order_page, "DRAWN", 2)
    shown = order_page.gathered(about, LIGHT, "in", "")
    assert order_page.picture_rows(shown) == order_page.picture_rows(every)[:2]
    told = said(launched(about.path, monkeypatch, "order"))
    assert f"Drawn: the first 2 of {count} fields." in told
