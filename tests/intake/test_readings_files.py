"""Plain long readings and wide logger files made for the test."""

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.errors import InputRefused
from analytics.intake import (
    Known,
    describe,
    guess_mapping,
    header_signature,
    load_mapping,
    read,
)
from analytics.intake.header import meaning
from analytics.intake.mapping import checked
from analytics.intake.quantities import KINDS

KNOWN = Known(sites={"p1": "America/Chicago"})
TWO = Known(sites={"p1": "America/Chicago", "p2": "America/Denver"})


def write(folder: Path, text: str, name: str = "log.csv") -> Path:
    path = folder / name
    path.write_text(text)
    return path


@pytest.mark.parametrize(
    ("name", "quantity", "depth_cm", "unit"),
    [
        ("vwc 15 cm [m3/m3]", "vwc", 15.0, "fraction"),
        ("soil temp 15 cm [C]", "soil_temp", 15.0, "C"),
        ("moisture_30cm_pct", "vwc", 30.0, "percent"),
        ("SM 12in (%)", "vwc", 30.48, "percent"),
        ("temp_12in_F", "soil_temp", 30.48, "F"),
        ("Soil Temperature (10 cm) [°C]", "soil_temp", 10.0, "C"),
        ("vwc_m3m3_-40cm", "vwc", 40.0, "fraction"),
        ("Port 1 VWC 2 ft [in/ft]", "vwc", 60.96, "in/ft"),
        ("VWC_15", "vwc", 15.0, None),
        ("SMS:1:-2", "vwc", 5.08, "percent"),
        ("STO:2:-40", "soil_temp", 101.6, "F"),
        ("SOIL_MOISTURE_100_DAILY", "vwc", 100.0, "fraction"),
        ("Rain (mm)", "rain", None, "mm"),
        ("air temp max [F]", "tmax", None, "F"),
        ("air_temp_C", "air_temp", None, "C"),
    ],
)
def test_a_columns_name_is_read(
    name: str, quantity: str, depth_cm: float | None, unit: str | None
) -> None:
    read_as = meaning(name)
    assert read_as is not None
    assert (read_as.quantity, read_as.depth_cm, read_as.unit) == (quantity, depth_cm, unit)


@pytest.mark.parametrize(
    "name", ["battery temp", "note", "sur_temp_daily_max", "TAVG:1:", "vwc"]
)
def test_a_name_that_says_nothing_is_left_aside(name: str) -> None:
    assert meaning(name) is None


@given(st.integers(1, 100))
def test_inches_become_centimetres_exactly(inches: int) -> None:
    for name in (f"SMS:1:-{inches}", f"vwc {inches} in [%]", f"temp_{inches}inch_F"):
        read_as = meaning(name)
        assert read_as is not None
        assert read_as.depth_cm == inches * 2.54


def test_units_become_those_inside() -> None:
    # By hand: 41.7 % = 0.417; 2.4 in/ft = 2.4/12 = 0.2; 28 F = -20/9 C; 0.5 in = 12.7 mm.
    # Topp et al. 1980 Eq. 7 at permittivity 20: -0.053 + 0.584 - 0.22 + 0.0344 = 0.3454.
    expected = [
        ("vwc", "percent", 41.7, 0.417),
        ("vwc", "in/ft", 2.4, 0.2),
        ("vwc", "permittivity", 20.0, 0.3454),
        ("soil_temp", "F", 28.0, -20 / 9),
        ("rain", "in", 0.5, 12.7),
        ("wind", "mph", 10.0, 4.4704),
    ]
    for quantity, unit, given_value, inside in expected:
        got = KINDS[quantity].units[unit](np.array([given_value]))
        np.testing.assert_allclose(got, [inside], rtol=1e-12)


@pytest.mark.parametrize(
    "column", ["time", "timestamp", "Date", "datetime", "date_time", "TIMESTAMP", "when it was"]
)
def test_a_plain_logger_file(tmp_path: Path, column: str) -> None:
    text = (
        f"{column},moisture_30cm_pct,temp_12in_F,battery,\n"
        "2024-01-01T12:00:00Z,25.5,50,3.6,\n2024-01-01T06:00:00Z,-99,NaN,3.6,\n"
    )
    delivery = read(write(tmp_path, text), KNOWN)
    record = delivery.readings[0]
    assert record.site == "p1"
    assert record.times[0] == np.datetime64("2024-01-01T06:00", "us")
    assert record.times.dtype == "datetime64[us]"
    np.testing.assert_array_equal(record.depths_cm, [30.0, 30.48])
    np.testing.assert_allclose(record.theta, [[np.nan, np.nan], [0.255, np.nan]])
    np.testing.assert_allclose(record.temp_c, [[np.nan, np.nan], [np.nan, 10.0]])
    assert "Columns kept aside: battery." in delivery.notes
    assert len(delivery.rejects) == 0


