"""Crops followed in a store: coefficients, words put aside, days looked at again, grades."""

import shutil
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analytics.errors import InputRefused, NotKnown, StoreError
from analytics.store import coefficients, connection, dismissals, people, preferences, results
from analytics.store.crops import followed, supply_of
from analytics.store.statements import query
from analytics.water.ahead import last_pass, offered, path
from analytics.water.demand import CROPS
from analytics.water.today import look_ahead

MINE = CROPS["maize"]._replace(kc_mid=1.05)


def touched(store: Path) -> int:
    return len(query(store, "touched_sites"))


def test_a_version_holds_until_it_is_taken_back(empty: Path) -> None:
    assert coefficients.in_force(empty, "corn", "f") == CROPS["maize"]
    every = coefficients.save(empty, "corn", "", MINE, author="Ines", reason="trial")
    own = MINE._replace(kc_mid=0.95)
    one = coefficients.save(empty, "maize", "f", own, author="Ines", reason="thin stand")
    assert coefficients.in_force(empty, "field corn", "f") == own
    assert coefficients.in_force(empty, "corn", "g") == MINE
    coefficients.undo(empty, one, "Ines")
    assert coefficients.in_force(empty, "corn", "f") == MINE
    coefficients.undo(empty, every, "Ines")
    assert coefficients.in_force(empty, "corn", "f") == CROPS["maize"]
    kept = coefficients.history(empty)
    assert kept["id"].tolist() == [one, every]
    assert kept["undone_by"].tolist() == ["Ines", "Ines"]
    with pytest.raises(NotKnown):
        coefficients.undo(empty, one, "Ines")


@pytest.mark.parametrize(("change", "author", "reason", "told"), [
    ({}, "", "r", "no author"), ({}, "A", " ", "no reason"),
    ({"kc_mid": 0.0}, "A", "r", "kc_mid is 0"), ({"kc_ini": 1.7}, "A", "r", "kc_ini is 1.7"),
    ({"stages_d": (0, 40, 50, 30)}, "A", "r", "stages"),
    ({"stages_d": (100, 140, 150, 30)}, "A", "r", "at most 400"),
])  # fmt: skip
def test_what_is_not_plausible_is_refused(
    empty: Path, change: dict, author: str, reason: str, told: str
) -> None:
    with pytest.raises(InputRefused, match=told):
        coefficients.save(empty, "corn", "", MINE._replace(**change), author=author,
                          reason=reason)  # fmt: skip
    assert coefficients.history(empty).empty


def test_every_site_is_due_when_demand_changes(demo_store: Path, tmp_path: Path) -> None:
    store = tmp_path / "store"
    shutil.copytree(demo_store, store)
    assert touched(store) == 0
    coefficients.save(store, "corn", "", MINE, author="Ines", reason="trial")
    assert touched(store) == 36


def test_words_are_put_aside_with_a_reason(empty: Path) -> None:
    day = date(2025, 7, 20)
    dismissals.put_aside(empty, "f", "refill", day, author="Ines", reason="rain is coming")
    (row,) = dismissals.listed(empty).to_dict("records")
    assert (row["field"], row["kind"], row["since"].date()) == ("f", "refill", day)
    for author, reason in (("", "x"), ("x", "")):
        with pytest.raises(InputRefused):
            dismissals.put_aside(empty, "f", "refill", day, author=author, reason=reason)


@pytest.fixture(scope="module")
def graded(demo_store: Path) -> dict[str, dict]:
    rows = pd.DataFrame(people.table(demo_store, "season_grade"))
    return {row["kind"]: row for row in rows.to_dict("records")}


def test_the_probe_s_daily_word_makes_forecasts_better(graded: dict[str, dict]) -> None:
    """The hindcast on every season: the demonstration shares no code with the science."""
    probe, alone = graded["corrected"], graded["alone"]
    assert probe["n"] > 3000
    assert abs(probe["bias_mm"]) < 8.0
    assert probe["mean_abs_error_mm"] < 15.0
    assert probe["mean_abs_error_mm"] < alone["mean_abs_error_mm"] / 2
    assert 0.8 <= probe["coverage_80"] <= 0.95


