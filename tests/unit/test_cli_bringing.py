"""What the program prints of an import: the sum, the preview, what was not taken."""

import gzip
import json
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from analytics.cli import bringing, main
from analytics.errors import InputRefused
from analytics.intake import Known
from analytics.model import Delivery
from analytics.store import importing, layout, people, readings

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


@pytest.fixture
def many(store: Path) -> Path:
    """Give the store eight probes more."""
    names = [f"q{n}" for n in range(8)]
    placed = {"site": names, "field": "f", "latitude": 0.5, "longitude": 0.5}
    people.put(
        store, "sites", pd.DataFrame(placed | {"timezone": "UTC", "installed_on": pd.NaT})
    )
    return store


def _night(folder: Path, name: str, site: str, vwc: float) -> Path:
    folder.mkdir(exist_ok=True)
    path = folder / f"{name}.csv"
    path.write_text(f"site,time,depth_cm,vwc\n{site},2024-03-01T06:00:00Z,30,{vwc}\n")
    return path


def test_files_that_stand_ready_are_taken_together_and_told_in_their_order(
    many: Path, tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    for n in range(8):
        _night(tmp_path / "night", f"{n}", f"q{n}", 0.25)
    _all_at_once(monkeypatch)
    sizes = _sizes(monkeypatch)
    assert main(["import", str(many), str(tmp_path / "night")]) == 0
    told = capsys.readouterr().out.splitlines()
    assert [Path(line.split(": ")[0]).stem for line in told] == [f"{n}" for n in range(8)]
    assert all("1 taken" in line for line in told)
    assert sizes == [1, 7], "what the first tells is waited for"
    assert main(["import", str(many), str(tmp_path / "night")]) == 0
    assert capsys.readouterr().out.count("already imported") == 8


def _sizes(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Note how many files are taken together each time."""
    sizes: list[int] = []
    take_all = importing.take_all
    monkeypatch.setattr(importing, "take_all", lambda store, some, **how: (
        sizes.append(len(some)), take_all(store, some, **how))[1])  # fmt: skip
    return sizes


def _all_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let every file be read before the first is taken."""

    class Here(ThreadPoolExecutor):
        def submit(self, *told, **more):
            future = super().submit(*told, **more)
            future.exception()
            return future

    monkeypatch.setattr(bringing, "ThreadPoolExecutor", Here)


def test_a_refused_file_among_others_that_stand_ready_stops_none_of_them(
    many: Path, tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    for n in range(6):
        _night(tmp_path / "night", f"{n}", f"q{n}", 0.25)
    (tmp_path / "night" / "3.csv").write_text("site,time,depth_cm,vwc\nnobody,x,y,z\n")
    _all_at_once(monkeypatch)
    monkeypatch.setattr(importing, "_check_sites", _no_such("q4"))
    assert main(["import", str(many), str(tmp_path / "night")]) == 1
    told = capsys.readouterr()
    assert told.out.count("1 taken") == 4
    assert "3.csv" in told.err
    assert "no q4" in told.err
    assert set(readings.sites(many)) == {"q0", "q1", "q2", "q5"}


def _no_such(site: str) -> Callable[..., None]:
    def check(_: object, deliveries: list[Delivery]) -> None:
        if any(one.site == site for delivery in deliveries for one in delivery.readings):
            where = "night"
            raise InputRefused(where, f"no {site}.", "None.")

    return check


def test_of_two_files_of_one_site_the_later_wins_however_early_it_was_read(
    many: Path, tmp_path: Path, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "night"
    nights = (("_", "q2", 0.2), ("a", "q0", 0.2), ("b", "q1", 0.21), ("c", "q0", 0.3))
    for name, site, vwc in nights:
        _night(folder, name, site, vwc)
    (folder / "d.csv").write_bytes((folder / "c.csv").read_bytes())
    _all_at_once(monkeypatch)
    sizes = _sizes(monkeypatch)
    assert main(["import", str(many), str(folder)]) == 0
    assert sizes == [1, 2, 1, 1], "what a site's second file does hangs on the first"
    told = capsys.readouterr().out.splitlines()
    assert "1 taken" in told[1]
    assert "1 superseded" in told[3]
    assert "already imported" in told[4]
    assert readings.read(many, "q0").theta.tolist() == [[0.3]]


def _wide(folder: Path, site: str) -> None:
    folder.mkdir(exist_ok=True)
    text = f"Date;vwc 30 cm [%]\n23/01/2024;25,5\n24/01/2024;25,{site[1:]}\n"
    (folder / f"{site}.csv").write_text(text)


def _reads(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, int]]:
    """Note which files are read, and how many mappings are known then."""
    reads: list[tuple[str, int]] = []
    read = bringing.read

    def noted(path: Path, known: Known, **more: Any) -> Delivery:
        reads.append((path.stem, len(known.mappings)))
        return read(path, known, **more)

    monkeypatch.setattr(bringing, "read", noted)
    return reads


def test_files_behind_a_new_form_are_read_once_by_what_the_first_tells(
    many: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for site in ("q1", "q2", "q3"):
        _wide(tmp_path / "wide", site)
    reads = _reads(monkeypatch)
    assert main(["import", str(many), str(tmp_path / "wide")]) == 0
    assert reads == [("q1", 0), ("q2", 1), ("q3", 1)]
    assert len(importing.known(many).mappings) == 1
    assert set(readings.sites(many)) == {"q1", "q2", "q3"}


def test_files_behind_a_new_form_that_is_refused_are_read_again(
    many: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for site in ("q1", "q2", "q3"):
        _wide(tmp_path / "wide", site)
    _all_at_once(monkeypatch)
    monkeypatch.setattr(importing, "_check_sites", _no_such("q1"))
    reads = _reads(monkeypatch)
    assert main(["import", str(many), str(tmp_path / "wide")]) == 1
    assert reads == [("q1", 0), ("q2", 1), ("q3", 1), ("q2", 0), ("q3", 1)]
    assert set(readings.sites(many)) == {"q2", "q3"}


def test_what_was_read_before_its_sites_were_told_is_read_again(
    store: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "all"
    folder.mkdir()
    sites = "site,field,latitude,longitude,timezone\n"
    for n in range(3):
        placed = sites + f"z{n},f,0.5,0.5,UTC\n"
        (folder / f"sites_{n}.csv").write_text(placed)
        _night(folder, f"z{n}", f"z{n}", 0.25)
    _all_at_once(monkeypatch)
    assert main(["import", str(store), str(folder)]) == 0
    assert set(readings.sites(store)) == {"z0", "z1", "z2"}


WIDE = "Time,VWC 6 in (%),VWC 14 in (%)\n2024-01-01T06:00,25,30\n"
LONG = """site,time,depth_cm,vwc
p1,2024-01-01T06:00Z,15.24,0.25
p1,2024-01-01T06:00Z,35.56,0.3
"""


@pytest.mark.parametrize("text", [WIDE, LONG])
def test_depths_beside_a_layers_table_are_told_before_and_at_the_import(
    store: Path, tmp_path: Path, capsys: Capture, text: str
) -> None:
    layers = "site,depth_cm\n" + "".join(f"p1,{one}\n" for one in (15, 30, 60))
    (tmp_path / "layers.csv").write_text(layers)
    path = tmp_path / "p1.csv"
    path.write_text(text)
    assert main(["import", str(store), str(tmp_path / "layers.csv")]) == 0
    for more in (["--dry-run"], []):
        assert main(["import", str(store), str(path), *more]) == 0
        told = capsys.readouterr()
        words = told.out + told.err
        assert "15.24 cm is taken as 15 cm, which is known there (site p1)." in words
        assert "A sensor at 35.56 cm is new to site p1: its layers so far are 15, 30" in words
    assert readings.read(store, "p1").depths_cm.tolist() == [15.0, 35.56]
