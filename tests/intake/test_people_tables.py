"""The people's tables: valid frames, or every problem counted and the first one told."""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analytics.contract import TABLES
from analytics.errors import InputRefused
from analytics.intake import Known, guess_kind, read

KNOWN = Known(sites={"p1": "America/Chicago"}, fields=frozenset({"north", "south"}))
GOOD = {
    "sources": "source,name,capacity_l_s\nwell,Well group,60\nditch,,\n",
    "sites": "site,field,latitude,longitude,timezone,installed_on\n"
    "p1,north,38.5,-101.2,America/Chicago,2019-04-01\n",
    "layers": "site,depth_cm,full\np1,10,0.31\np1,20,\n",
    "seasons": "field,crop,planted_on,harvested_on\nnorth,corn,2023-05-01,2023-10-02\n",
    "water": "field,date,kind,mm\nnorth,2024-01-03,rain,12.5\nnorth,2024-01-03,snow,3\n",
    "stations": "station,latitude,longitude,elevation_m\nw1,38.1,-101.3,900\n",
    "weather": "station,date,tmin_c,tmax_c,rain_mm\nw1,2024-01-03,-5,7.5,\n",
}


def write(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text)
    return path


@pytest.mark.parametrize("kind", GOOD)
def test_each_table_is_recognised_and_typed(tmp_path: Path, kind: str) -> None:
    path = write(tmp_path, "from_office.csv", GOOD[kind])
    assert guess_kind(path) == kind
    delivery = read(path, KNOWN)
    frame = delivery.tables[kind]
    assert delivery.kind == kind
    told = {*GOOD[kind].split("\n")[0].split(","), *TABLES[kind].key}
    assert list(frame.columns) == [one for one in TABLES[kind].names if one in told]
    assert len(frame) == delivery.rows_in == GOOD[kind].count("\n") - 1
    for column in (one for one in TABLES[kind].columns if one.name in frame):
        want = {"text": "str", "number": "float64", "date": "datetime64[us]"}[column.kind]
        assert str(frame[column.name].dtype) == want


@pytest.mark.parametrize("kind", GOOD)
def test_parquet_gives_the_same_table(tmp_path: Path, kind: str) -> None:
    path = write(tmp_path, "a.csv", GOOD[kind])
    from_csv = read(path, KNOWN).tables[kind]
    from_csv.to_parquet(tmp_path / "a.parquet")
    pd.testing.assert_frame_equal(read(tmp_path / "a.parquet", KNOWN).tables[kind], from_csv)


def test_extra_columns_are_kept_aside_and_blank_is_missing(tmp_path: Path) -> None:
    text = "\ufefffield,crop,planted_on,seed\nnorth,corn,2023-05-01,A\n\n,,,\n"
    delivery = read(write(tmp_path, "seasons.csv", text), KNOWN)
    assert delivery.notes == ("Columns kept aside: seed.",)
    assert delivery.rows_in == 1
    assert "harvested_on" not in delivery.tables["seasons"]  # of it the file says nothing
    water = read(write(tmp_path, "w.csv", GOOD["weather"]), KNOWN).tables["weather"]
    assert np.isnan(water["rain_mm"].iloc[0])


@pytest.mark.parametrize(
    ("kind", "text", "where", "found"),
    [
        (
            "water",
            "field,date,kind,mm\nnorth,2024-01-03,hail,1\n",
            "row 2, column 'kind'",
            "hail",
        ),
        ("water", "field,date,kind,mm\nwest,2024-01-03,rain,1\n", "'field'", "no field 'west'"),
        ("water", "field,date,kind,mm\nnorth,2024-01-03,rain,1e9\n", "'mm'", "out of range"),
        ("water", "field,date,kind,mm\nnorth,2024-01-03,rain,inf\n", "'mm'", "not a number"),
        ("water", "field,date,kind,mm\nnorth,2024-01-03,rain,\n", "'mm'", "missing"),
        ("water", "field,date,kind,mm\nnorth,3.1.2024,rain,1\n", "'date'", "not a date"),
        ("water", "field,date,kind,mm\nnorth,2024-01-03,rain\n", "row 2", "3 values"),
        ("layers", "site,depth_cm\np9,10\n", "'site'", "no site 'p9'"),
        ("layers", "site,depth_cm\np1,10\np1,10.0\n", "row 3", "already stands in row 2"),
        ("layers", "site,depth_cm,top_cm,bottom_cm\np1,10,15,5\n", "'bottom_cm'", "before"),
        ("seasons", "field,crop\nnorth,corn\n", "'planted_on'", "field, crop"),
        (
            "seasons",
            "field,crop,planted_on,harvested_on\nnorth,corn,2023-05-01,2022-10-02\n",
            "'harvested_on'",
            "before planted_on",
        ),
        (
            "sites",
            "site,field,latitude,longitude,timezone\np1,north,38.5,-101,Kansas\n",
            "'timezone'",
            "no timezone",
        ),
        (
            "sites",
            "site,field,latitude,longitude,timezone\np1,north,385,-101,America/Chicago\n",
            "'latitude'",
            "out of range",
        ),
    ],
)
def test_a_bad_value_refuses_the_file(
    tmp_path: Path, kind: str, text: str, where: str, found: str
) -> None:
    with pytest.raises(InputRefused) as caught:
        read(write(tmp_path, "a.csv", text), KNOWN, kind=kind)
    assert where in caught.value.where
    assert found in caught.value.found


