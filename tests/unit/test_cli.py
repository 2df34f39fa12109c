"""The program: what it says, what it leaves alone, and its exit status."""

import hashlib
import json
import subprocess
import sys
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from analytics.cli import bringing, main

LOCKS = "locks"


@pytest.fixture
def files(tmp_path: Path) -> Path:
    """A folder of everything one field needs."""
    folder = tmp_path / "files"
    folder.mkdir()
    shape = [shapely.Point(-101, 39).buffer(0.01)]
    fields = gpd.GeoDataFrame({"field": ["north"], "name": "North"}, geometry=shape, crs=4326)
    (folder / "fields.geojson").write_text(fields.to_json())
    (folder / "a_sites.csv").write_text(
        "site,field,latitude,longitude,timezone,installed_on,removed_on\n"
        "N1,north,39,-101,America/Denver,2018-04-01,\n"
    )
    (folder / "seasons.csv").write_text(
        "field,crop,planted_on,harvested_on\nnorth,corn,2023-05-01,2023-10-10\n"
    )
    hours = pd.date_range("2023-11-01", periods=48, freq="h", tz="UTC")
    wide = pd.DataFrame({"time": hours.strftime("%Y-%m-%dT%H:%MZ"), "vwc 10 cm [%]": 25.0})
    wide["soil temp 10 cm [C]"] = np.arange(48) / 10
    wide.to_csv(folder / "N1.csv", index=False)
    return folder


@pytest.fixture
def store(tmp_path: Path) -> Path:
    assert main(["init", str(tmp_path / "store"), "--units", "mm"]) == 0
    return tmp_path / "store"


