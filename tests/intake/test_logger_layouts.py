"""Logger files as they come: marks, preambles, units rows, clocks, curves, packings."""

import gzip
import json
import pickle
import zipfile
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from openpyxl import Workbook

from analytics.errors import InputRefused, LeftOpen
from analytics.intake import Known, describe, load_mapping, read
from analytics.intake.look import look
from analytics.model import Delivery
from analytics.settings import Settings

KNOWN = Known(sites={"p1": "America/Chicago"})
TWO = Known(sites={"p1": "America/Chicago", "p2": "America/Chicago"})


def brought(folder: Path, text: str, name: str = "log.csv", **options: object) -> Delivery:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return read(path, KNOWN, **options)  # type: ignore[arg-type]


def utc(delivery: Delivery) -> list[str]:
    return [str(one)[:16] for one in delivery.readings[0].times]


PLAIN = [["time", "vwc 30 cm [%]", "temp 30 cm [C]"], ["2024-01-01T06:00Z", "25.3", "-1.5"],
         ["2024-01-02T06:00Z", "24.9", "0.5"]]  # fmt: skip


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
@pytest.mark.parametrize("decimal", [".", ","])
@pytest.mark.parametrize("ends", ["", "mark"])
@pytest.mark.parametrize("above", ["", "Logger 7\nserial,8812;x\n\n"])
def test_every_mark_reads_the_same(
    tmp_path: Path, mark: str, decimal: str, ends: str, above: str
) -> None:
    quote = '"' if mark == decimal else ""
    lines = [PLAIN[0], *([one[0], *(quote + c.replace(".", decimal) + quote for c in one[1:])]
                         for one in PLAIN[1:])]  # fmt: skip
    text = above + "".join(mark.join(one) + (mark if ends else "") + "\n" for one in lines)
    delivery = brought(tmp_path, text)
    np.testing.assert_allclose(delivery.readings[0].theta[:, 0], [0.253, 0.249])
    np.testing.assert_allclose(delivery.readings[0].temp_c[:, 0], [-1.5, 0.5])
    assert delivery.rows_in == 2
    assert ("Decimal commas are read as points." in delivery.notes) == (decimal == ",")
    assert any("header is row 4" in note for note in delivery.notes) == bool(above)


def test_a_row_that_is_put_aside_is_named_by_its_line_in_the_file(tmp_path: Path) -> None:
    text = 'Made by;a logger\nzone;"x\ntime;vwc 30 cm\n;%\n2024-01-01;25,3\n2024-01-02;wet\n'
    delivery = brought(tmp_path, text)
    assert [tuple(one) for one in delivery.rejects.itertuples(index=False)] == [
        (6, "vwc 30 cm", "wet", "not a finite number")
    ]
    assert delivery.rows_in == 2


def test_a_preamble_a_units_row_and_a_row_of_how_it_was_made(tmp_path: Path) -> None:
    text = (
        '"FORM","p1","model 6","8812"\n"TIMESTAMP","RECORD","VWC_12in","T_soil_12in"\n'
        '"TS","RN","m³/m³","Deg F"\n"","","Smp","Avg"\n'
        '"2024-01-01 06:00:00",1,0.25,50\n"2024-01-01 07:00:00",2,"NAN",14\n'
    )
    delivery = brought(tmp_path, text)
    record = delivery.readings[0]
    assert record.depths_cm.tolist() == [30.48]
    np.testing.assert_allclose(record.theta[:, 0], [0.25, np.nan])
    np.testing.assert_allclose(record.temp_c[:, 0], [10.0, -10.0])
    assert utc(delivery)[0] == "2024-01-01T12:00"
    assert delivery.rows_in == 2
    assert delivery.mapping is not None
    whys = [one["why"] for one in delivery.mapping["columns"]]  # type: ignore[index, union-attr]
    assert whys == ["unit in the row beneath"] * 2


def test_the_units_row_is_part_of_what_a_saved_mapping_goes_by(tmp_path: Path) -> None:
    signs = []
    for unit in ("%", "m3/m3"):
        path = tmp_path / "p1.csv"
        path.write_text(f"time,vwc 30 cm\n,{unit}\n2024-01-01,0.2\n")
        signs.append(look(path).signs)
    assert signs[0] != signs[1]