def test_a_remark_is_no_site(tmp_path: Path) -> None:
    text = "time,note,vwc 10 cm [%]\n2024-01-01,rained,10\n2024-01-02,,11\n"
    text += "2024-01-03,,11\n"
    assert read(write(tmp_path, text), KNOWN).readings[0].site == "p1"


def test_line_ends_of_every_machine_and_breaks_in_quotes(tmp_path: Path) -> None:
    rows = ["time,note,vwc 10 cm [%]", "2024-01-01,,10", "2024-01-02,,x"]
    for end in ("\n", "\r\n", "\r"):
        path = tmp_path / "log.csv"
        path.write_bytes(end.join(rows).encode())
        assert read(path, KNOWN).rejects["line"].tolist() == [3]
    rows.insert(1, '2024-01-03,"two\nlines",12')
    rows.append("2024-01-04,,12")
    delivery = read(write(tmp_path, "\n".join(rows)), Known(sites={"log": "UTC"}))
    assert delivery.rejects["line"].tolist() == [5]
    assert delivery.rows_in == 4


def test_units_told_by_the_range_are_told_to_people(tmp_path: Path) -> None:
    text = "time,sm 10 cm,sm 20 cm,temp 10 cm\n2024-01-01,1.5,41,60\n2024-01-02,0.9,38,40\n"
    delivery = read(write(tmp_path, text), KNOWN)
    # 1.5 alone could be either; the sensors of a file share one unit.
    np.testing.assert_allclose(delivery.readings[0].theta[0], [0.015, 0.41])
    assert any("percent, because values reach 41" in note for note in delivery.notes)
    assert any("F, because values reach 60" in note for note in delivery.notes)


@pytest.mark.parametrize(
    ("header", "row", "found"),
    [
        ("sm 10 cm", "1.4", "soil moisture"),
        ("sm 10 cm [%],temp 10 cm", "14,35", "soil temperature"),
        ("sm 10 cm [%],rain", "14,0", "rain"),
    ],
)
def test_a_unit_that_cannot_be_told_is_refused(
    tmp_path: Path, header: str, row: str, found: str
) -> None:
    with pytest.raises(InputRefused, match="mapping") as caught:
        read(write(tmp_path, f"time,{header}\n2024-01-01,{row}\n"), KNOWN)
    assert f"the unit of {found}" in caught.value.found


def test_bad_cells_put_their_row_aside_with_its_line(tmp_path: Path) -> None:
    text = (
        "site,time,vwc 10 cm [%]\np1,2024-01-01,20\n\np1,2024-01-02,wet\np9,2024-01-03,20\n"
        "p1,2024-01-04,inf\np1,2024-01-05\np1,2024-01-06,\n"
    )
    delivery = read(write(tmp_path, text), TWO)
    assert [tuple(row) for row in delivery.rejects.itertuples(index=False)] == [
        (4, "vwc 10 cm [%]", "wet", "not a finite number"),
        (5, "site", "p9", "there is no such site"),
        (6, "vwc 10 cm [%]", "inf", "not a finite number"),
        (7, "", "p1,2024-01-05", "the row has 2 values, the header 3 names"),
    ]
    assert delivery.rows_in == 6
    assert len(delivery.readings[0].times) == 2


def test_the_last_of_a_repeated_instant_wins(tmp_path: Path) -> None:
    long = "site,time,depth_cm,vwc\n" + "".join(
        f"p1,2024-01-01T00:00Z,{depth},{value}\n"
        for depth, value in ((10, 0.1), (20, 0.2), (10, 0.3))
    )
    delivery = read(write(tmp_path, long), KNOWN)
    assert delivery.rows_repeated == 1
    np.testing.assert_allclose(delivery.readings[0].theta, [[0.3, 0.2]])
    wide = "time,vwc 10 cm [%]\n2024-01-01,10\n2024-01-01,30\n"
    delivery = read(write(tmp_path, wide), KNOWN)
    assert delivery.rows_repeated == 1
    np.testing.assert_allclose(delivery.readings[0].theta, [[0.3]])


