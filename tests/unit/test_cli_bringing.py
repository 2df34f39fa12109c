"""What the program prints of an import: the sum, the preview, what was not taken."""

import gzip
import json
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from analytics.cli import main
from analytics.store import layout, people

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def store(tmp_path: Path) -> Path:
    made = tmp_path / "store"
    layout.create(made)
    field = gpd.GeoDataFrame(
        {"field": ["f"]}, geometry=[shapely.box(0, 0, 1, 1)], crs="EPSG:4326"
    )
    people.put(made, "fields", field)
    placed = {"site": ["p1"], "field": "f", "latitude": 0.5, "longitude": 0.5}
    people.put(
        made, "sites", pd.DataFrame(placed | {"timezone": "UTC", "installed_on": pd.NaT})
    )
    return made


def test_a_mapping_corrected_by_hand_is_saved_for_the_next_file(
    store: Path, tmp_path: Path, capsys: Capture
) -> None:
    first, second = tmp_path / "p1_a.csv.gz", tmp_path / "p1_b.csv"
    first.write_bytes(gzip.compress(b"Date;vwc 30 cm [%]\n02/01/2024;25,5\n03/01/2024;wet\n"))
    second.write_text("Date;vwc 30 cm [%]\n03/01/2024;26,5\n02/01/2024;24,5\n")
    assert main(["import", str(store), str(first)]) == 1
    assert "day or the month" in capsys.readouterr().err
    hint = tmp_path / "m.json"
    hint.write_text(json.dumps({"time": {"format": "%d/%m/%Y"}}))
    assert main(["import", str(store), str(first), "--mapping", str(hint), "--dry-run"]) == 0
    told = capsys.readouterr()
    assert "0.255" in told.err
    assert json.loads(told.out)["time"]["format"] == "%d/%m/%Y"
    assert main(["import", str(store), str(first), "--mapping", str(hint)]) == 0
    sums = "rows in 2 = 1 taken + 0 identical + 0 superseded + 1 rejected"
    assert sums in capsys.readouterr().out
    assert main(["import", str(store), str(second)]) == 0
    sums = "rows in 2 = 1 taken + 0 identical + 1 superseded + 0 rejected"
    assert sums in capsys.readouterr().out
    assert main(["table", str(store), "superseded", "--format", "csv"]) == 0
    assert "0.255" in capsys.readouterr().out
    assert main(["table", str(store), "rejects"]) == 0
    assert "p1_a.csv.gz" in capsys.readouterr().out


def test_a_folder_without_tables_and_a_mapping_that_is_not_there_are_refused(
    store: Path, tmp_path: Path, capsys: Capture
) -> None:
    notes = tmp_path / "notes"
    notes.mkdir()
    (notes / "readme.md").write_text("no table")
    assert main(["import", str(store), str(notes)]) == 1
    assert "no file in this folder is a table" in capsys.readouterr().err
    file = tmp_path / "p1.csv"
    file.write_text("Date,vwc 30 cm [%]\n2024-03-01,25\n")
    assert main(["import", str(store), str(file), "--mapping", str(notes / "none.json")]) == 1
    assert "none.json: the mapping cannot be read" in capsys.readouterr().err


def test_a_service_needs_to_be_told_what_it_is(store: Path, capsys: Capture) -> None:
    assert main(["import", str(store), "http://127.0.0.1:9/v1.1"]) == 1
    assert "--as sensorthings" in capsys.readouterr().err
    mapping = store.parent / "m.json"
    mapping.write_text('{"datastreams": [{"datastream": 1, "site": "p1", "depth_cm": 30, '
                       '"quantity": "vwc"}]}')  # fmt: skip
    words = ["--as", "sensorthings", "--mapping", str(mapping)]
    assert main(["import", str(store), "http://127.0.0.1:9/v1.1", *words]) == 1
    assert "cannot be reached" in capsys.readouterr().err
    assert main(["import", str(store), str(mapping), *words]) == 1