@pytest.mark.parametrize(
    ("cells", "first"),
    [
        (["13/01/2024 06:00", "01/02/2024 06:00"], "2024-01-13T12:00"),
        (["01/13/2024 06:00", "02/01/2024 06:00"], "2024-01-13T12:00"),
        (["13.01.24", "01.02.24"], "2024-01-13T18:00"),
        (["1/13/2024 6:00:00 PM", "2/1/2024 6:00:00 AM"], "2024-01-14T00:00"),
        (["2024/01/13 06:00", "2024/02/01 06:00"], "2024-01-13T12:00"),
        (["13-Jan-2024 06:00", "01-Feb-2024 06:00"], "2024-01-13T12:00"),
        (["20240113", "20240201"], "2024-01-13T18:00"),
        (["1705125600", "1706767200"], "2024-01-13T06:00"),
        (["1705125600000", "1706767200000"], "2024-01-13T06:00"),
    ],
)
def test_forms_of_time(tmp_path: Path, cells: list[str], first: str) -> None:
    rows = "".join(f"{cell},25\n" for cell in cells)
    delivery = brought(tmp_path, "Date Time,vwc 30 cm [%]\n" + rows)
    assert utc(delivery)[0] == first
    assert utc(delivery)[1].startswith("2024-02-01")
    assert len(delivery.rejects) == 0


def test_an_order_that_the_file_shows_is_told(tmp_path: Path) -> None:
    delivery = brought(tmp_path, "Date,vwc 30 cm [%]\n13/01/2024,25\n01/02/2024,25\n")
    assert any(note.startswith("Dates are read day first") for note in delivery.notes)


