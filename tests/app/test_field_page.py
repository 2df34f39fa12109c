"""The field's page: what a short view hides, what can be taken away, and its tables."""

import re
import shutil
import xml.etree.ElementTree as ET
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from analytics.soil.storage_bands import band_of
from analytics.store import people
from analytics.store.assessment import assess
from dashboard import data
from dashboard.charts import paper
from dashboard.charts.palette import LIGHT
from dashboard.charts.spec import spec
from dashboard.charts.tally import tally_waterfall
from dashboard.views.parts import spans
from dashboard.views.parts.downloads import csv_text
from dashboard.views.parts.field_tally import deepest
from dashboard.views.parts.field_wettings import listed
from dashboard.views.parts.notes import longest_gap
from dashboard.views.parts.tables import tally_rows, zones_rows
from dashboard.words import short_view, wetting_told
from dashboard.words.tally import band_told, sums_told
from demo_data import TODAY
from tests.app.launching import launched, said, turned_to

PANS = {"Corrie 12": 100.0, "Lower Dunnet": 60.0}
"""Depth of a pan in two fields, cm."""


def test_a_short_view_says_what_it_hides(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(demo_store, monkeypatch, "field", field="Corrie 12")
    assert app.button_group(key="span").value == "record"
    assert "This view starts on" not in said(app)
    app.button_group(key="span").set_value("season").run()
    assert not app.exception
    assert re.search(
        r"This view starts on 29 Sep 2025; below 3 ft the soil was last full on \d+ \w+ 2024, "
        "which it cannot show",
        said(app),
    )


def test_the_second_line_goes_foot_by_foot(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    words = said(launched(demo_store, monkeypatch, "field", field="Corrie 12"))
    assert re.search(r"Two feet are full; the third and fourth are \d\.\d in short", words)
    assert "since the 2024 corn" in words
    assert "−0.0" not in words
    metric = said(launched(demo_store, monkeypatch, "field", field="Corrie 12", units="mm"))
    assert re.search(r"0 to 60 cm is full; 60 to 125 cm is \d+ mm short", metric)


@pytest.fixture(scope="module")
def stopped(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a store with a pan at 100 cm in one field, and at 60 cm in another."""
    store = Path(shutil.copytree(demo_store, tmp_path_factory.mktemp("pan") / "store"))
    fields = people.fields(store)
    limits = fields["name"].map(PANS)
    people.put(store, "fields", fields.assign(root_limit_cm=limits.astype(float)))
    with ThreadPoolExecutor(1) as executor:
        told = assess(store, TODAY, executor)
    assert len(told.assessed) == len(PANS)
    return store


def test_every_figure_of_a_zone_ends_where_roots_must(
    stopped: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("OVERWINTER_STORE", str(stopped))
    store = data.opened()
    day = data.dates(store)[0]
    (row,) = data.going_in(store, day, "deep").query("name == 'Corrie 12'").to_dict("records")
    site = str(row["site"])
    layers = data.layers_of(store, site, day)
    share = (layers["bottom_cm"].clip(upper=100.0) - layers["top_cm"].clip(lower=90.0)).clip(0)
    share /= layers["bottom_cm"] - layers["top_cm"]
    assert share.sum() > 0
    assert row["deficit_mm"] == pytest.approx((share * layers["deficit_mm"]).sum())
    whole = data.tally(store, site, day)
    last = whole[(whole["from"] == whole["from"].max()) & whole["depth_cm"].notna()]
    change = last.set_index("depth_cm")["change_mm"].reindex(layers["depth_cm"]).to_numpy()
    assert row["change_mm"] == pytest.approx((share.to_numpy() * change).sum())
    winters = data.winters(store, site, "deep", day)
    assert winters["change_mm"].iloc[-1] == pytest.approx(row["change_mm"])
    drawn = data.zone_days(store, site, "deep", day)
    weight_mm = (share * (layers["bottom_cm"] - layers["top_cm"]) * 10).sum()
    assert 0.05 < drawn["water_mm"].iloc[-1] / weight_mm < 0.45, "m3/m3 of 10 cm, no more"


def test_a_field_says_where_roots_stop_and_of_which_soil_it_speaks(
    stopped: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(stopped, monkeypatch, "field", field="Corrie 12", units="mm")
    words = said(app)
    assert "roots to 100 cm" in words
    assert re.search(r"60 to 100 cm is \d+ mm short", words)
    shallow = launched(stopped, monkeypatch, "field", field="Lower Dunnet", units="mm")
    words = said(shallow)
    assert "roots to 60 cm" in words
    assert not re.search(r"added \d+ mm, .* below 90 cm", words)
    assert "What winter put back into the whole profile" in words
    assert "No off-season is on record" not in words
    sent = "".join(one.proto.alt for one in shallow.get("vega_lite_chart"))
    assert "roots stop" in sent
    assert "last full: " in sent
    assert "last full below" not in sent
    assert "mm short" in words


def test_every_chart_and_table_can_be_taken_away(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(demo_store, monkeypatch, "field", field="Corrie 12")
    labels = [one.proto.label for one in app.get("download_button")]
    assert labels.count("SVG") == labels.count("PNG") == 7
    assert labels.count("CSV") == 11


def test_pictures_are_made_here_and_are_light() -> None:
    row = {"start_mm": 100.0, "end_mm": 150.0, "gain_rain_mm": 50.0, "crop": "corn"}
    drawn = spec(tally_waterfall(row, "in", LIGHT, width=400))
    svg = paper.svg_of(drawn)
    assert LIGHT.ground.lower() in svg.lower()
    assert ET.fromstring(svg).tag.endswith("svg")  # noqa: S314 - drawn here
    assert paper.png_of(drawn).startswith(b"\x89PNG")


def test_no_text_of_a_table_can_act_as_a_formula() -> None:
    table = pd.DataFrame({"name": ["=1+1", "@a", "-b", "+c", "plain", None], "mm": -1.5})
    lines = csv_text(table).splitlines()
    assert lines[1:] == [
        "'=1+1,-1.5",
        "'@a,-1.5",
        "'-b,-1.5",
        "'+c,-1.5",
        "plain,-1.5",
        ",-1.5",
    ]
    assert table["name"][0] == "=1+1"  # the table itself is left alone


SEASONS = pd.DataFrame({
    "crop": ["cotton", "corn"],
    "planted_on": pd.to_datetime(["2023-05-20", "2024-05-01"]),
    "harvested_on": [pd.Timestamp("2023-11-10"), pd.NaT],
})  # fmt: skip


@pytest.mark.parametrize(
    ("last", "crop"),
    [("2023-03-01", "2023 cotton"), ("2023-07-01", "2023 cotton"), ("2023-12-01", None),
     ("2024-06-01", None), (None, None)],
)  # fmt: skip
def test_the_first_crop_harvested_after_the_last_full_day_emptied_it(
    last: str | None, crop: str | None
) -> None:
    assert spans.emptied_by(SEASONS, pd.NaT if last is None else pd.Timestamp(last)) == crop


def test_a_class_that_is_not_sure_names_the_two_likeliest() -> None:
    row = {"zone": "upper", "deficit_mm": 20.0, "sd_mm": 5.0, "water_mm": 30.0,
           "basis": "learned", "class": "partial", "class_probability": 0.55,
           "p_depleted": 0.0, "p_low": 0.41, "p_partial": 0.55, "p_near_full": 0.04,
           "p_full": 0.0}  # fmt: skip

    def said_class(**changed: float) -> str:
        head, rows = zones_rows(pd.DataFrame([{**row, **changed}]), "in", 90.0)
        return rows[0][head.index("Class")]

    assert said_class() == "Partial or Low"
    assert said_class(class_probability=0.6) == "Partial"


def test_field_and_points_name_a_zone_s_class_alike(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(demo_store, monkeypatch, "field", field="Little Ottery")
    assert "<td>Near full or Full</td>" in said(app)
    turned_to(app, "points")
    assert "<td>Near full or Full</td>" in said(app)


def test_a_past_day_is_not_called_today(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    then = launched(demo_store, monkeypatch, "field", field="Hask 4", date="13 Feb 2026")
    assert re.search(r"Last reading</span>13 Feb 2026, of that day", said(then))
    now = launched(demo_store, monkeypatch, "field", field="Hask 4")
    assert re.search(r"Last reading</span>23 Feb 2026, of today", said(now))


def test_a_silent_sensor_does_not_make_its_probe_old(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = said(launched(demo_store, monkeypatch, "field", field="Marl Bench"))
    assert re.search(r"Last reading</span>23 Feb 2026, of today", told)
    assert "days old" not in told
    assert "silent" in told
    assert "0.7 in of it as last read on 26 Jun 2025." in told  # the dead sensor's layer


def test_a_silence_is_as_long_on_every_page(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = launched(demo_store, monkeypatch, "field", field="Penrow 3")
    assert "Probe silent 41 days" in said(app)
    drawn = "".join(one.proto.spec + one.proto.alt for one in app.get("vega_lite_chart"))
    assert "no readings, 41 days" in drawn
    turned_to(app, "record")
    told = "".join(str(one.value) for one in app.dataframe) + said(app)
    assert re.search(r"still open.*?41 days", told, re.DOTALL)
    assert "40 days" not in told


def test_a_silence_is_told_as_of_the_day_looked_at() -> None:
    gaps = pd.DataFrame({"depth_cm": [10.0, 20.0], "from": pd.Timestamp("2026-01-13 23:00"),
                         "to": pd.Timestamp("2026-02-23")})  # fmt: skip
    told = [longest_gap(gaps, day, 100.0)[0][2] for day in ("2026-02-23", "2026-02-01")]
    assert told == ["no readings, 41 days", "no readings, 19 days"]
    over = longest_gap(gaps.assign(to=pd.Timestamp("2026-01-30 22:00")), "2026-02-23", 100.0)
    assert over[0][2] == "no readings, 16 days"


def test_a_tally_reaches_as_deep_as_its_layers_are_known() -> None:
    rows = pd.DataFrame({"depth_cm": [15.0, 45.0, 75.0, None],  # the last: the profile's own
                         "bottom_cm": [30.0, 60.0, 90.0, 90.0],
                         "change_mm": [1.0, 2.0, None, 3.0]})  # fmt: skip
    assert deepest({"end_mm": 3.0}, rows) == {"end_mm": 3.0, "bottom_cm": 60.0}


def test_wettings_are_listed_plainly() -> None:
    found = pd.DataFrame({
        "start": pd.to_datetime(["2025-11-17", "2026-01-12"]), "cause": ["rain", "thaw"],
        "applied_mm": [25.4, 0.0], "stored_mm": [12.7, 8.6], "stayed": [0.5, None],
        "depth_reached_cm": [60.0, 20.0], "bypass": [False, True],
    })  # fmt: skip
    head, rows = listed(found, "in")
    assert head[2] == "Received, in"
    assert rows == [
        ["17 Nov 2025", "Rain", "1.0", "0.5", "50 %", "24", "in turn"],
        ["12 Jan 2026", "Thaw", "—", "0.3", "—", "8", "passed by"],
    ]
    lost = found.head(1).assign(stored_mm=-5.1, stayed=-0.2)
    assert listed(lost, "in")[1][0][3:5] == ["−0.2", "—"]
    first = {str(name): found[name].iloc[0] for name in found}
    assert wetting_told(first, "mm") == (
        "Rain, 17 Nov 2025: 25 mm received, 13 mm stored, down to 60 cm"
    )


@pytest.mark.parametrize(
    ("last", "told"),
    [
        (
            "2024-07-09",
            "; below 3 ft the soil was last full on 9 Jul 2024, which it cannot show.",
        ),
        (None, " and leaves out 5 years; below 3 ft no day of the record was seen full."),
        ("2026-01-01", " and leaves out 5 years of record."),
    ],
)  # fmt: skip
def test_a_view_says_what_it_leaves_out(last: str | None, told: str) -> None:
    said_ = short_view("2025-10-02", "2020-06-01", last, "below 3 ft")
    assert said_ == f"This view starts on 2 Oct 2025{told}"
    assert not short_view("2020-06-01", "2020-06-01", last, "below 3 ft")


def test_a_winter_under_wheat_has_its_own_tally(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tally = people.table(demo_store, "tally")
    stood = tally[tally["standing"] & tally["change_mm"].notna()].iloc[0]
    name = people.fields(demo_store).set_index("field").loc[stood["field"], "name"]
    first = f"{stood['from']:%Y-%m-%d}"
    app = launched(demo_store, monkeypatch, "field", field=str(name))
    app.selectbox(key="winter").select(first).run()
    assert "what it drew meanwhile is among the losses" in said(app)
    assert "Deepest" in said(app), "each winter's frost is listed"


def test_published_trials_stand_beside_a_long_fallow() -> None:
    band = band_of(37.0, date(2023, 7, 1), date(2024, 9, 20))
    assert band is not None
    words = band_told(band)
    assert words.startswith("Field trials found 18 to 35 %")
    assert words.endswith("context, not a judgement.")
    assert band_of(37.0, date(2023, 10, 1), date(2024, 4, 20)) is None


def figures(head: list[str], row: list[str]) -> dict[str, float]:
    """Read a row's figures; — is none."""
    shown = {name.split(",")[0]: cell.replace("−", "-") for name, cell in
             zip(head, row, strict=True)}  # fmt: skip
    return {name: float(cell) for name, cell in shown.items()
            if re.fullmatch(r"[+-]?[\d.]+", cell)}  # fmt: skip


WAYS = {"Lost upward", "Lost downward", "At least drained"}
STATES = {"Left", "Held", "Change", "Most short since"}


@pytest.mark.parametrize("kept", ["not told apart", "told apart"])
def test_each_row_of_the_tally_adds_up_to_its_change(demo_store: Path, kept: str) -> None:
    every = people.table(demo_store, "tally")
    every = every.groupby(["site", "from"]).filter(lambda one: one["change_mm"].notna().all())
    whole = every[every["depth_cm"].isna()]
    some = whole[whole["loss_up_mm"].isna() == (kept == "not told apart")].nlargest(
        3, "loss_mm"
    )
    assert len(some) == 3
    for one in some.to_dict("records"):
        rows = every[(every["site"] == one["site"]) & (every["from"] == one["from"])]
        head, told = tally_rows(rows, [None] * len(rows), "mm")
        for row in told:
            found = figures(head, row)
            parts = {name: mm for name, mm in found.items() if name not in STATES}
            if "Lost in all" in parts:
                parts = {name: mm for name, mm in parts.items()
                         if name not in WAYS}  # fmt: skip
            assert sum(parts.values()) == pytest.approx(found["Change"], abs=4)  # mm, rounded
        sums = [sum(figures(head, row)[name] for row in told[:-1]) for name in ("Left", "Held")]
        assert [figures(head, told[-1])[name] for name in ("Left", "Held")] == pytest.approx(
            sums, abs=len(told)
        )


def test_the_tally_says_which_of_its_columns_add_up(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = said(launched(demo_store, monkeypatch, "field", field="Windle 3"))
    assert sums_told(12, 12) in told
    assert "Left, Change and Held of the layers that are known add up" in sums_told(12, 11)
    assert sums_told(12, 0) == ""