def test_whose_file_it_is(tmp_path: Path) -> None:
    text = "time,vwc 10 cm [%]\n2024-01-01,10\n"
    assert read(write(tmp_path, text, "field_P2_jan.csv"), TWO).readings[0].site == "p2"
    for name, words in (("log.csv", "which site"), ("p1_p2.csv", "more than one")):
        with pytest.raises(InputRefused, match=words):
            read(write(tmp_path, text, name), TWO)
    with pytest.raises(InputRefused, match="no site is known yet"):
        read(write(tmp_path, text), Known())


def test_a_saved_mapping_serves_the_next_file_of_its_logger(tmp_path: Path) -> None:
    columns = ["time", "sm 10 cm"]
    saved = guess_mapping(columns, [["2024-01-01", "41"]], "p1.csv", TWO)
    known = Known(sites=TWO.sites, mappings={header_signature(columns): saved})
    # Values below 1 would be taken for a fraction, but the logger is known to give percent.
    text = "time,SM 10 cm\n2024-01-01,0.9\n"
    saved["columns"][0]["column"] = "SM 10 cm"
    delivery = read(write(tmp_path, text, "p2.csv"), known)
    assert delivery.readings[0].site == "p2"
    np.testing.assert_allclose(delivery.readings[0].theta, [[0.009]])
    assert delivery.notes == ("Taken to be from the site p2.",)


def test_a_mapping_given_by_hand(tmp_path: Path) -> None:
    mapping = {
        "time": {"columns": ["d", "t"], "join": " ", "format": "%d/%m/%Y %H:%M"},
        "site": {"columns": ["farm", "no"], "join": "-"},
        "missing": ["ERR", 7999],
        "columns": [{"column": "x", "quantity": "vwc", "depth_cm": 30, "unit": "percent"}],
    }
    path = write(tmp_path, json.dumps(mapping), "m.json")
    text = "farm,no,d,t,x\nA,1,02/01/2024,06:00,20\nA,1,03/01/2024,06:00,ERR\n"
    text += "A,1,04/01/2024,06:00,7999\nB,2,04/01/2024,06:00,20\n"
    delivery = read(
        write(tmp_path, text), Known(sites={"A-1": "UTC"}), mapping=load_mapping(path)
    )
    record = delivery.readings[0]
    assert record.times[0] == np.datetime64("2024-01-02T06:00", "us")
    np.testing.assert_allclose(record.theta[:, 0], [0.2, np.nan, np.nan])
    assert delivery.rejects["value"].tolist() == ["B 2"]
    told = ["x", "soil moisture", "30 cm", "percent", ""]
    assert list(describe(mapping)[-1].values()) == told


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"time": {}}, "which column"),
        ({"site": None}, "which column"),
        ({"columns": []}, "lists no column"),
        ({"columns": [{"quantity": "vwc"}]}, "has no name"),
        ({"columns": [{"column": "x", "quantity": "mud"}]}, "no quantity 'mud'"),
        (
            {"columns": [{"column": "x", "quantity": "vwc", "unit": "F", "depth_cm": 1}]},
            "no unit",
        ),
        ({"columns": [{"column": "x", "quantity": "vwc", "unit": "percent"}]}, "depth_cm"),
    ],
)
def test_a_bad_mapping_is_refused(tmp_path: Path, change: dict, words: str) -> None:
    good = {
        "time": {"column": "t"},
        "site": {"value": "p1"},
        "columns": [{"column": "x", "quantity": "vwc", "depth_cm": 30, "unit": "percent"}],
    }
    path = write(tmp_path, json.dumps(good | change), "m.json")
    with pytest.raises(InputRefused, match=words):
        load_mapping(path)
    with pytest.raises(InputRefused, match="JSON"):
        load_mapping(write(tmp_path, "{", "n.json"))
    with pytest.raises(InputRefused, match="the header says"):
        read(write(tmp_path, "a,b\n1,2\n"), KNOWN, mapping=good)


def test_weather_of_a_logger_becomes_local_days(tmp_path: Path) -> None:
    times = pd.date_range("2024-07-01", periods=48, freq="h", tz="America/Chicago")
    text = "time,vwc 10 cm [%],air_temp_C,Rain (mm),wind\n" + "".join(
        f"{one.isoformat()},20,{i},{0.5 if i != 30 else 5e6},\n" for i, one in enumerate(times)
    )
    delivery = read(write(tmp_path, text), KNOWN)
    weather = delivery.tables["weather"]
    assert list(weather["station"]) == ["p1", "p1"]
    assert list(weather["date"].astype(str)) == ["2024-07-01", "2024-07-02"]
    np.testing.assert_allclose(weather["rain_mm"], [12.0, 11.5])
    np.testing.assert_allclose(weather["tmin_c"], [0, 24])
    np.testing.assert_allclose(weather["tmax_c"], [23, 47])
    assert "rain: values out of range and left out: 1." in delivery.notes


