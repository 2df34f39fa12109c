"""Boundaries and landmarks: any system in, WGS 84 out; broken shapes are refused."""

import json
import zipfile
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd
import pytest
import shapely
from shapely.geometry import LineString, Point, Polygon, box

from analytics.errors import InputRefused
from analytics.intake import Known, guess_kind, read

KNOWN = Known()
SQUARE = box(-101.01, 38.0, -101.0, 38.01)


def saved(path: Path, shapes: list[Any], crs: str | None = "EPSG:4326", **columns: Any) -> Path:
    frame = gpd.GeoDataFrame(pd.DataFrame(columns), geometry=shapes, crs=crs)
    frame.to_file(path, driver="GPKG" if path.suffix == ".gpkg" else "GeoJSON")
    return path


def refused(path: Path) -> InputRefused:
    with pytest.raises(InputRefused) as caught:
        read(path, KNOWN)
    return caught.value


@pytest.mark.parametrize("suffix", [".geojson", ".gpkg"])
def test_fields_come_in_wgs84_with_the_columns_they_have(tmp_path: Path, suffix: str) -> None:
    ids, colour = ["north", "south"], ["red", "blue"]
    shapes = [SQUARE, shapely.affinity.translate(SQUARE, 0.02)]
    path = saved(tmp_path / f"f{suffix}", shapes, field=ids, colour=colour)
    delivery = read(path, KNOWN)
    frame = delivery.tables["fields"]
    assert delivery.kind == guess_kind(path) == "fields"
    assert list(frame["field"]) == ids
    assert isinstance(frame, gpd.GeoDataFrame)
    assert frame.crs == "EPSG:4326"
    assert list(frame.columns) == ["field", "geometry"]
    assert any("colour" in note for note in delivery.notes)


def test_another_system_is_reprojected(tmp_path: Path) -> None:
    there = gpd.GeoSeries([SQUARE], crs="EPSG:4326").to_crs("EPSG:26914")
    path = saved(tmp_path / "f.gpkg", list(there), crs="EPSG:26914", field=["north"])
    delivery = read(path, KNOWN)
    back = delivery.tables["fields"].geometry.iloc[0]
    assert shapely.hausdorff_distance(back, SQUARE) < 1e-9
    assert "Re-projected" in delivery.notes[0]


def test_landmarks_are_known_by_their_column(tmp_path: Path) -> None:
    path = saved(
        tmp_path / "l.geojson",
        [LineString([(-101, 38), (-101, 38.1)])],
        landmark=["road 7"],
        kind=["road"],
    )
    assert read(path, KNOWN).tables["landmarks"]["kind"].iloc[0] == "road"


@pytest.mark.parametrize(
    ("shape", "found"),
    [
        (Polygon([(0, 0), (1, 1), (1, 0), (0, 1)]), "crosses itself"),
        (Point(0, 0), "cannot be a Point"),
        (None, "no shape"),
        (Polygon(), "no shape"),
    ],
)
def test_a_broken_boundary_is_refused(tmp_path: Path, shape: object, found: str) -> None:
    error = refused(saved(tmp_path / "f.gpkg", [SQUARE, shape], field=["a", "b"]))
    assert found in error.found
    assert "row 2, column 'geometry'" in error.where


def test_an_id_twice_or_missing_is_refused(tmp_path: Path) -> None:
    error = refused(saved(tmp_path / "f.geojson", [SQUARE, SQUARE], field=["a", "a"]))
    assert "already stands in row 1" in error.found
    error = refused(saved(tmp_path / "g.geojson", [SQUARE], plot=["a"]))
    assert "'field'" in error.where
    assert "plot" in error.found


def test_coordinates_off_the_globe_are_refused(tmp_path: Path) -> None:
    error = refused(saved(tmp_path / "f.gpkg", [box(3e5, 4e6, 3.1e5, 4.1e6)], field=["a"]))
    assert "outside the globe" in error.found


@pytest.mark.filterwarnings("ignore:.crs. was not provided")
def test_no_system_and_no_features_are_refused(tmp_path: Path) -> None:
    error = refused(saved(tmp_path / "f.gpkg", [SQUARE], crs=None, field=["a"]))
    assert "coordinate reference system" in error.found
    empty = tmp_path / "e.geojson"
    empty.write_text(json.dumps({"type": "FeatureCollection", "features": []}))
    assert "no features" in refused(empty).found


