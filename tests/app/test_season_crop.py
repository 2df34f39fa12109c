"""The season's page on a crop that stood, and the landing page's words."""

import re
import shutil
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from analytics.cli import main
from analytics.store import coefficients, dismissals, people, preferences, results, staged
from analytics.store.statements import query
from analytics.water.demand import Crop
from analytics.water.news import Window
from analytics.water.season import Opening
from analytics.water.today import Supply
from dashboard.data import growing
from dashboard.words import growing as growing_words
from dashboard.words import news as news_words
from tests.app.launching import launched, said

CROP = {"field": "Lower Dunnet", "growing": "TF02 2025-04-27"}


def test_a_crop_that_stood_tells_what_it_used(demo_store: Path, monkeypatch) -> None:
    told = said(launched(demo_store, monkeypatch, "season", **CROP))
    row = pd.DataFrame(people.table(demo_store, "crop_water"))
    row = row[(row["site"] == "TF02") & (row["planted_on"] == "2025-04-27")].iloc[0]
    used = f"{row['use_mm'] / 25.4:.1f} in"
    assert f"Lower Dunnet, corn 2025: {used} used, harvested." in told
    assert "What the soil gave" in told
    assert "What each layer gave" in told
    assert re.search(r"10 days ahead, in \d+ past forecasts", told)


def test_a_day_of_it_is_looked_at_again(demo_store: Path, monkeypatch) -> None:
    told = said(launched(demo_store, monkeypatch, "season", **CROP, on="2025-06-20"))
    assert re.search(r"Lower Dunnet, corn, 20 Jun: \d\.\d in short within its roots", told)
    assert "Run from today" in told
    assert "Water to maturity" in told
    assert "Start on the day chosen" in told
    assert "used, harvested" not in told


def test_the_coefficients_can_be_set_and_are_refused_without_a_name(
    demo_store: Path, monkeypatch
) -> None:
    app = launched(demo_store, monkeypatch, "season", **CROP)
    mid = next(one for one in app.number_input if one.label == "Kc, mid-season")
    assert mid.value == pytest.approx(1.2)
    save = next(one for one in app.button if one.label == "Save this version")
    mid.set_value(1.1)
    save.click().run()
    assert any("no author is named" in one.value for one in app.warning)
    assert query(demo_store, "show_coefficients").empty


def test_a_crop_that_no_table_knows_is_given_its_coefficients_here(
    demo_store: Path, tmp_path: Path, monkeypatch
) -> None:
    store = tmp_path / "store"
    shutil.copytree(demo_store, store)
    (tmp_path / "seasons.csv").write_text(
        "field,crop,planted_on\nlower-dunnet,Teff,2026-06-01\n", encoding="utf-8"
    )
    assert main(["import", str(store), str(tmp_path / "seasons.csv")]) == 0
    monkeypatch.setattr(growing, "assessed", lambda *_: {})  # two minutes, and not asked here
    app = launched(store, monkeypatch, "season", **CROP)
    assert "Teff: no coefficients yet" in [one.label for one in app.expander]
    assert "Of Teff (1 field) no demand" in said(app)
    save = [one for one in app.button if one.label == "Save this version"][-1]
    app = save.click().run()
    assert any("all three coefficients" in one.value for one in app.warning)
    empty = [one for one in app.number_input if one.value is None]
    for box, value in zip(empty, (0.3, 1.0, 0.4, 20, 30, 40, 20), strict=True):
        box.set_value(value)
    for label, words in (("Set by", "Ash"), ("Reason", "a trial next door")):
        [one for one in app.text_input if one.label == label][-1].set_value(words)
    app = [one for one in app.button if one.label == "Save this version"][-1].click().run()
    assert not app.exception, app.exception
    assert coefficients.in_force(store, "teff", "lower-dunnet") == Crop(
        0.3, 1.0, 0.4, (20, 30, 40, 20)
    )
    assert "Teff: no coefficients yet" not in [one.label for one in app.expander]


@pytest.fixture
def told_store(demo_store: Path, tmp_path: Path) -> Path:
    """Give the demonstration a few words that need a person."""
    store = tmp_path / "store"
    shutil.copytree(demo_store, store)
    day = pd.Timestamp(2026, 2, 23)
    rows = pd.DataFrame([
        {"field": "lower-dunnet", "site": "TF02", "kind": kind, "since": since,
         "on": pd.Timestamp(2026, 2, 20), "figure": 30.0, "depth_cm": depth}
        for kind, since, depth in (("parted", day, 60.0), ("silent", day - pd.Timedelta(days=2),
                                                          float("nan")))
    ])  # fmt: skip
    results.publish(store, {"TF02": {**_kept(store), "news": rows}}, day.date(),
                    preferences.thresholds(store), "test")  # fmt: skip
    return store


