"""The season's page: when to decide and when to run, and the one bank that both pages count."""

import json
import re
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from analytics.store import layout, people
from dashboard.words import season as season_words
from tests.app.launching import launched, said


def test_it_says_when_to_run_and_when_to_decide(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = said(launched(demo_store, monkeypatch, "season", field="Ansel 6"))
    run = r"Ansel 6, corn planted 1 May: run from \d+ Jun to \d+ Sep"
    assert re.search(run + r"; decide until \d+ Jun and from", told)
    assert re.search(r"Bench wells can give 0\.\d\d in a day net", told)
    assert "36 fields" in told


def test_a_small_source_runs_all_season(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = said(launched(demo_store, monkeypatch, "season", field="Corrie 12"))
    assert re.search(r"Corrie 12, corn planted 6 May: run from 7 May to \d+ Oct\.", told)


def test_a_field_that_is_not_there_is_told(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(demo_store, monkeypatch, "season")
    app.query_params["field"] = "Nope"  # the first page would have struck it out
    app.run()
    assert [one.value for one in app.warning] == [
        "No field here is called “Nope”. Ansel 6 is shown instead."
    ]
    assert not launched(demo_store, monkeypatch, "season", field="Ansel 6").warning


def test_millimetres(demo_store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    told = said(launched(demo_store, monkeypatch, "season", units="mm"))
    assert re.search(r"can give \d\.\d mm a day", told)


def test_the_bank_is_the_watering_orders(demo_store: Path) -> None:
    windows = people.table(demo_store, "season_windows").set_index("field")
    order = people.table(demo_store, "order").set_index("field")
    known = windows["bank_mm"].dropna()
    under_crop = people.table(demo_store, "order_left_out")["field"]
    assert {"teasel-6", "little-ottery"} <= set(known.index) & set(under_crop)
    known = known.drop(under_crop, errors="ignore")
    assert len(known) > 30
    for field, mm in known.items():
        why = json.loads(str(order.loc[str(field), "reason"])).get("why", {})
        assert why["bank_mm"] == pytest.approx(mm, abs=5e-4)  # kept to a micrometre


def test_an_empty_store_says_what_is_missing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    layout.create(tmp_path / "store")
    launched(tmp_path / "store", monkeypatch, "season")


@pytest.mark.parametrize(("run", "capacity", "told"), [
    (("2026-06-07", "2026-08-20"), 5.0, "run from 7 Jun to 20 Aug; decide until 6 Jun and"),
    (("2026-05-07", "2026-09-20"), 1.0, "run from 7 May to 20 Sep."),
    ((None, None), 9.0, "keeps up all season"),
    ((None, None), float("nan"), "dryland"),
])  # fmt: skip
def test_each_case_has_its_sentence(
    run: tuple[str | None, str | None], capacity: float, told: str
) -> None:
    assert told in season_words.answer(window(run, capacity), "Corrie 12")


def window(run: tuple[str | None, str | None], capacity: float, water=(None, None)) -> dict:
    told = zip(("run_from", "run_until", "water_from", "water_until"), (*run, *water),
               strict=True)  # fmt: skip
    return {"crop": "corn", "planting": date(2026, 5, 6), "ends_on": date(2026, 9, 20),
            "capacity_mm_d": capacity,
            **{key: pd.Timestamp(one) if one else None for key, one in told}}  # fmt: skip


@pytest.mark.parametrize(("run", "water", "told"), [
    (("2026-06-07", "2026-08-01"), (None, "2026-08-01"),
     "run from 7 Jun to 1 Aug, when its water ends; decide until 6 Jun."),
    (("2026-06-07", "2026-07-20"), (None, "2026-08-01"),
     "run from 7 Jun to 20 Jul; decide until 6 Jun and from 21 Jul on."),
    (("2026-06-01", "2026-09-20"), ("2026-06-01", None),
     "its source has water from 1 Jun; run from 1 Jun to 20 Sep."),
    (("2026-06-07", "2026-09-20"), ("2026-06-01", None),
     "its source has water from 1 Jun; run from 7 Jun to 20 Sep; decide until 6 Jun."),
    ((None, None), ("2026-06-01", "2026-08-01"),
     "keeps up while it has water, from 1 Jun until 1 Aug, so every irrigation is"),
    ((None, None), (None, "2026-04-01"), "its source has no water all season"),
    ((None, None), ("2026-10-01", None), "its source has no water all season"),
])  # fmt: skip
def test_the_source_s_dates_are_told_where_they_decide(
    run: tuple[str | None, str | None], water: tuple[str | None, str | None], told: str
) -> None:
    assert told in season_words.answer(window(run, 5.0, water), "Corrie 12")
