"""The page of points: each control, on a store of one probe; and whole on the demonstration."""

import re
import shutil
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely import box
from streamlit.testing.v1 import AppTest

from analytics.model import Record
from analytics.soil.extraction import quarter_shares
from analytics.store import layout, people, readings
from analytics.store.assessment import assess
from analytics.store.statements import query
from dashboard import data
from dashboard.data import layer_points
from dashboard.words import plain
from dashboard.words.points import work_line
from tests.app.launching import launched, said, session

DAY = date(2025, 2, 24)
DEPTHS = np.array([15.0, 45.0, 75.0])
FULL = np.array([0.28, 0.30, 0.31])


def wetted(days: np.ndarray) -> np.ndarray:
    """Water content of a soil that drains to FULL after three wettings each off-season."""
    theta = np.repeat(FULL[None, :], len(days), axis=0) - 0.05
    stamps = pd.DatetimeIndex(days)
    since = np.full(len(days), np.inf)
    age = np.inf
    for i, day in enumerate(stamps):
        age = 0.0 if (day.month, day.day) in {(11, 20), (1, 5), (2, 10)} else age + 1
        since[i] = age
    wet = np.isfinite(since)
    theta[wet] = FULL + 0.06 * np.exp(-since[wet, None] / 2.0)
    growing = np.asarray((stamps.month >= 5) & (stamps.month <= 10))
    dried = np.clip((stamps.day_of_year.to_numpy() - 121) / 120, 0, 1)[:, None]
    theta[growing] -= (0.15 * dried)[growing]
    return theta


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build a store of one probe with learned points, assessed."""
    store = tmp_path_factory.mktemp("points") / "store"
    layout.create(store)
    shape = gpd.GeoDataFrame(
        {"field": ["f1"], "name": ["Ferncombe 3"], "soil": ["silt loam"]},
        geometry=[box(-101.5, 37.0, -101.49, 37.01)], crs="EPSG:4326",
    )  # fmt: skip
    people.put(store, "fields", shape)
    stays = [pd.Timestamp("2020-04-01"), pd.Timestamp("2021-10-15")]
    people.put(store, "sites", pd.DataFrame({
        "site": "s1", "field": "f1", "latitude": 37.0, "longitude": -101.5,
        "timezone": "America/Chicago", "installed_on": stays,
        "removed_on": [stays[1], pd.NaT]}))  # fmt: skip
    years = range(2020, 2025)
    people.put(store, "seasons", pd.DataFrame({
        "field": "f1", "crop": "corn",
        "planted_on": [pd.Timestamp(f"{year}-05-01") for year in years],
        "harvested_on": [pd.Timestamp(f"{year}-10-10") for year in years]}))  # fmt: skip
    times = np.arange(np.datetime64("2020-06-01T12:00"), np.datetime64("2025-02-24T18:00"),
                      np.timedelta64(1, "D")).astype("datetime64[us]")  # fmt: skip
    theta = wetted(times.astype("datetime64[D]"))
    readings.merge(store, Record(site="s1", times=times, depths_cm=DEPTHS, theta=theta,
                                 temp_c=np.full(theta.shape, 8.0)))  # fmt: skip
    with ThreadPoolExecutor(1) as pool:
        assess(store, DAY, pool)
    return store


@pytest.fixture
def store(built: Path, tmp_path: Path) -> Path:
    """Give a copy that a test may write to."""
    return Path(shutil.copytree(built, tmp_path / "store"))


def set_points(store: Path) -> pd.DataFrame:
    return query(store, "show_set_points", site="s1")


def results(store: Path) -> dict[str, pd.DataFrame]:
    return {name: people.table(store, name) for name in ("limits", "readiness", "tally")}


def in_force(store: Path, depth: float = 15.0) -> float:
    found = query(store, "layer_points", site="s1", placement=2, depth_cm=depth)
    return float(found["full"].iloc[0])


def signed(app: AppTest, by: str = "A. Ash", why: str = "cored in March") -> AppTest:
    app.text_input(key="point_by").set_value(by)
    app.text_input(key="point_why").set_value(why)
    return app


def other_window(store: Path, value: float, by: str = "Ann") -> int:
    """Save the top layer's full point as the page of another window would; give its number."""
    there = data.opened()
    mine = layer_points.SetPoint(
        site="s1", placement=2, depth_cm=15.0, point="full", value=value, set_by=by,
        valid_from=layer_points.holds_from(there, "s1"), reason="a core of another day",
    )  # fmt: skip
    assert layer_points.set_all(there, [mine], lambda share, site: None) == {}
    return int(set_points(store)["id"].max())


