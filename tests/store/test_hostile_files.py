"""Files that mean harm: names that are code, archives that climb, metadata that would run."""

import os
import pickle
import zipfile
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
import shapely

from analytics.cli import main
from analytics.store import layout, people
from analytics.store.check import check

NAMES = (
    "'); DROP TABLE fields; --", "<img src=x onerror=alert(1)>", "=cmd|' /C calc'!A0",
    "../../../etc/passwd", "a\u202egnp.exe", "{{7*7}} ${7*7} #strong[x]", "x" * 60,
)  # fmt: skip


@pytest.fixture
def store(tmp_path: Path) -> Path:
    there = tmp_path / "store"
    layout.create(there)
    return there


def brought(store: Path, *paths: Path) -> int:
    return main(["import", str(store), *map(str, paths)])


def laid(folder: Path) -> list[Path]:
    """Write tables in which every name and id is one that means harm."""
    folder.mkdir()
    shapes = [shapely.Point(-101 + n / 10, 39).buffer(0.01) for n in range(len(NAMES))]
    fields = gpd.GeoDataFrame({"field": NAMES, "name": NAMES, "grower": NAMES},
                              geometry=shapes, crs="EPSG:4326")  # fmt: skip
    fields.to_file(folder / "fields.geojson")
    sites = pd.DataFrame({"site": NAMES, "field": NAMES, "latitude": 39.0,
                          "longitude": [-101 + n / 10 for n in range(len(NAMES))],
                          "timezone": "America/Denver"})  # fmt: skip
    sites.to_csv(folder / "sites.csv", index=False)
    times = pd.date_range("2024-01-01", periods=3, freq="D", tz="UTC")
    rows = pd.DataFrame([{"site": name, "time": when, "depth_cm": 10.0, "vwc": 0.25}
                         for name in NAMES for when in times])  # fmt: skip
    rows.to_csv(folder / "readings.csv", index=False)
    return [folder / "fields.geojson", folder / "sites.csv", folder / "readings.csv"]


def test_names_that_are_code_are_names(store: Path, tmp_path: Path) -> None:
    before = {one.relative_to(tmp_path) for one in tmp_path.rglob("*")}
    assert brought(store, *laid(tmp_path / "files")) == 0
    assert set(people.table(store, "fields")["name"]) == set(NAMES)
    assert set(people.table(store, "readings")["site"]) == set(NAMES)
    assert main(["assess", str(store), "--workers", "1"]) == 0
    assert set(people.table(store, "daily")["site"]) == set(NAMES)
    assert [one for one in check(store) if one.level == "damaged"] == []
    after = {one.relative_to(tmp_path).parts[0] for one in tmp_path.rglob("*")}
    assert after - {one.parts[0] for one in before} == {"files"}  # nothing climbed out


def test_a_table_written_out_holds_no_formula(store: Path, tmp_path: Path) -> None:
    assert brought(store, *laid(tmp_path / "files")) == 0
    out = tmp_path / "sites.csv"
    assert main(["table", str(store), "sites", "--format", "csv", "--out", str(out)]) == 0
    cells = [cell for line in out.read_text().splitlines() for cell in line.split(",")]
    assert not [one for one in cells if one.startswith(("=", "+", "@", "\t"))]


def test_an_archive_that_climbs_writes_nothing(store: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.zip"
    with zipfile.ZipFile(bad, "w") as archive:
        archive.writestr("../../climbed.csv", "site,time,depth_cm,vwc\nx,2024-01-01,10,0.2\n")
    brought(store, bad)
    assert not list(tmp_path.parent.parent.glob("climbed.csv"))
    assert not list(tmp_path.rglob("climbed.csv"))


def test_a_link_is_read_as_what_it_points_to_and_refused(store: Path, tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("root:x:0:0\n")
    link = tmp_path / "link.csv"
    link.symlink_to(secret)
    assert brought(store, link) == 1
    assert people.table(store, "rejects").empty


def test_metadata_that_would_run_does_not(store: Path, tmp_path: Path) -> None:
    """Parquet may carry a pickled type; nobody opens it."""
    ran = tmp_path / "ran"

    class Bomb:
        def __reduce__(self) -> tuple:
            return os.mkdir, (str(ran),)

    table = pa.table({"site": ["x"], "time": pd.to_datetime(["2024-01-01T00:00Z"]),
                      "depth_cm": [10.0], "vwc": [0.2]})  # fmt: skip
    harm = {b"ARROW:extension:name": b"arrow.py_extension_type",
            b"ARROW:extension:metadata": pickle.dumps(Bomb())}  # fmt: skip
    fields = [one.with_metadata(harm) for one in table.schema]
    bad = tmp_path / "bad.parquet"
    pq.write_table(table.cast(pa.schema(fields, metadata=harm)), bad)
    brought(store, bad)
    assert not ran.exists()