@pytest.mark.parametrize(
    ("header", "scale", "depths_cm"),
    [
        ("Time,15 cm (%),30 cm (%)", 100, [15.0, 30.0]),
        ("Time,15cm,30cm", 100, [15.0, 30.0]),
        ("Time,15cm,30cm", 1, [15.0, 30.0]),
        ("Time,6 in,12 in", 1, [15.24, 30.48]),
        ("Time,-15 cm %,-30 cm %", 100, [15.0, 30.0]),
        ("Time,15 cm [m3/m3],30 cm [m3/m3]", 1, [15.0, 30.0]),
        ("Time,1.5 m (m³/m³),3 ft", 1, [91.44, 150.0]),
    ],
)
def test_a_name_that_is_only_a_depth_is_guessed_as_moisture_and_told(
    tmp_path: Path, header: str, scale: float, depths_cm: list[float]
) -> None:
    rows = f"2024-01-01T06:00,{0.25 * scale},{0.31 * scale}\n"
    delivery = read(write(tmp_path, f"{header}\n{rows}"), KNOWN)
    (record,) = delivery.readings
    assert record.depths_cm.tolist() == depths_cm
    np.testing.assert_allclose(sorted(record.theta[0]), [0.25, 0.31])
    assert any("the name is only a depth" in note for note in delivery.notes)
    whys = [one["why"] for one in describe(delivery.mapping or {}) if one["depth"]]
    assert len(whys) == 2
    assert all("the name is only a depth" in why for why in whys)


@pytest.mark.parametrize(
    ("header", "first", "found"),
    [
        ("Time,15 cm", "-3.5", "are no soil moisture"),
        ("Time,15 cm (%)", "430", "are no soil moisture"),
        ("Time,15 cm (m3/m3)", "25", "are no soil moisture"),
        ("Time,15 cm", "1.5", "cannot be told"),
        ("Time,15 cm (C)", "12", "no column is a soil moisture"),
        ("Time,15", "12", "no column is a soil moisture"),
    ],
)
def test_a_bare_depth_over_other_values_is_refused_with_a_mapping_to_start_from(
    tmp_path: Path, header: str, first: str, found: str
) -> None:
    with pytest.raises(InputRefused, match=found) as refused:
        read(write(tmp_path, f"{header}\n2024-01-01T06:00,{first}\n"), KNOWN)
    said = str(refused.value)
    assert "--mapping FILE" in said
    shown = said[said.index("{") : said.rindex("}") + 1]
    mapping = checked(json.loads(shown), "example")
    assert mapping["time"] == {"column": "Time"}
    assert mapping["columns"][0]["column"] == header.split(",")[1]


def test_a_bare_depth_beside_named_moisture_is_kept_aside(tmp_path: Path) -> None:
    text = "Time,VWC 15 cm (%),30 cm\n2024-01-01T06:00,25,30\n"
    delivery = read(write(tmp_path, text), KNOWN)
    assert delivery.readings[0].depths_cm.tolist() == [15.0]
    assert "Columns kept aside: 30 cm." in delivery.notes


def test_a_bare_depth_over_a_row_of_units_is_what_the_unit_says(tmp_path: Path) -> None:
    text = "Time,15 cm,30 cm\n,{0},{0}\n2024-01-01T06:00,25,30\n"
    moist = read(write(tmp_path, text.replace("{0}", "%")), KNOWN)
    np.testing.assert_allclose(moist.readings[0].theta, [[0.25, 0.3]])
    with pytest.raises(InputRefused):
        read(write(tmp_path, text.replace("{0}", "C"), "warm.csv"), KNOWN)


def test_codes_for_no_value_are_no_readings(tmp_path: Path) -> None:
    rows = [f"p1,2024-03-01T0{hour}:00Z,10,{vwc},{temp}" for hour, vwc, temp in
            [(0, 0.25, 4), (1, -9999, 5), (2, 0.26, -9999), (3, -999, -999)]]  # fmt: skip
    text = "\n".join(["site,time,depth_cm,vwc,soil_temp_c", *rows, ""])
    (record,) = read(write(tmp_path, text), KNOWN).readings
    told = dict(zip(record.times.astype(str), record.theta[:, 0], strict=True))
    assert np.nanmin(record.theta) == 0.25
    assert np.nanmin(record.temp_c) == 4.0
    assert np.isnan(told.get("2024-03-01T01:00:00.000000", np.nan))