def reconnected(app: AppTest, **address: str) -> AppTest:
    """Give a new session's first run, which is sent what the old one's browser shows."""
    fresh = session(**address)
    fresh._page_hash = app._page_hash
    return fresh._run(app._tree.get_widget_states())


def test_the_page_answers_first(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text = said(launched(store, monkeypatch, "points"))
    assert re.search(
        r"ow-answer\">(\d+ layers? in 1 field needs? a person|No full point)", text
    )
    assert "Full points: " in text
    assert "m³/m³, 8 in 10" in text


def test_a_value_is_previewed_and_nothing_is_written(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = results(store)
    app = launched(store, monkeypatch, "points", layer="15")
    now = float(app.number_input(key="point_value").value or 0.0)
    app.number_input(key="point_value").set_value(now + 0.04).run()
    text = said(app)
    assert f"with {now + 0.04:.3f}" in text
    assert app.slider(key="point_drag").value == pytest.approx(now + 0.04)
    assert set_points(store).empty
    for name, frame in before.items():
        pd.testing.assert_frame_equal(people.table(store, name), frame)


def test_the_slider_drags_the_number(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    app = launched(store, monkeypatch, "points", layer="45")
    app.slider(key="point_drag").set_value(0.333).run()
    assert app.number_input(key="point_value").value == pytest.approx(0.333)
    assert "with 0.333" in said(app)


@pytest.mark.parametrize(("by", "why"), [("", ""), ("A. Ash", " "), (" ", "cored")])
def test_author_and_reason_are_required(
    store: Path, monkeypatch: pytest.MonkeyPatch, by: str, why: str
) -> None:
    app = launched(store, monkeypatch, "points")
    app.number_input(key="point_value").set_value(0.35).run()
    signed(app, by, why).button(key="point_save").click().run()
    assert "Say who sets it, and why" in said(app)
    assert set_points(store).empty


def test_saving_writes_one_version_and_results_follow_then_taking_back_restores_all(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = results(store)
    app = launched(store, monkeypatch, "points", layer="15")
    app.number_input(key="point_value").set_value(0.345).run()
    signed(app).button(key="point_save").click().run()
    text = said(app)
    assert "Full point 0.345 saved" in text
    assert "cored in March" in text
    saved = set_points(store)
    assert len(saved) == 1
    assert saved["pinned"].all()
    assert saved["placement"].iloc[0] == 2
    assert in_force(store) == 0.345
    assert not people.table(store, "readiness").equals(before["readiness"])
    signed(app, "B. Birch", "a wheel track").button(key="point_back").click().run()
    text = said(app)
    assert "taken back" in text
    assert "a wheel track" in text  # the history keeps it
    for name, frame in before.items():
        pd.testing.assert_frame_equal(people.table(store, name), frame)


def test_what_is_typed_outlives_a_change_elsewhere_and_is_never_saved_unasked(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ben = launched(store, monkeypatch, "points", layer="15")
    ben.number_input(key="point_value").set_value(0.32).run()
    signed(ben, "Ben")
    other_window(store, 0.31)
    ben.button(key="point_save").click().run()
    assert "0.310 set by Ann holds now" in said(ben)
    assert ben.number_input(key="point_value").value == 0.32
    assert list(set_points(store)["value"]) == [0.31]
    ben.button(key="point_over").click().run()
    assert "Full point 0.320 saved" in said(ben)
    saved = set_points(store)
    assert list(zip(saved["value"], saved["set_by"], strict=True)) == [
        (0.32, "Ben"), (0.31, "Ann"),
    ]  # fmt: skip
    ben.run()
    assert "holds now" not in said(ben)


def test_a_number_that_was_only_signed_is_kept_as_if_typed(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ben = launched(store, monkeypatch, "points", layer="15")
    shown = ben.number_input(key="point_value").value
    signed(ben, "Ben")
    other_window(store, 0.31)
    ben.button(key="point_save").click().run()
    assert "0.310 set by Ann holds now" in said(ben)
    ben.run()
    assert ben.number_input(key="point_value").value == shown
    assert len(set_points(store)) == 1


def test_a_box_nobody_touched_follows_what_holds(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(store, monkeypatch, "points", layer="15")
    other_window(store, 0.31)
    app.run()
    assert app.number_input(key="point_value").value == 0.31
    assert app.slider(key="point_drag").value == 0.31
    assert "holds now" not in said(app)


def test_a_point_set_while_a_save_waits_its_turn_is_not_saved_over(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(store, monkeypatch, "points", layer="15")
    app.number_input(key="point_value").set_value(0.32).run()
    waits = layer_points.set_all

    def overtaken(*args: Any, **named: Any) -> dict[str, str]:
        monkeypatch.setattr(layer_points, "set_all", waits)
        other_window(store, 0.31)
        return waits(*args, **named)

    monkeypatch.setattr(layer_points, "set_all", overtaken)
    signed(app, "Ben").button(key="point_save").click().run()
    assert "0.31 m3/m3 by Ann" in said(app)
    assert list(set_points(store)["value"]) == [0.31]
    app.run()
    assert app.number_input(key="point_value").value == 0.32
    assert "0.310 set by Ann holds now" in said(app)


def test_a_new_session_keeps_what_the_browser_shows_and_saves_on_a_second_click(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(store, monkeypatch, "points", layer="15")
    app.number_input(key="point_value").set_value(0.34).run()
    signed(app, "Ben").button(key="point_save").click()
    fresh = reconnected(app, layer="15")
    assert "connected anew" in said(fresh)
    assert set_points(store).empty
    assert fresh.number_input(key="point_value").value == 0.34
    assert fresh.slider(key="point_drag").value == 0.34
    fresh.button(key="point_save").click().run()
    assert "Full point 0.340 saved" in said(fresh)
    assert list(set_points(store)["value"]) == [0.34]


def test_only_the_version_on_the_button_is_taken_back(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("OVERWINTER_STORE", str(store))
    other_window(store, 0.31)
    app = launched(store, monkeypatch, "points", layer="15")
    assert app.button(key="point_back").label == "Take back 0.310 set by Ann"
    signed(app, "Ann", "a slip")
    newest = other_window(store, 0.32, "Ben")
    app.button(key="point_back").click().run()
    text = said(app)
    assert "0.310 set by Ann does not hold any more" in text
    assert "0.320 set by Ben does. Nothing was taken back." in text
    assert "changed meanwhile" not in text
    assert set_points(store)["reverted_at"].isna().all()
    layer_points.take_back(data.opened(), newest, "Ben", "a slip", lambda share, site: None)
    app.button(key="point_back").click().run()  # still Ben's
    assert "0.310 set by Ann does. Nothing was taken back." in said(app)
    app.button(key="point_back").click().run()
    assert "Full point 0.310 set by Ann taken back" in said(app)
    assert set_points(store)["reverted_by"].tolist() == ["Ben", "Ann"]


def test_a_reason_serves_one_change_and_its_author_stays(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(store, monkeypatch, "points", layer="15")
    app.number_input(key="point_value").set_value(0.345).run()
    signed(app).button(key="point_save").click().run()
    assert (app.text_input(key="point_by").value, app.text_input(key="point_why").value) == (
        "A. Ash", "",
    )  # fmt: skip
    app.button(key="point_back").click().run()
    assert "Say who sets it, and why" in said(app)
    assert set_points(store)["reverted_at"].isna().all()
    signed(app, why="a wheel track").button(key="point_back").click().run()
    assert app.text_input(key="point_why").value == ""
    signed(app, why="of this layer").selectbox(key="layer").set_value("45").run()
    assert app.text_input(key="point_why").value == ""
    assert app.text_input(key="point_by").value == "A. Ash"


def test_names_are_shown_sign_by_sign_not_read_as_markdown(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("OVERWINTER_STORE", str(store))
    other_window(store, 0.31, "Tess *x*")
    app = launched(store, monkeypatch, "points", layer="15")
    assert app.button(key="point_back").label == r"Take back 0.310 set by Tess \*x\*"
    row = {"name": "Hay_field_*2*", "top_cm": 0.0, "bottom_cm": 30.0, "why": "drift",
           "effect_mm": 12.0}  # fmt: skip
    assert work_line(row, "in").startswith(r"**Hay\_field\_\*2\***, ")


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("Corrie 12, 0.310 m3/m3 (8 in 10)", "Corrie 12, 0.310 m3/m3 (8 in 10)"),
        ("odd_$x$.csv: [a](b)", r"odd\_\$x\$.csv\: \[a\](b)"),
        ("1. May", r"1\. May"),
        ("back\\slash `code` ~~no~~", r"back\\slash \`code\` \~\~no\~\~"),
    ],
)
def test_plain_words(given: str, shown: str) -> None:
    assert plain(given) == shown


def test_what_the_record_says_can_be_chosen_again_with_all_its_digits(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    learned = in_force(store)
    app = launched(store, monkeypatch, "points", layer="15")
    app.number_input(key="point_value").set_value(0.345).run()
    signed(app).button(key="point_save").click().run()
    choice = app.selectbox(key="point_from")
    assert any(one.startswith("the record’s own") for one in choice.options)
    choice.set_value("record 0").run()
    assert app.number_input(key="point_value").value == pytest.approx(learned, abs=5e-4)
    signed(app, why="the record is right").button(key="point_save").click().run()
    said(app)
    assert in_force(store) == learned
    assert len(set_points(store)) == 2


def test_a_value_that_cannot_stand_is_refused_in_words(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(store, monkeypatch, "points", layer="15")
    app.number_input(key="point_value").set_value(0.03).run()
    assert "from lower to full" in said(app)
    signed(app).button(key="point_save").click().run()
    assert "from lower to full" in said(app)
    assert set_points(store).empty


def test_all_sure_ones_are_accepted_at_once_and_nothing_moves(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = people.table(store, "readiness")
    app = launched(store, monkeypatch, "points")
    app.button(key="accept").click().run()
    assert "Say who sets it, and why" in said(app)
    assert set_points(store).empty
    app.text_input(key="accept_by").set_value("A. Ash")
    app.text_input(key="accept_why").set_value("looked through in February")
    app.button(key="accept").click().run()
    assert "accepted and pinned" in said(app)
    accepted = set_points(store)
    assert len(accepted) >= 1
    assert accepted["pinned"].all()
    after = people.table(store, "readiness")
    np.testing.assert_allclose(after["deficit_mm"], before["deficit_mm"], atol=1e-9)
    assert "No layer waits" in said(app)


def test_an_earlier_placement_is_for_comparison_only(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(store, monkeypatch, "points", layer="15")
    assert not [one for one in app.selectbox(key="point_from").options if "install" in one]
    assert "1 before the re-install" in str(app.get("vega_lite_chart")[0].proto)


@pytest.mark.parametrize("point", ["refill", "lower"])
def test_other_points_have_their_own_value(
    store: Path, monkeypatch: pytest.MonkeyPatch, point: str
) -> None:
    app = launched(store, monkeypatch, "points", layer="45")
    full = float(app.number_input(key="point_value").value or 0.0)
    app.button_group(key="point").set_value(point).run()
    assert said(app)
    assert float(app.number_input(key="point_value").value or 1.0) < full


def told(name: str, site: str = "s1") -> pd.DataFrame:
    """Give what the record might add: second opinions, drift, and what the roots took."""
    place = {"site": site, "placement": 2, "depth_cm": 15.0, "point": "full"}
    on = pd.Timestamp("2024-03-01")
    kinds = [("drained", 0.281, on), ("histogram", 0.352, pd.NaT), ("season", 0.31, on),
             ("texture", 0.32, pd.NaT), ("previous placement", 0.279, pd.NaT)]  # fmt: skip
    tables = {
        "candidates": pd.DataFrame(
            [{**place, "kind": kind, "value": value, "on": when, "weight": 1.0}
             for kind, value, when in kinds]),
        "drift": pd.DataFrame([{**place, "slope_per_year": -0.006, "low": -0.009,
                                "high": -0.003, "seasons": 4, "beyond_noise": True}]),
        "extraction": pd.DataFrame({
            "field": "f1", "site": site, "crop": "corn", "depth_cm": DEPTHS,
            "planted_on": pd.Timestamp("2024-05-01"),
            "harvested_on": pd.Timestamp("2024-10-10"),
            "gave_mm": [50.0, 30.0, np.nan], "uptake_mm": [60.0, 30.0, 10.0],
            "peak_mm_d": [4.0, 2.0, np.nan], "rooted_on": [on, on, pd.NaT],
            "stopped_on": [on, pd.NaT, pd.NaT], "share": [0.6, 0.3, 0.1],
            "driest": [0.1426, 0.16, np.nan]}),
    }  # fmt: skip
    return tables[name]


def test_what_else_it_might_be_is_shown_and_chosen_from(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(layer_points, "whole", lambda store, name: told(name))
    app = launched(store, monkeypatch, "points", layer="15")
    text = said(app)
    assert "estimates move down by 0.006 m³/m³ a year" in text
    assert "drifts beyond noise" in app.button(key="work_0").label
    options = app.selectbox(key="point_from").options
    assert [one for one in options if one.startswith("histogram peak, 0.352")]
    assert not [one for one in options if "drained" in one or "install" in one]
    app.selectbox(key="point_from").set_value("histogram 1").run()
    assert app.number_input(key="point_value").value == pytest.approx(0.352)
    assert "with 0.352" in said(app)
    app.slider(key="point_drag").set_value(0.3).run()
    assert app.selectbox(key="point_from").value == "typed"


def test_no_drift_note_within_noise(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def quiet(store: object, name: str) -> pd.DataFrame:
        found = told(name)
        return found.assign(beyond_noise=False) if name == "drift" else found

    monkeypatch.setattr(layer_points, "whole", quiet)
    assert "estimates move" not in said(launched(store, monkeypatch, "points", layer="15"))


def test_the_dry_down_stands_beside_the_rule_of_thumb(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(layer_points, "whole", lambda store, name: told(name))
    text = said(launched(store, monkeypatch, "points", layer="15"))
    assert "Rule of thumb 40, 30, 20 and 10 %" in text
    assert re.search(r"driest under this crop .* in kept 0\.143 m³/m³ for five days", text)
    assert "Rooted to" in text
    rows = told("extraction").assign(top_cm=[0.0, 30.0, 60.0], bottom_cm=[30.0, 60.0, 90.0])
    shares = quarter_shares(
        rows
    )  # rooted to 60 cm: 60 mm in the upper half of it, 30 in the lower
    assert shares == pytest.approx((1 / 3, 1 / 3, 1 / 6, 1 / 6))


def test_units_switch(store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    app = launched(store, monkeypatch, "points")
    app.button_group(key="units").set_value("mm").run()
    assert not re.search(r"\d in\b(?! \d| 10)", re.sub(r"in \d+ field|8 in 10", "", said(app)))


def test_the_demonstration_has_a_work_list(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(demo_store, monkeypatch, "points")
    assert re.search(r"\d+ layers in \d+ fields need a person; the largest", said(app))
    first = app.button(key="work_0")
    first.click().run()
    named = re.search(r"\*\*(.+?)\*\*, (\d+–\d+ in)", first.label)
    assert named
    assert f"{named[1]}, {named[2]}: full point" in said(app)


def test_the_page_opens_on_the_layer_that_needs_a_person_most(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(demo_store, monkeypatch, "points")
    monkeypatch.setenv("OVERWINTER_STORE", str(demo_store))
    judged = layer_points.full_points(data.opened())
    worst = judged[judged["why"] != ""].iloc[0]
    assert app.selectbox(key="layer").value == f"{worst['depth_cm']:g}"
