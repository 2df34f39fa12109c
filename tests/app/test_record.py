"""The Record page: each control does what it says, on a copy of the demonstration."""

import re
import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analytics.store import edits, layout, people, readings
from analytics.store.statements import query
from dashboard.views.parts.record_list import _found
from dashboard.views.parts.record_mapping import corrected, rows_of
from dashboard.views.parts.record_sheet import sheet
from tests.app.launching import launched, said

SICK, SILENT, LATE = "TF30", "TF35", "TF20"


@pytest.fixture(scope="module")
def kept(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    copy = tmp_path_factory.mktemp("record") / "store"
    shutil.copytree(demo_store, copy)
    return copy


def test_answers_first_and_lists_the_visits(kept: Path, monkeypatch) -> None:
    words = said(launched(kept, monkeypatch, "record"))
    assert re.search(
        r"1 of 36 probes is silent and 1 sensor is failing; \d+ probes are due", words
    )
    for expected in ("Silent, whole probe", "Failing, sensor at 47 in",
                     "Due for replacement", "Penrow 3", "37.10111, -101.53073"):  # fmt: skip
        assert expected in words


def test_the_address_names_the_field_whose_probe_opens(kept: Path, monkeypatch) -> None:
    fields, sites = people.table(kept, "fields"), people.table(kept, "sites")
    last = sites.iloc[-1]
    name = fields.set_index("field").loc[last["field"], "name"]
    app = launched(kept, monkeypatch, "record", field=str(name))
    assert app.selectbox(key="site").value == last["site"]


def test_sensors_whose_trouble_began_on_different_days_are_told_apart() -> None:
    began = pd.to_datetime(["2025-06-27 04:00", "2026-02-20 00:00", "2026-02-20 00:00"])
    troubles = pd.DataFrame({"site": "P", "kind": "failing", "depth_cm": [120.0, 10.0, 20.0],
                             "since": began, "hours": 9.0})  # fmt: skip
    lost = troubles.assign(kind="gaps")
    probes = pd.DataFrame([{"site": "P", "name": "North", "latitude": 0.0, "longitude": 0.0,
                            "sensors": 12}])  # fmt: skip
    rows = _found(pd.concat([troubles, lost], ignore_index=True), probes, "mm")
    assert [(row["wrong"], f"{row['since']:%m-%d}") for row in rows] == [
        ("Failing, sensor at 120 cm", "06-27"), ("Failing, 2 sensors, 10 to 20 cm", "02-20"),
        ("Gaps, 3 sensors, 10 to 120 cm, 9 h lost", "06-27"),
    ]  # fmt: skip


def test_units_change_depths_everywhere(kept: Path, monkeypatch) -> None:
    app = launched(kept, monkeypatch, "record")
    app.button_group(key="units").set_value("mm").run()
    words = said(app)
    assert "sensor at 120 cm" in words
    assert not re.search(r"at \d+ in\b", words)


def test_kinds_narrow_the_list(kept: Path, monkeypatch) -> None:
    app = launched(kept, monkeypatch, "record")
    app.multiselect(key="kind").set_value(["silent"]).run()
    assert "years in the ground" not in said(app)


@pytest.mark.parametrize("stretch", ["Whole record", "2025", "2019"])
def test_every_stretch_of_a_probe(kept: Path, monkeypatch, stretch: str) -> None:
    app = launched(kept, monkeypatch, "record")
    app.selectbox(key="site").set_value(SICK)
    app.selectbox(key="year").set_value(stretch).run()
    cell = "a cell a week" if stretch == "Whole record" else "a cell a day"
    assert cell in said(app)


def test_a_gap_that_a_late_file_filled_is_told(kept: Path, monkeypatch) -> None:
    app = launched(kept, monkeypatch, "record")
    app.selectbox(key="site").set_value(LATE).run()
    assert re.search(r"by TF20\.csv on \d", said(app))


def test_flags_are_listed_by_kind(kept: Path, monkeypatch) -> None:
    app = launched(kept, monkeypatch, "record")
    app.selectbox(key="site").set_value(SICK).run()
    app.multiselect(key="flag_kinds").set_value(["frozen"]).run()
    assert "<td>frozen</td>" in said(app)
    app.multiselect(key="flag_kinds").set_value([]).run()
    assert "No reading of this probe is in doubt for these reasons." in said(app)


@pytest.mark.parametrize(
    "given",
    [("", "dug up", "no author is named"), ("Ash", " ", "no reason is given")],
)
@pytest.mark.parametrize("button", ["confirm_span", "dismiss_span", "add_span"])
def test_author_and_reason_are_required(
    kept: Path, monkeypatch, button: str, given: tuple[str, str, str]
) -> None:
    author, reason, expected = given
    app = launched(kept, monkeypatch, "record")
    app.selectbox(key="site").set_value(SICK).run()
    place = "add" if button == "add_span" else "judge"
    app.text_input(key=f"{place}_author").set_value(author)
    app.text_input(key=f"{place}_reason").set_value(reason)
    app.button(key=button).click().run()
    assert expected in said(app)
    assert edits.history(kept, SICK).empty


def state_of(store: Path, site: str, depth_cm: float, day: str) -> float:
    daily = people.table(store, "daily")
    row = daily[(daily["site"] == site) & (daily["depth_cm"] == depth_cm)]
    found = row.loc[row["date"] == pd.Timestamp(day), "state"]
    return float(found.iloc[0]) if len(found) else np.nan


def test_a_dismissed_span_is_kept_followed_and_undone(kept: Path, monkeypatch) -> None:
    app = launched(kept, monkeypatch, "record")
    app.selectbox(key="site").set_value(SICK).run()
    app.multiselect(key="flag_kinds").set_value(["failing"]).run()
    app.text_input(key="judge_author").set_value("Ash")
    app.text_input(key="judge_reason").set_value("connector cleaned")
    app.button(key="dismiss_span").click().run()
    words = said(app)
    assert "Sensor failing dismissed by Ash. The results follow it." in words
    assert "connector cleaned" in words
    assert "1 of 36 probes is silent and no sensor is failing" in words
    assert len(query(kept, "show_record_edits", site=SICK)) == 1
    app.button(key="undo_edit").click().run()
    assert "nobody is named who undoes it" in said(app)
    app.text_input(key="undo_author").set_value("Elm")
    app.button(key="undo_edit").click().run()
    words = said(app)
    assert "1 sensor is failing" in words
    assert "by Elm," in words


def test_a_span_added_by_hand_takes_its_readings_out(kept: Path, monkeypatch) -> None:
    app = launched(kept, monkeypatch, "record")
    app.selectbox(key="site").set_value(LATE).run()
    day = "2025-08-05"
    assert np.isfinite(state_of(kept, LATE, 30.0, day))
    app.selectbox(key="added_sensor").set_value(30.0)
    app.selectbox(key="added_flag").set_value("stuck")
    app.date_input(key="added_from_day").set_value(pd.Timestamp("2025-08-01").date())
    app.date_input(key="added_to_day").set_value(pd.Timestamp("2025-08-10").date())
    app.text_input(key="add_author").set_value("Ash")
    app.text_input(key="add_reason").set_value("cable bitten through")
    app.button(key="add_span").click().run()
    assert "Stuck added by Ash." in said(app)
    assert np.isnan(state_of(kept, LATE, 30.0, day))


def logger_file() -> bytes:
    hours = pd.date_range("2026-02-24 00:00", periods=6, freq="h")
    rows = [f"{one:%Y-%m-%d %H:%M},0.2{n},0.3{n},7" for n, one in enumerate(hours)]
    return "\n".join(["time,vwc 15 cm,vwc 30 cm,battery", *rows, ""]).encode()


def test_a_file_is_looked_at_corrected_and_taken(kept: Path, monkeypatch) -> None:
    app = launched(kept, monkeypatch, "record")
    app.file_uploader(key="record_file").set_value(
        [("TF20 feb.csv", logger_file(), "text/csv")]
    )
    app.run()
    words = said(app)
    assert "First rows, as readings" in words
    assert "6 rows, 0 of them cannot be taken" in words
    app.button(key="take_file").click().run()
    assert "rows in 6 = 6 taken + 0 identical + 0 superseded + 0 rejected." in said(app)
    assert len(query(kept, "mappings")) >= 1


def test_what_a_file_leaves_open_is_asked_and_taken_as_told(kept: Path, monkeypatch) -> None:
    rows = [f"02/03/2026 0{hour}:00,0.21" for hour in range(6, 9)]
    text = "\n".join(["Date Time,vwc 15 cm [m3/m3]", *rows, ""])
    app = launched(kept, monkeypatch, "record")
    app.file_uploader(key="record_file").set_value([("feb.csv", text.encode(), "text/csv")])
    app.run()
    assert "First rows" not in said(app)
    asked = next(one for one in app.selectbox if one.label == "Which comes first in its dates?")
    assert asked.options == [
        "day first (02/03/2026 06:00 is 2 Mar 2026)",
        "month first (02/03/2026 06:00 is 3 Feb 2026)",
    ]
    asked.set_value(asked.options[1]).run()
    asked = next(one for one in app.selectbox if one.label == "Which probe is it from?")
    asked.set_value("TF21").run()
    clock = next(one for one in app.selectbox if one.label.startswith("Clock"))
    clock.set_value("+00:00").run()
    assert "3 rows, 0 of them cannot be taken" in said(app)
    app.button(key="take_file").click().run()
    assert "rows in 3 = 3 taken + 0 identical" in said(app)
    record = readings.read(kept, "TF21")
    first = np.datetime64("2026-02-03T06:00")  # by UTC, as told
    at = int(np.searchsorted(record.times, first))
    assert record.times[at] == first
    assert np.nanmax(np.abs(record.theta[at : at + 3] - 0.21), axis=0).min() < 1e-6


def test_a_file_that_is_none_gives_one_sentence(kept: Path, monkeypatch) -> None:
    app = launched(kept, monkeypatch, "record")
    app.file_uploader(key="record_file").set_value([("odd.csv", b"\x00\x01\x02", "text/csv")])
    app.run()
    said(app)
    assert len(app.error) == 1
    assert "odd.csv" in app.error[0].value


def test_many_files_are_listed_and_those_that_can_be_are_taken(kept: Path, monkeypatch) -> None:
    def log(day: str, vwc: str) -> bytes:
        rows = [f"{day}T0{hour}:00:00Z,{vwc}" for hour in range(6, 9)]
        return "\n".join(["time,vwc 10 cm [m3/m3]", *rows, "2026-02-29T06:00:00Z,0.2"]).encode()

    app = launched(kept, monkeypatch, "record")
    csv = "text/csv"
    app.file_uploader(key="record_file").set_value([
        ("TF22.csv", log("2026-02-24", "0.22"), csv), ("odd.csv", b"\x00\x01\x02", csv),
        ("TF23.csv", log("2026-02-24", "0.23"), csv),
        ("feb.csv", log("2026-02-24", "0.2"), csv),
    ]).run()  # fmt: skip
    words = said(app)
    assert words.count("1 row cannot be taken.") == 2
    assert "Taken to be from the site TF23." in words
    assert "says which site it is from. Choose it alone, and you are asked." in words
    button = app.button(key="take_file")
    assert button.label == "Import 2 files"
    button.click().run()
    told = "2 files: rows in 8 = 6 taken + 0 identical + 0 superseded + 2 rejected."
    assert told in said(app)
    for site, vwc in (("TF22", 0.22), ("TF23", 0.23)):
        record = readings.read(kept, site)
        assert record.times[-1] == np.datetime64("2026-02-24T08:00")
        assert record.theta[-1, record.depths_cm == 10.0] == pytest.approx([vwc])
    app.button(key="take_file").click().run()
    assert "= 0 taken + 6 identical + 0 superseded + 2 rejected." in said(app)


def test_an_empty_store_can_begin_here(tmp_path: Path, monkeypatch) -> None:
    layout.create(tmp_path / "store")
    app = launched(tmp_path / "store", monkeypatch, "record")
    assert "Import a logger file to begin a record." in said(app)
    assert app.file_uploader(key="record_file") is not None


def test_a_mapping_goes_to_rows_and_back() -> None:
    mapping = {
        "time": {"column": "t", "format": "%d/%m/%Y"}, "site": {"from": "file name"},
        "columns": [{"column": "a", "quantity": "vwc", "depth_cm": 10.0, "unit": "percent"},
                    {"column": "b", "quantity": "vwc", "depth_cm": 20.0, "unit": "raw",
                     "calibration": [0.0, 0.001], "gives": "fraction"}],
        "aside": ["battery"], "missing": [-9999],
    }  # fmt: skip
    rows = rows_of(mapping)
    assert corrected(mapping, rows, None, "%d/%m/%Y", "local") == mapping
    rows.loc[0, ["depth_cm", "unit"]] = [15.0, "fraction"]
    rows.loc[1, "quantity"] = "kept aside"
    changed = corrected(mapping, rows, "TF20", "ISO 8601", "standard")
    assert changed["columns"] == [
        {"column": "a", "quantity": "vwc", "unit": "fraction", "depth_cm": 15.0}
    ]
    assert changed["aside"] == ["b", "battery"]
    assert changed["site"] == {"value": "TF20"}
    assert changed["time"] == {"column": "t", "clock": "standard"}
    assert corrected(changed, rows, "TF20", "ISO 8601", "local")["time"]["clock"] == "local"
    assert changed["missing"] == [-9999]


def test_the_list_on_paper_holds_its_words_and_nothing_from_outside() -> None:
    page = sheet("Visits", "23 Feb 2026", ("Field",), [["A <b>1</b>"]])
    assert "A &lt;b&gt;1&lt;/b&gt;" in page
    assert "@media print" in page
    assert "http" not in page
