"""Files that cannot be taken: each one clear sentence, and none is loaded whole."""

import gzip
import time
import tracemalloc
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analytics.errors import InputRefused
from analytics.intake import Known, read

KNOWN = Known(sites={"p1": "America/Chicago"}, fields=frozenset({"north"}))
LONG = "site,time,depth_cm,vwc\n"
ROW = "p1,2024-03-01T00:00:00Z,30,0.25\n"


def refused(path: Path, **options: object) -> InputRefused:
    with pytest.raises(InputRefused) as caught:
        read(path, KNOWN, **options)  # type: ignore[arg-type]
    return caught.value


@pytest.mark.parametrize(
    ("name", "content", "where", "words"),
    [
        ("a.csv", b"", "a.csv", "empty"),
        ("a.csv", LONG.encode(), "a.csv", "not one row"),
        ("a.csv", b"\n\n\n", "a.csv", "every line is blank"),
        ("a.csv", (LONG + ROW).encode("utf-16"), "a.csv", "UTF-16"),
        ("a.csv", LONG.encode() + "p\xe9,1,2,3\n".encode("latin-1"), "a.csv, row 2", "UTF-8"),
        ("a.csv", b"site,time\n\x00\x01\x02", "a.csv", "not text"),
        ("a.csv", gzip.compress(LONG.encode(), mtime=0)[:-9], "a.csv", "cannot be read"),
        ("a.parquet", b"PAR1 and then nothing", "a.parquet", "Parquet"),
        ("a.parquet", b"", "a.parquet", "empty"),
        ("a.geojson", b'{"type": "Feature', "a.geojson", "GeoJSON"),
        ("a.gpkg", b"SQLite format 3\x00 cut", "a.gpkg", "GeoPackage"),
        ("a.csv", b"datum;feuchte 30\n01.03.2024;25,3\n", "a.csv", "no column is a soil"),
        (
            "a.csv",
            b"time\tvwc 30 cm [raw]\n2024-03-01\t412\n",
            "'vwc 30 cm [raw]'",
            "raw counts",
        ),
        ("a.csv", b"time,vwc 30 cm [%]\n3/4/2024,14\n", "column 'time'", "day or the month"),
        ("a.csv", b"time,vwc 30 cm [%]\n3/14/24,1\n14/3/24,1\n", "'time'", "only month first"),
        (
            "a.csv",
            b"time,vwc 30 cm [%]\nyesterday,14\n",
            "column 'time'",
            "no form that is known",
        ),
        ("a.csv", b"\xd0\xcf\x11\xe0\xa1\xb1", "a.csv", "old Excel form"),
        ("a.zip", b"PK\x03\x04 and then nothing", "a.zip", "damaged"),
        ("a.csv", b"site,time,depth_cm,vwc,vwc\np1,2024-03-01,30,1,2\n", "'vwc'", "twice"),
        ("a.csv", b"x" * 100_000, "a.csv", "no line ends"),
        ("a.csv", b"site,time,depth_cm,moist\n" + ROW.encode(), "'vwc'", "moist"),
        ("a.csv", b"site,field,latitude,longitude\nq,north,1,1\n", "'timezone'", "'sites'"),
        ("a.csv", b"field,crop\nnorth,corn\n", "'planted_on'", "'seasons'"),
        ("a.csv", b"field,date,kind\nnorth,2024-01-01,rain\n", "'mm'", "'water'"),
        ("a.csv", b"colour,size\nred,2\n", "a.csv", "no column is a soil moisture"),
        ("a.csv", b"vwc 10 cm [%],size\n14,2\n", "a.csv", "no column is the time"),
        ("a.csv", b"Site,Time,Depth_cm,VWC\np1,2024-03-01,30,0.2\n", "'site'", "Site, Time"),
        ("a.csv", b"time,colour\n2024-03-01,red\n", "a.csv", "no column is a soil moisture"),
        ("a.csv", LONG.encode() + ROW.encode().replace(b"p1", b"p9"), "'site'", "known site"),
        ("a.csv", LONG.encode() + b"p1,2024-02-30,30,0.2\n", "row 2, column 'time'", "not one"),
        ("a.csv", LONG.encode() + b"p1,2024-02-03,30,NA\n", "a.csv", "no reading"),
        ("a.csv", LONG.encode() + b"p1,2024-02-03,30,25\n", "column 'vwc'", "no soil holds"),
        ("a.csv", b"time,sm 10 cm\n2024-03-01,990\n2024-03-02,1007\n", "'sm 10 cm'", "unit"),
    ],
)
def test_a_bad_file_is_refused_in_one_sentence(
    tmp_path: Path, name: str, content: bytes, where: str, words: str
) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    error = refused(path)
    assert where in error.where
    assert name in error.where
    assert words in error.found
    assert error.remedy.endswith(".")
    assert "\n" not in str(error)