@pytest.mark.parametrize("order", ["day", "month"])
@pytest.mark.parametrize("hours", [1, 6])
def test_days_that_follow_one_another_tell_the_order_of_day_and_month(
    tmp_path: Path, order: str, hours: int
) -> None:
    start, step = np.datetime64("2024-03-02T00", "h"), np.timedelta64(hours, "h")
    times = (start + step * np.arange(4 * 24 // hours)).astype(datetime)
    form = "%d/%m/%Y %H:%M" if order == "day" else "%m/%d/%Y %H:%M"
    rows = "".join(f"{one.strftime(form)},25\n" for one in times)
    delivery = brought(tmp_path, "Date Time,vwc 30 cm [%]\n" + rows)
    assert utc(delivery)[:: 24 // hours] == [f"2024-03-0{day}T06:00" for day in range(2, 6)]
    assert any(note.startswith(f"Dates are read {order} first") for note in delivery.notes)


@pytest.mark.parametrize("cells", [
    ["02/03/2024 06:00", "02/03/2024 07:00"],  # one day
    ["02/03/2024", "03/03/2024", "04/03/2024"],  # daily, or on the third of each month
    ["02/03/2024 06:00", "02/03/2024 07:00", "03/03/2024 07:00", "03/03/2024 08:00"],  # a hole
])  # fmt: skip
def test_days_that_may_be_months_are_asked_about(tmp_path: Path, cells: list[str]) -> None:
    with pytest.raises(LeftOpen, match="day or the month") as caught:
        brought(tmp_path, "Date Time,vwc 30 cm [%]\n" + "".join(f"{one},25\n" for one in cells))
    assert [one[:11] for one in caught.value.answers] == ["day first (", "month first"]
    again = pickle.loads(pickle.dumps(caught.value))  # noqa: S301 - our own, made here
    assert (str(again), again.answers) == (str(caught.value), caught.value.answers)


@pytest.mark.parametrize(("text", "offered"), [
    ("time,vwc 30 cm [%]\n2024-01-01,25\n", True),
    ("serial,time,vwc 30 cm [%]\nX88,2024-01-01,25\nX88,2024-01-02,25\n", True),
    ("site,time,vwc 30 cm [%]\nX88,2024-01-01,25\nX88,2024-01-02,25\n", True),
    ("serial,time,vwc 30 cm [%]\nX88,2024-01-01,25\nX89,2024-01-02,25\n", False),
    ("site,time,vwc 30 cm [%]\nX88,2024-01-01,25\nX89,2024-01-02,25\n", False),
])  # fmt: skip
def test_a_file_of_one_probe_that_names_none_known_may_be_told_whose_it_is(
    tmp_path: Path, text: str, offered: bool
) -> None:
    path = tmp_path / "log.csv"
    path.write_text(text)
    with pytest.raises(InputRefused) as caught:
        read(path, TWO)
    assert isinstance(caught.value, LeftOpen) == offered
    if isinstance(caught.value, LeftOpen):
        assert [*caught.value.answers] == ["p1", "p2"]
        delivery = read(path, TWO, mapping=caught.value.answers["p2"])
        assert [one.site for one in delivery.readings] == ["p2"]


def test_an_answer_about_daily_weather_leaves_it_weather(tmp_path: Path) -> None:
    text = "date,tmin [C],tmax [C],rain [mm]\n02/03/2024,1,25,3\n03/03/2024,1,25,0\n"
    with pytest.raises(LeftOpen) as caught:
        brought(tmp_path, text, "weather.csv")
    answer = next(part for said, part in caught.value.answers.items() if said.startswith("day"))
    delivery = brought(tmp_path, text, "weather.csv", mapping=answer)
    assert delivery.kind == "weather"
    assert [str(one)[:10] for one in delivery.tables["weather"]["date"]] == [
        "2024-03-02", "2024-03-03",
    ]  # fmt: skip


def test_a_person_decides_the_order_of_day_and_month(tmp_path: Path) -> None:
    text = "Date,vwc 30 cm [%]\n02/01/2024,25\n03/01/2024,24\n"
    with pytest.raises(InputRefused, match="day or the month") as caught:
        brought(tmp_path, text)
    for form, first in (("%d/%m/%Y", "2024-01-02"), ("%m/%d/%Y", "2024-02-01")):
        assert form in caught.value.remedy
        path = tmp_path / "m.json"
        path.write_text(json.dumps({"time": {"format": form}}))
        delivery = brought(tmp_path, text, mapping=load_mapping(path))
        assert utc(delivery)[0].startswith(first)
        assert delivery.mapping is not None
        assert delivery.mapping["columns"]  # the whole of it, to be saved


@pytest.mark.parametrize(
    ("clock", "expected"),
    [
        ("local", ["2024-01-15T12:00", "2024-07-15T11:00"]),
        ("standard", ["2024-01-15T12:00", "2024-07-15T12:00"]),
        ("-07:00", ["2024-01-15T13:00", "2024-07-15T13:00"]),
        ("+05:30", ["2024-01-15T00:30", "2024-07-15T00:30"]),
    ],
)
def test_clocks_with_and_without_summer_time(
    tmp_path: Path, clock: str, expected: list[str]
) -> None:
    # Chicago: 6 h behind UTC in winter, 5 h in summer.
    text = "time,vwc 30 cm [%]\n2024-01-15 06:00,25\n2024-07-15 06:00,25\n"
    delivery = brought(tmp_path, text, mapping={"time": {"clock": clock}})
    assert utc(delivery) == expected


def test_standard_time_has_no_odd_hours(tmp_path: Path) -> None:
    hours = ["2024-03-10 02:30", "2024-11-03 01:30", "2024-11-03 02:30"]
    text = "time,vwc 30 cm [%]\n" + "".join(f"{one},25\n" for one in hours)
    told = brought(tmp_path, text)
    assert told.rejects["line"].tolist() == [2]
    assert any('"clock": "standard"' in note for note in told.notes)
    delivery = brought(tmp_path, text, mapping={"time": {"clock": "standard"}})
    assert utc(delivery) == ["2024-03-10T08:30", "2024-11-03T07:30", "2024-11-03T08:30"]


def test_a_name_that_says_its_clock(tmp_path: Path) -> None:
    text = 'n,"Date Time, GMT-06:00",vwc 30 cm [%]\n1,2024-07-15 06:00,25\n'
    delivery = brought(tmp_path, text)
    assert utc(delivery) == ["2024-07-15T12:00"]
    assert any("UTC-06:00" in note for note in delivery.notes)


def test_raw_counts_through_each_sensors_curve(tmp_path: Path) -> None:
    # By hand: 0.1 + 0.0001 * 1000 = 0.2; 5 + 0.01 * 1000 + 1e-6 * 1e6 = 16 % = 0.16.
    text = "time,vwc 10 cm [raw],vwc 30 cm [raw]\n2024-01-01,1000,1000\n"
    curves = {"vwc 10 cm [raw]": [0.1, 1e-4], "vwc 30 cm [raw]": {"p1": [5, 0.01, 1e-6]}}
    hint = brought(tmp_path, text, mapping={"calibration": curves})
    mapping = dict(hint.mapping or {})
    mapping["columns"] = [dict(one) for one in mapping["columns"]]  # type: ignore[union-attr]
    mapping["columns"][1]["gives"] = "percent"
    delivery = brought(tmp_path, text, mapping=mapping)
    np.testing.assert_allclose(delivery.readings[0].theta, [[0.2, 0.16]])
    assert any("fraction = 0.1 + 0.0001 x^1" in row["why"] for row in describe(mapping))
    path = tmp_path / "p2.csv"
    path.write_text(text)
    with pytest.raises(InputRefused, match="no calibration for the site p2"):
        read(path, TWO, mapping=mapping)


@pytest.mark.parametrize(
    ("hint", "words"),
    [
        ({"time": {"clock": "summer"}}, "no clock"),
        ({"time": {"clock": "+25:00"}}, "no clock"),
        ({"time": {"format": 5}}, "not text"),
        ({"time": "Date"}, "not an object"),
        ({"calibration": {"x": [1]}}, "no curve"),
        ({"missing": -9999}, "not a list"),
        ({"tmie": {}}, "which column"),
    ],
)
def test_a_bad_hint_is_refused(tmp_path: Path, hint: dict, words: str) -> None:
    with pytest.raises(InputRefused, match=words):
        brought(tmp_path, "time,vwc 30 cm [%]\n2024-01-01,25\n", mapping=hint)


CSV = "time,vwc 30 cm [%]\n2024-01-01,25\n2024-01-02,wet\n"


def test_gzip_and_zip_hold_the_same_table(tmp_path: Path) -> None:
    plain = brought(tmp_path, CSV)
    (tmp_path / "log.csv.gz").write_bytes(gzip.compress(CSV.encode()))
    with zipfile.ZipFile(tmp_path / "log.zip", "w", zipfile.ZIP_DEFLATED) as folder:
        folder.writestr("read me.md", "nothing")
        folder.writestr("data/log.txt", CSV)
    for name in ("log.csv.gz", "log.zip"):
        delivery = read(tmp_path / name, KNOWN)
        assert utc(delivery) == utc(plain)
        assert delivery.rejects.equals(plain.rejects)


def test_a_zip_of_two_tables_or_none_is_refused(tmp_path: Path) -> None:
    for names, words in (
        (["a.csv", "b.csv"], "holds 2"),
        (["a.doc"], "holds 0"),
        ([], "holds 0"),
    ):
        with zipfile.ZipFile(tmp_path / "log.zip", "w") as folder:
            for name in names:
                folder.writestr(name, CSV)
        with pytest.raises(InputRefused, match=words):
            read(tmp_path / "log.zip", KNOWN)


def test_bombs_are_refused_unopened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "analytics.intake.packed.Settings", lambda: Settings(unpacked_most_mb=1)
    )
    text = (CSV + "2024-01-03,25\n" * 200_000).encode()
    with zipfile.ZipFile(tmp_path / "log.zip", "w", zipfile.ZIP_DEFLATED) as folder:
        folder.writestr("log.csv", text)
    (tmp_path / "log.csv.gz").write_bytes(gzip.compress(text))
    for name in ("log.zip", "log.csv.gz"):
        with pytest.raises(InputRefused, match="more than 1 MB"):
            read(tmp_path / name, KNOWN)


def workbook(path: Path, *, second: bool = False) -> Path:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Probe p1"])
    sheet.append(["time", "vwc 30 cm", "note"])
    sheet.append([None, "%", None])
    sheet.append([datetime(2024, 1, 15, 6, 0), 25.3, None])  # noqa: DTZ001 - a wall clock
    sheet.append([datetime(2024, 7, 15, 6, 20), 24, "dry"])  # noqa: DTZ001
    sheet.append([])
    sheet.append([datetime(2024, 7, 16, 6, 0), "wet"])  # noqa: DTZ001
    other = book.create_sheet("about")
    other.append(["made by", "somebody"])
    if second:
        more = book.create_sheet("more")
        more.append(["time", "vwc 30 cm [%]"])
        more.append([datetime(2024, 7, 15), 25.3])  # noqa: DTZ001
    book.save(path)
    return path


def test_an_excel_sheet_with_typed_cells(tmp_path: Path) -> None:
    delivery = read(workbook(tmp_path / "log.xlsx"), KNOWN)
    assert utc(delivery) == ["2024-01-15T12:00", "2024-07-15T11:20"]
    np.testing.assert_allclose(delivery.readings[0].theta[:, 0], [0.253, 0.24])
    assert delivery.rows_in == 3
    assert delivery.rejects["line"].tolist() == [7]
    with pytest.raises(InputRefused, match="2 sheets could be meant"):
        read(workbook(tmp_path / "two.xlsx", second=True), KNOWN)


def test_an_excel_people_table_with_days(tmp_path: Path) -> None:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["field", "crop", "planted_on"])
    sheet.append(["north", "corn", datetime(2024, 5, 1)])  # noqa: DTZ001
    sheet["C2"].number_format = "yyyy-mm-dd"
    book.save(tmp_path / "seasons.xlsx")
    delivery = read(tmp_path / "seasons.xlsx", Known(fields=frozenset({"north"})))
    assert str(delivery.tables["seasons"]["planted_on"].iloc[0])[:10] == "2024-05-01"


def test_a_table_parted_by_blanks(tmp_path: Path) -> None:
    text = "Time   vwc_30cm_pct   temp_30cm_C\n2024-01-01   25.3  -1\n2024-01-02  24.9   2\n"
    delivery = brought(tmp_path, text, "log.txt")
    np.testing.assert_allclose(delivery.readings[0].theta[:, 0], [0.253, 0.249])
