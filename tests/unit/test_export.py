"""Tables written out: readable, inert in a spreadsheet, placed where there is a place."""

import io
import itertools
import json
import time
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pytest
import shapely
from pyogrio.errors import DataSourceError

from analytics.cli import main
from analytics.errors import InputRefused
from analytics.report import export, whole
from analytics.store import people


@pytest.fixture
def frame() -> pd.DataFrame:
    return pd.DataFrame(
        {
            "site": ["=A1+B1", "n"],
            "date": pd.to_datetime(["2024-11-05", "NaT"]),
            "from": pd.to_datetime(["2024-11-05T06:30:00-06:00", "NaT"], utc=True),
            "mm": [-1.23456, np.nan],
            "days": pd.array([123456, None], dtype="Int64"),
            "held": [True, False],
        }
    )


def written(frame: pd.DataFrame, form: export.Format) -> bytes:
    out = io.BytesIO()
    export.write(frame, form, out)
    return out.getvalue()


def test_text_is_aligned_and_short(frame: pd.DataFrame) -> None:
    assert written(frame, "text").decode().splitlines() == [
        "site    date        from                      mm    days  held",
        "=A1+B1  2024-11-05  2024-11-05T12:30:00Z  -1.235  123456  yes",
        "n                                                         no",
    ]


def test_csv_keeps_numbers_and_disarms_formulas(frame: pd.DataFrame) -> None:
    assert written(frame, "csv").decode().splitlines() == [
        "site,date,from,mm,days,held",
        "'=A1+B1,2024-11-05,2024-11-05T12:30:00Z,-1.23456,123456,True",
        "n,,,,,False",
    ]


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_every_risky_start_is_disarmed(start: str) -> None:
    line = written(pd.DataFrame({"a": [f"{start}x"]}), "csv").decode().split("\n", 1)[1]
    assert line.lstrip('"').startswith("'")


def test_json_says_null_and_iso_dates(frame: pd.DataFrame) -> None:
    rows = json.loads(written(frame, "json"))
    assert rows[0]["date"] == "2024-11-05"
    assert rows[0]["from"] == "2024-11-05T12:30:00Z"
    assert rows[1] == {
        "site": "n", "date": None, "from": None, "mm": None, "days": None, "held": False,
    }  # fmt: skip


def test_parquet_round_trip(frame: pd.DataFrame, tmp_path: Path) -> None:
    export.write(frame, "parquet", tmp_path / "t.parquet")
    pd.testing.assert_frame_equal(pd.read_parquet(tmp_path / "t.parquet"), frame)


@pytest.mark.parametrize("form", export.PLACED)
def test_a_table_without_a_place_is_refused(frame: pd.DataFrame, form: export.Format) -> None:
    with pytest.raises(InputRefused, match="no place on the map"):
        written(frame, form)


@pytest.mark.parametrize("form", export.PLACED)
def test_rows_take_the_place_of_their_field(
    frame: pd.DataFrame, form: export.Format, tmp_path: Path
) -> None:
    shape = shapely.box(-101, 39, -100.9, 39.1)
    fields = gpd.GeoDataFrame({"field": ["f"]}, geometry=[shape], crs="EPSG:4326")
    sites = pd.DataFrame({"site": ["n"], "field": ["f"]})
    placed = export.place(frame, fields, sites)
    path = tmp_path / f"t.{form}"
    export.write(placed, form, path)
    found = gpd.read_file(path)
    assert found.crs is not None
    assert found.crs.to_epsg() == 4326
    assert found["site"].tolist() == ["=A1+B1", "n"]
    assert found.geometry.to_numpy()[0] is None, "its site is not known"
    assert shapely.equals(found.geometry.to_numpy()[1], shape)


def test_a_station_has_a_place_of_its_own() -> None:
    stations = pd.DataFrame({"station": ["w"], "latitude": [39.0], "longitude": [-101.0]})
    fields = gpd.GeoDataFrame({"field": ["n"]}, geometry=[shapely.Point(0, 0)], crs=4326)
    placed = export.place(stations, fields, pd.DataFrame({"site": [], "field": []}))
    (one,) = json.loads(written(placed, "geojson"))["features"]
    assert one["geometry"]["coordinates"] == [-101.0, 39.0]