def test_no_file_and_a_folder(tmp_path: Path) -> None:
    assert "no such file" in refused(tmp_path / "gone.csv").found
    assert "folder" in refused(tmp_path).found


def test_bad_encoding_beyond_the_first_look(tmp_path: Path) -> None:
    path = tmp_path / "late.csv"
    path.write_bytes((LONG + ROW * 4000).encode() + b"p\xe9,2024-03-01,30,0.2\n")
    assert "UTF-8" in refused(path).found


def test_a_character_cut_by_the_first_look_is_no_fault(tmp_path: Path) -> None:
    path = tmp_path / "cut.csv"
    head = "site,time,depth_cm,vwc,note\n"
    rows = "p1,2024-03-01T00:00:00Z,30,0.25,é\n"
    for pad in range(3):  # shift the two-byte letter across the edge
        path.write_text(head + "p1,2024-03-02,30,0.2," + "x" * pad + "\n" + rows * 4000)
        assert read(path, KNOWN).rows_in == 4001


def test_a_truncated_parquet_file(tmp_path: Path) -> None:
    path = tmp_path / "cut.parquet"
    pd.DataFrame({"site": ["p1"] * 5000, "vwc": np.arange(5000.0)}).to_parquet(path)
    path.write_bytes(path.read_bytes()[:-100])
    assert "Parquet" in refused(path).found


@pytest.mark.parametrize("name", ["n.csv", "n.csv.gz", "n.parquet", "n.geojson", "n.gpkg", "n"])
def test_noise_of_200_mb_is_refused_at_once_in_little_memory(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    noise = np.random.default_rng(7).bytes(1 << 20)
    with path.open("wb") as file:
        file.write(noise)
        file.truncate(200_000_000)  # sparse: the rest is nought bytes
    tracemalloc.start()
    began = time.perf_counter()
    refused(path)
    took, peak = time.perf_counter() - began, tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert took < 2.0
    assert peak < 5_000_000


def test_an_unknown_kind_and_a_wrong_form(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text(LONG + ROW)
    assert "no table" in refused(path, kind="tractors").found
    assert "cannot hold" in refused(path, kind="fields").found


def test_sentences_name_row_and_column(tmp_path: Path) -> None:
    path = tmp_path / "seasons.csv"
    path.write_text("field,crop,planted_on\nnorth,corn,2024-05-01\nnorth,corn,2024-02-30\n")
    assert str(refused(path)) == (
        "seasons.csv, row 3, column 'planted_on': '2024-02-30' is not a date. "
        "Write a day of the calendar as year-month-day, such as 2024-11-05."
    )


def test_a_spike_does_not_make_moisture_another_unit(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text(LONG + ROW + ROW.replace("00:00", "01:00") + "p1,2024-03-02,30,7.5\n")
    assert read(path, KNOWN).readings[0].theta.max() == pytest.approx(7.5)
    path = tmp_path / "p1.csv"
    path.write_text("time,sm 10 cm\n2024-03-01,31\n2024-03-02,655\n2024-03-03,30\n")
    assert read(path, KNOWN).readings[0].theta[0, 0] == pytest.approx(0.31)