def test_a_small_crossing_is_mended_and_told(tmp_path: Path) -> None:
    # One corner of a square runs out 1 % of its side and crosses itself on the way back.
    spike = [(0, 0), (0.01, 0), (0.01, 0.01), (0.0099, 0.0101), (0.0099, 0.0099), (0, 0.01)]
    crossed = Polygon([*spike[:4], (0.01, 0.00995), *spike[4:]])
    assert not crossed.is_valid
    delivery = read(saved(tmp_path / "f.gpkg", [crossed], field=["a"]), KNOWN)
    mended = delivery.tables["fields"].geometry.iloc[0]
    assert mended.is_valid
    assert mended.geom_type in ("Polygon", "MultiPolygon")
    assert mended.area == pytest.approx(crossed.area, rel=0.01)
    assert any("Row 1: the boundary crossed itself" in note for note in delivery.notes)


@pytest.mark.parametrize(("shift", "told"), [(0.0096, False), (0.009, True)])
def test_an_overlap_is_told_when_it_is_more_than_a_crooked_edge(
    tmp_path: Path, shift: float, told: bool
) -> None:
    # Squares of 0.01 degree; shifted by 0.0096 they share 4 %, by 0.009 they share 10 %.
    shapes = [SQUARE, shapely.affinity.translate(SQUARE, shift)]
    delivery = read(saved(tmp_path / "f.gpkg", shapes, field=["a", "b"]), KNOWN)
    said = [note for note in delivery.notes if "Fields a and b overlap by 10%" in note]
    assert bool(said) == told


def test_a_field_drawn_twice_is_refused(tmp_path: Path) -> None:
    shapes = [SQUARE, shapely.affinity.translate(SQUARE, 0.001)]
    error = refused(saved(tmp_path / "f.gpkg", shapes, field=["a", "b"]))
    assert "fields a and b overlap by 90%" in error.found
    assert "rows 1 and 2" in error.where


def test_a_field_drawn_over_one_in_the_store_is_refused(tmp_path: Path) -> None:
    there = {"old": shapely.to_wkb(shapely.affinity.translate(SQUARE, 0.001))}
    known = Known(fields=frozenset({"old"}), shapes=there)
    path = saved(tmp_path / "f.gpkg", [SQUARE], field=["new"])
    with pytest.raises(
        InputRefused, match=r"new and old .in the store already. overlap by 90%"
    ):
        read(path, known)
    again = saved(tmp_path / "g.gpkg", [SQUARE], field=["old"])
    assert read(again, known).notes == (), "a field that is drawn anew replaces itself"


def test_a_zipped_shapefile_in_another_system(tmp_path: Path) -> None:
    there = gpd.GeoSeries([SQUARE], crs="EPSG:4326").to_crs("EPSG:26914")
    folder = tmp_path / "shp"
    folder.mkdir()
    columns = pd.DataFrame({"field": ["north"], "irrigated_": [12.5]})  # cut by the format
    gpd.GeoDataFrame(columns, geometry=list(there), crs="EPSG:26914").to_file(folder / "f.shp")
    with zipfile.ZipFile(tmp_path / "f.zip", "w") as packed:
        for one in folder.iterdir():
            packed.write(one, f"inner/{one.name}")
    delivery = read(tmp_path / "f.zip", KNOWN)
    frame = delivery.tables["fields"]
    assert guess_kind(tmp_path / "f.zip") == "fields"
    assert frame["irrigated_ha"].tolist() == [12.5]
    assert not any("kept aside" in note for note in delivery.notes)
    back = frame.geometry.iloc[0]
    assert shapely.hausdorff_distance(back, SQUARE) < 1e-9


@pytest.mark.parametrize(("name", "refused"), [("irrigated_ac", True), ("irrigated", False)])
def test_an_area_in_acres_is_refused_and_a_yes_is_kept_aside(
    tmp_path: Path, name: str, *, refused: bool
) -> None:
    columns = pd.DataFrame({"field": ["north"], name: [1]})
    shapes = gpd.GeoDataFrame(columns, geometry=[SQUARE], crs="EPSG:4326")
    shapes.to_file(tmp_path / "f.geojson")
    if refused:
        with pytest.raises(InputRefused, match="Write irrigated_ha in ha"):
            read(tmp_path / "f.geojson", KNOWN)
    else:
        notes = read(tmp_path / "f.geojson", KNOWN).notes
        assert f"Columns kept aside: {name}." in notes