def tree(store: Path) -> dict[str, str]:
    return {
        str(path.relative_to(store)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in store.rglob("*")
        if path.is_file() and LOCKS not in path.parts
    }


def test_files_are_taken_in_the_order_they_need(
    store: Path, files: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["import", str(store), str(files)]) == 0
    said = capsys.readouterr().out
    order = ["fields.geojson", "a_sites.csv", "seasons.csv", "N1.csv: readings"]
    assert sorted(order, key=said.index) == order
    assert "rows in 48 = 48 taken + 0 identical + 0 superseded + 0 rejected" in said
    assert "N1.csv is read so:" in said
    assert "vwc 10 cm [%]" in said


def test_whose_mapping_another_loggers_file_is_read_by_is_said(
    store: Path, files: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["import", str(store), str(files)]) == 0
    capsys.readouterr()
    later = tmp_path / "N1 in May.csv"
    later.write_text((files / "N1.csv").read_text())
    assert main(["import", str(store), str(later)]) == 0
    said = capsys.readouterr().out
    assert "N1 in May.csv is read as N1.csv was, whose header it has; if it is not," in said


def test_the_same_again_changes_nothing(
    store: Path, files: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["import", str(store), str(files)])
    before = tree(store)
    capsys.readouterr()
    assert main(["import", str(store), str(files)]) == 0
    said = capsys.readouterr().out
    assert said.count("already imported, nothing changed") == 4
    assert "rows in 48 = 0 taken + 48 identical + 0 superseded + 0 rejected" in said
    assert tree(store) == before


def test_a_trial_writes_nothing_and_gives_a_mapping_to_edit(
    store: Path, files: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = tree(store)
    assert main(["import", str(store), str(files), "--dry-run"]) == 0
    mapping = json.loads(capsys.readouterr().out)
    assert tree(store) == before
    mapping["columns"] = [one for one in mapping["columns"] if one["quantity"] == "vwc"]
    edited = tmp_path / "edited.json"
    edited.write_text(json.dumps(mapping))
    for name in ("fields.geojson", "a_sites.csv"):
        main(["import", str(store), str(files / name)])
    assert main(["import", str(store), str(files / "N1.csv"), "--mapping", str(edited)]) == 0
    capsys.readouterr()
    main(["table", str(store), "readings", "--format", "json"])
    rows = json.loads(capsys.readouterr().out)
    assert {one["vwc"] for one in rows} == {0.25}
    assert {one["soil_temp_c"] for one in rows} == {None}


BAD = {
    "empty.csv": (b"", "empty"),
    "latin.csv": ("site,field\nÄ,b\n".encode("latin-1"), "UTF-8"),
    "no_column.csv": (b"field,crop,harvested_on\nnorth,corn,2023-01-01\n", "planted_on"),
    "unknown.csv": (b"site,time,depth_cm,vwc\nX9,2024-01-01T00:00Z,10,0.2\n", "X9"),
    "date.csv": (b"field,crop,planted_on\nnorth,corn,2023-02-30\n", "2023-02-30"),
    "backwards.csv": (b"field,crop,planted_on,harvested_on\nnorth,corn,2023-05-01,2022-05-01\n",
                      "comes before planted_on"),
    "noise.bin": (bytes(range(256)) * 64, "not text"),
    "broken.geojson": (b"{", "broken.geojson"),
    "broken.parquet": (b"PAR1 nothing", "not a whole Parquet file"),
    "missing.csv": (None, "no such file"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_bad_input_is_one_sentence_and_changes_nothing(
    store: Path, files: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    main(["import", str(store), str(files)])
    content, word = BAD[name]
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    before = tree(store)
    capsys.readouterr()
    kind = ["--as", "seasons"] if name in ("no_column.csv", "date.csv", "backwards.csv") else []
    assert main(["import", str(store), str(path), *kind]) == 1
    said = capsys.readouterr()
    assert said.err.count("\n") == 1
    assert word in said.err
    assert "Traceback" not in said.err
    assert tree(store) == before


def test_a_refused_file_stops_no_other(
    store: Path, files: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (files / "layers.csv").write_text("site,depth_cm\nX9,10\n")
    assert main(["import", str(store), str(files)]) == 1
    said = capsys.readouterr()
    assert "X9" in said.err
    assert "48 taken" in said.out


def test_refusals_have_status_1_and_usage_2(
    tmp_path: Path, store: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    nothing = str(tmp_path / "nothing")
    for words in (["import", nothing, "x"], ["assess", nothing], ["table", nothing, "sites"],
                  ["check", nothing], ["serve", nothing], ["init", str(store)],
                  ["table", str(store), "sources", "--format", "gpkg"]):  # fmt: skip
        assert main(words) == 1, words
        assert capsys.readouterr().err.startswith("overwinter: ")
    assert not Path(nothing).exists()
    for words in ([], ["fly"], ["table", str(store), "nosuch"], ["init"],
                  ["assess", str(store), "--as-of", "yesterday"],
                  ["assess", str(store), "--workers", "0"],
                  ["serve", str(store), "--port", "0"]):  # fmt: skip
        with pytest.raises(SystemExit) as left:
            main(words)
        assert left.value.code == 2, words


@pytest.mark.parametrize(("command", "ending"), [("export", "gpkg"), ("report", "pdf")])
@pytest.mark.parametrize(
    ("name", "found", "remedy"),
    [
        ("no/such/x.{}", "there is no folder", "Make it, or name a file in another."),
        ("folder", "this is a folder", "Name a file in it."),
        ("x.txt", "the name does not end in .{}", "x.{}."),
    ],
)
def test_a_file_that_cannot_be_made_is_named_as_it_was_asked_for(
    store: Path, capfd: pytest.CaptureFixture[str], *,
    command: str, ending: str, name: str, found: str, remedy: str,
) -> None:  # fmt: skip
    out = store.parent / name.format(ending)
    (store.parent / "folder").mkdir()
    assert main([command, str(store), "--out", str(out)]) == 1
    (said,) = capfd.readouterr().err.splitlines()
    assert said.startswith(f"overwinter: {out}: {found.format(ending)}")
    assert said.endswith(remedy.format(ending))
    assert not out.is_file()


@pytest.mark.parametrize(
    "command", ["demo", "init", "import", "assess", "table", "serve", "check"]
)
def test_help_on_each(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main([command, "--help"])
    assert left.value.code == 0
    assert "usage: overwinter" in capsys.readouterr().out


def test_assess_then_table_then_check(
    store: Path, files: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["import", str(store), str(files)])
    main(["table", str(store), "daily"])
    assert "Nothing has been assessed yet" in capsys.readouterr().err
    assert main(["assess", str(store), "--workers", "1"]) == 0
    said = capsys.readouterr()
    assert "1 site assessed" in said.out
    assert "newest reading is of 2023-11-02" in said.err
    out = tmp_path / "readiness.geojson"
    assert (
        main(["table", str(store), "readiness", "--format", "geojson", "--out", str(out)]) == 0
    )
    assert set(gpd.read_file(out)["site"]) == {"N1"}
    assert main(["check", str(store)]) == 0
    assert "Site N1 has no layers table" in capsys.readouterr().out


def test_output_cut_short_is_no_error(store: Path, files: Path) -> None:
    main(["import", str(store), str(files)])
    code = "import sys; from analytics.cli import main; sys.exit(main(sys.argv[1:]))"
    words = [sys.executable, "-c", code, "table", str(store), "readings"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout
        assert process.stderr
        process.stdout.close()
        assert process.stderr.read() == b""
    assert process.returncode == 0


def test_folders_are_looked_through_for_tables_only(files: Path) -> None:
    (files / "README.txt").write_text("read me")
    jobs, refused = bringing.arrange([files], None)
    assert refused == []
    assert [one.path.name for one in jobs] == [
        "fields.geojson", "a_sites.csv", "seasons.csv", "N1.csv",
    ]  # fmt: skip


def test_of_two_deliveries_the_later_given_wins(
    store: Path, files: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["import", str(store), str(files)])
    head = "site,time,depth_cm,vwc\nN1,2023-11-01T00:00Z,10,"
    for name, value in (("z.csv", 0.31), ("a.csv", 0.32)):
        (tmp_path / name).write_text(f"{head}{value}\n")
    paths = [str(tmp_path / "z.csv"), str(tmp_path / "a.csv")]
    assert main(["import", str(store), *paths]) == 0
    capsys.readouterr()
    main(["table", str(store), "readings", "--format", "json"])
    assert json.loads(capsys.readouterr().out)[0]["vwc"] == 0.32


@pytest.mark.parametrize("form", ["geojson", "gpkg"])
def test_millions_of_readings_are_not_given_a_boundary_each(
    store: Path, capsys: pytest.CaptureFixture[str], form: str
) -> None:
    assert main(["table", str(store), "readings", "--format", form]) == 1
    assert "too many to carry a boundary" in capsys.readouterr().err


def test_parts_of_a_day_of_rain_add_up(store: Path, files: Path, tmp_path: Path) -> None:
    assert main(["import", str(store), str(files)]) == 0
    for part, rows in {
        "a": [("06:00", 4), ("09:00", 1), ("11:00", 0)],
        "b": [("13:00", 0), ("18:00", 2), ("23:00", 0)],
    }.items():
        (tmp_path / part).mkdir()
        lines = ["time,Rain (mm)", *(f"2024-06-01 {at},{mm}" for at, mm in rows), ""]
        (tmp_path / part / "N1.csv").write_text("\n".join(lines))
        assert main(["import", str(store), str(tmp_path / part / "N1.csv")]) == 0
    out = tmp_path / "weather.json"
    words = ["table", str(store), "weather", "--format", "json", "--out", str(out)]
    assert main(words) == 0
    assert [row["rain_mm"] for row in json.loads(out.read_text())] == [7.0]


@pytest.mark.parametrize("form", ["text", "csv", "json"])
def test_tables_of_lists_are_written(
    store: Path, files: Path, form: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["import", str(store), str(files)]) == 0
    assert main(["allow", str(store), "fen@example.org", "--role", "agronomist"]) == 0
    capsys.readouterr()
    for name in ("accounts", "imports"):
        assert main(["table", str(store), name, "--format", form]) == 0
    told = capsys.readouterr().out
    assert "fen@example.org" in told
    assert "N1" in told


def test_a_column_that_a_file_does_not_have_keeps_what_is_known(
    store: Path, files: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["import", str(store), str(files)]) == 0
    (tmp_path / "fewer.csv").write_text("field,crop,planted_on\nnorth,corn,2023-05-01\n")
    assert main(["import", str(store), str(tmp_path / "fewer.csv")]) == 0
    assert "1 identical" in capsys.readouterr().out.splitlines()[-1]
    (tmp_path / "seasons.csv").write_text(
        "field,crop,planted_on,harvested_on\nnorth,corn,2023-05-01,\n"
    )
    assert main(["import", str(store), str(tmp_path / "seasons.csv")]) == 0
    assert "1 superseded" in capsys.readouterr().out  # a blank cell says: not known
    assert main(["table", str(store), "seasons", "--format", "json"]) == 0
    (row,) = json.loads(capsys.readouterr().out)
    assert row["harvested_on"] is None