def _kept(store: Path) -> dict[str, pd.DataFrame]:
    names = (*staged.PER_SITE, *staged.PER_BUCKET)
    tables = {one: pd.DataFrame(people.table(store, one)) for one in names}
    return {one: rows[rows["site"] == "TF02"] for one, rows in tables.items()}


def test_the_landing_page_says_what_needs_a_person_and_it_can_be_put_aside(
    told_store: Path, monkeypatch
) -> None:
    app = launched(told_store, monkeypatch)
    told = said(app)
    assert "2 that need a person, 1 new since yesterday" in told
    labels = [one.label for one in app.button]
    assert "Lower Dunnet: the soil is drier than water and weather explain" in labels
    assert "Lower Dunnet: the probe has gone silent" in labels
    dismissals.put_aside(told_store, "lower-dunnet", "silent", date(2026, 2, 21),
                         author="Ines", reason="battery ordered")  # fmt: skip
    again = said(launched(told_store, monkeypatch))
    assert "1 that needs a person, 1 new since yesterday" in again


def test_nothing_is_shown_where_nothing_needs_a_person(demo_store: Path, monkeypatch) -> None:
    assert "needs a person" not in said(launched(demo_store, monkeypatch))


@pytest.mark.parametrize(("kind", "told"), [
    ("silent", "gone silent"), ("no_answer", "rain that no layer answered"),
    ("parted", "drier than water and weather explain"), ("refill", "refill point is near"),
    ("run", "time to run"), ("open", "decisions open again"),
    ("last_pass", "the last irrigation is due"),
])  # fmt: skip
def test_each_kind_has_its_sentence(kind: str, told: str) -> None:
    row = {"kind": kind, "on": pd.Timestamp(2025, 7, 3), "figure": 25.4, "depth_cm": 60.0}
    line, evidence = news_words.line(row, "Ansel 6", "in")
    assert told in line
    assert line.startswith("Ansel 6")
    assert "3 Jul" in evidence


@pytest.mark.parametrize(("day", "told"), [
    (date(2025, 5, 1), "A decision is open until 31 May; then run to 1 Sep."),
    (date(2025, 7, 1), "cannot keep up until 1 Sep: run."),
    (date(2025, 9, 2), "Since 1 Sep its source keeps up again"),
])  # fmt: skip
def test_whether_a_decision_is_open(day: date, told: str) -> None:
    window = Window(pd.DataFrame(), (date(2025, 6, 1), date(2025, 9, 1)))
    none = Window(pd.DataFrame(), None)
    assert told in growing_words.open_words(day, window, supply(3.0))
    assert "Dryland" in growing_words.open_words(day, none, supply(float("nan")))
    assert "keeps up all season" in growing_words.open_words(day, none, supply(9.0))


def supply(capacity: float, *water: date) -> Supply:
    return Supply(capacity_mm_d=capacity, efficiency=0.9, opening=Opening(*water, month=1))


@pytest.mark.parametrize(("day", "first", "told"), [
    (date(2025, 5, 1), date(2025, 6, 1),
     "Its source has water from 20 May; a decision is open from then until 1 Jun; then run to"),
    (date(2025, 5, 1), date(2025, 5, 20), "Its source has water from 20 May; then run to"),
    (date(2025, 7, 1), date(2025, 6, 1),
     "Its source cannot keep up until 1 Sep, when its water ends: run."),
    (date(2025, 9, 2), date(2025, 6, 1), "Its source has no water since 1 Sep: there is"),
])  # fmt: skip
def test_a_source_s_water_comes_before_any_decision(day: date, first: date, told: str) -> None:
    dates = date(2025, 5, 20), date(2025, 9, 1)
    window = Window(pd.DataFrame(), (first, dates[1]), Opening(*dates))
    assert told in growing_words.open_words(day, window, supply(3.0, *dates))


def test_weeks_to_run_and_the_last_irrigation_tell_one_story(
    demo_store: Path, monkeypatch
) -> None:
    told = said(launched(demo_store, monkeypatch, "season", field="Little Ottery"))
    shut = re.search(r"the source may be shut after (\d+ \w+)", told)
    run = re.search(r"then run to (\d+ \w+)", told)
    assert shut
    assert run
    assert shut[1] != run[1]
    assert f"Run from today, it has had enough by {shut[1]}: soil and rain see it" in told


def test_a_standing_crop_is_run_from_the_day_its_wells_have_water(
    demo_store: Path, monkeypatch
) -> None:
    told = said(launched(demo_store, monkeypatch, "season", field="Teasel 6"))
    assert "Its source has water from 24 Mar; then run to 6 Jun." in told
    assert "Run from 24 Mar" in told
    assert "Run from today" not in told