def test_all_problems_are_counted_and_lines_are_the_files_own(tmp_path: Path) -> None:
    text = "field,date,kind,mm\nnorth,2024-01-03,rain,1\n\nnorth,bad,rain,x\nwest,2024,hail,1\n"
    with pytest.raises(InputRefused) as caught:
        read(write(tmp_path, "water.csv", text), KNOWN)
    assert "row 4" in caught.value.where  # the blank line counts as a line
    assert "(4 more problems in this file.)" in caught.value.remedy


def test_the_file_name_decides_where_the_header_does_not(tmp_path: Path) -> None:
    assert (
        guess_kind(write(tmp_path, "seasons.csv", "field,crop,sown\nnorth,corn,1\n"))
        == "seasons"
    )
    assert guess_kind(write(tmp_path, "x.csv", "time,vwc 10 cm\n2024-01-01,0.2\n")) == "logger"
    long = "site,time,depth_cm,vwc\np1,2024-01-01,10,0.2\n"
    assert guess_kind(write(tmp_path, "sites.csv", long)) == "readings"


@pytest.mark.parametrize(
    ("parts", "fits"),
    [("30,50,20", True), ("30,50,20.9", True), ("30,50,10", False), ("30,,20", True)],
)
def test_sand_silt_and_clay_make_the_whole(tmp_path: Path, parts: str, fits: bool) -> None:
    text = f"site,depth_cm,sand,silt,clay\np1,10,40,40,20\np1,20,{parts}\n"
    path = write(tmp_path, "layers.csv", text)
    if fits:
        assert len(read(path, KNOWN).tables["layers"]) == 2
        return
    with pytest.raises(InputRefused, match="do not make 100 %") as refused:
        read(path, KNOWN)
    assert "row 3, column 'clay'" in refused.value.where


def test_a_number_of_ours_in_another_unit_is_refused_and_not_lost(tmp_path: Path) -> None:
    text = "source,name,capacity_gpm,allocation_in\nwell,Wells,900,12\n"
    with pytest.raises(InputRefused) as refused:
        read(write(tmp_path, "sources.csv", text), KNOWN)
    said = str(refused.value)
    assert "column 'capacity_gpm'" in said
    assert "'allocation_in'" in said
    assert "Write capacity_l_s in L/s, allocation_mm in mm." in said


@pytest.mark.parametrize(
    ("kind", "header", "row"),
    [
        ("sources", "source,name,Capacity (L/s)", "well,Wells,60"),
        ("sources", "source,name,allocation", "well,Wells,300"),
        ("sources", "source,name,max_pass_in", "well,Wells,1.5"),
        ("sources", "source,name,efficiency_pct", "well,Wells,90"),
        ("stations", "station,latitude,longitude,elevation_ft", "w1,38.1,-101.3,2950"),
        ("layers", "site,depth_cm,full_%", "p1,30,31"),
        ("weather", "station,date,tmin_F,rain_mm", "w1,2024-01-03,20,1"),
    ],
)
def test_every_table_refuses_other_units(
    tmp_path: Path, kind: str, header: str, row: str
) -> None:
    with pytest.raises(InputRefused, match="in another unit"):
        read(write(tmp_path, "office.csv", f"{header}\n{row}\n"), KNOWN, kind=kind)


@pytest.mark.parametrize(
    "header", ["capacity_l_s,capacity_gpm", "capacity_l_s,capacity_note", "capacity_l_s,full"]
)
def test_a_column_beside_ours_and_a_word_of_ones_own_are_kept_aside(
    tmp_path: Path, header: str
) -> None:
    text = f"source,name,{header}\nwell,Wells,60,900\n"
    notes = read(write(tmp_path, "sources.csv", text), KNOWN).notes
    assert notes == (f"Columns kept aside: {header.split(',')[1]}.",)


def test_a_share_is_asked_for_without_a_unit(tmp_path: Path) -> None:
    text = "source,capacity_l_s,efficiency\nwell,60,90\n"
    with pytest.raises(InputRefused, match=r"Give a value from 0\.01 to 1\."):
        read(write(tmp_path, "sources.csv", text), KNOWN)