def test_every_crop_s_use_closes(demo_store: Path) -> None:
    rows = pd.DataFrame(people.table(demo_store, "crop_water"))
    closes = rows["rain_mm"] + rows["irrigation_mm"] + rows["soil_mm"] - rows["drained_mm"]
    told = rows["use_mm"].notna()
    assert told.sum() > 200
    assert rows.loc[told, "use_mm"].to_numpy() == pytest.approx(closes[told].to_numpy())
    assert rows.loc[rows["crop"] == "winter wheat", "open"].any()  # it stands in February


def test_a_past_day_is_seen_with_what_was_known_then(demo_store: Path) -> None:
    found = followed(demo_store, "TF02", date(2025, 4, 27), date(2025, 7, 10))
    assert found is not None
    assert found.crop.last == date(2025, 7, 10)
    assert found.crop.season.matured_on is None  # it was mature in August
    assert found.crop.matures_on > date(2025, 9, 15)  # by the stages of Table 11
    assert found.crop.told["date"].max() == pd.Timestamp(2025, 7, 10)
    late = followed(demo_store, "TF02", date(2025, 4, 27), date(2025, 9, 10))
    assert late is not None
    assert late.crop.matures_on == date(2025, 8, 31)  # by then it was known
    ahead = look_ahead(found.crop, found.place, found.supply, found.error_mm, found.settings)
    assert ahead is not None
    assert ahead.error_mm > 0
    hold, run = (path(ahead, offered(ahead, first)) for first in (None, 0))
    assert (hold.middle_mm >= run.middle_mm).all()
    left = last_pass(ahead, found.settings)
    assert left.net_mm == pytest.approx(max(left.water_mm - left.rain_mm - left.soil_mm, 0))


def test_nobody_is_followed_where_nothing_is_known(demo_store: Path) -> None:
    assert followed(demo_store, "TF02", date(2025, 4, 28), date(2025, 7, 10)) is None


def test_a_dryland_field_has_no_supply(demo_store: Path) -> None:
    settings = followed(demo_store, "TF02", date(2025, 4, 27), date(2025, 7, 10)).settings  # pyright: ignore[reportOptionalMemberAccess]
    fed = supply_of(demo_store, "lower-dunnet", date(2026, 2, 23), settings)
    assert fed.capacity_mm_d > 0
    assert np.isnan(supply_of(demo_store, "nowhere", date(2026, 2, 23), settings).capacity_mm_d)


def test_a_store_of_an_earlier_form_is_brought_up_by_its_next_results(empty: Path) -> None:
    """Empty result files are named after their form, so that a wider table gets a new one."""
    with connection.writing(empty) as db:
        db.execute("DROP VIEW depletion")
    with pytest.raises(StoreError, match=r"knew no table 'depletion'\. Run: overwinter assess"):
        people.table(empty, "depletion")
    settings = preferences.thresholds(empty)
    results.publish(empty, {}, date(2025, 1, 1), settings, "test")
    assert people.table(empty, "depletion").empty


def test_roots_stop_at_a_layer_that_the_field_says_they_cannot_pass(
    demo_store: Path, tmp_path: Path
) -> None:
    store = Path(shutil.copytree(demo_store, tmp_path / "store"))
    before = followed(store, "TF02", date(2025, 4, 27), date(2025, 7, 10))
    fields = people.fields(store)
    own = fields["field"] == people.table(store, "sites").set_index("site")["field"]["TF02"]
    people.put(store, "fields", fields.assign(root_limit_cm=np.where(own, 60.0, np.nan)))
    after = followed(store, "TF02", date(2025, 4, 27), date(2025, 7, 10))
    assert before is not None
    assert after is not None
    assert before.crop.told["root_cm"].max() > 100.0
    assert after.crop.told["root_cm"].max() == 60.0