def test_a_long_table_is_aligned_in_time_that_grows_with_it() -> None:
    column = pd.Series(np.arange(40_000))
    begin = time.perf_counter()
    written(pd.DataFrame({"a": column, "b": column}), "text")
    assert time.perf_counter() - begin < 5  # widths told anew for each cell took minutes


@pytest.mark.parametrize("form", ["text", "csv", "json", "parquet"])
@pytest.mark.parametrize("cuts", [(), (0,), (0, 2), (1, 1, 2)])
def test_a_table_in_parts_is_the_table(
    frame: pd.DataFrame, form: export.Format, cuts: tuple[int, ...], tmp_path: Path
) -> None:
    edges = [0, *cuts, len(frame)]
    parts = [frame.iloc[since:until] for since, until in itertools.pairwise(edges)]
    rows = export.write_parts(lambda: iter(parts), form, tmp_path / "parts")
    export.write(frame, form, tmp_path / "whole")
    assert rows == len(frame)
    if form == "parquet":
        one, other = (pd.read_parquet(tmp_path / name) for name in ("parts", "whole"))
        pd.testing.assert_frame_equal(one, other)
    else:
        assert (tmp_path / "parts").read_bytes() == (tmp_path / "whole").read_bytes()


@pytest.mark.parametrize("form", ["text", "csv", "json"])
def test_no_part_with_a_row_is_an_empty_table(
    frame: pd.DataFrame, form: export.Format, tmp_path: Path
) -> None:
    nothing = frame.iloc[:0]
    assert export.write_parts(lambda: iter([nothing, nothing]), form, tmp_path / "parts") == 0
    export.write(nothing, form, tmp_path / "whole")
    assert (tmp_path / "parts").read_bytes() == (tmp_path / "whole").read_bytes()


def test_an_empty_table_still_has_its_header() -> None:
    empty = pd.DataFrame({"a": pd.Series(dtype="str"), "b": pd.Series(dtype="float64")})
    assert written(empty, "csv") == b"a,b\n"
    assert written(empty, "text") == b"a  b\n"
    assert json.loads(written(empty, "json")) == []


def test_a_whole_store_goes_into_one_geopackage(tmp_path: Path, demo_store: Path) -> None:
    out = tmp_path / "all.gpkg"
    assert main(["export", str(demo_store), "--out", str(out)]) == 0
    layers = dict(pyogrio.list_layers(out))
    assert layers["fields"] == layers["readiness_latest"] == "Polygon"
    assert layers["stations"] == layers["sites"] == "Point"
    assert layers["seasons"] is None, "a GIS joins it by field"
    assert len(gpd.read_file(out, layer="readiness_latest")) == 36 * 3
    back = gpd.read_file(out, layer="fields")
    assert len(back) == 36
    assert back.crs == "EPSG:4326"
    assert set(back["name"]) == set(people.fields(demo_store)["name"])
    assert list(tmp_path.iterdir()) == [out]


def test_a_geopackage_that_cannot_be_written_is_refused_by_its_own_name(
    tmp_path: Path, frame: pd.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: object, path: Path, **__: object) -> None:
        raise DataSourceError(path)

    monkeypatch.setattr(pyogrio, "write_dataframe", full)
    with pytest.raises(InputRefused, match=rf"^{tmp_path}/all.gpkg: .* \(.*\)"):
        whole.geopackage({"sites": frame}, tmp_path / "all.gpkg")
    assert not [*tmp_path.iterdir()]


def test_an_empty_store_makes_no_geopackage(tmp_path: Path) -> None:
    with pytest.raises(InputRefused, match="every table is empty"):
        whole.geopackage({"sites": pd.DataFrame({"site": []})}, tmp_path / "all.gpkg")
    assert not [*tmp_path.iterdir()]
