"""A file to take away stands whole under its name, or the name that was asked for is told."""

from pathlib import Path

import pytest

from analytics import outfile


def written(out: Path) -> None:
    with outfile.unfinished(out) as beside:
        beside.write_text("half")
        assert beside.suffix == out.suffix
        assert not out.exists()


def test_it_takes_its_name_once_it_is_whole(tmp_path: Path) -> None:
    written(tmp_path / "x.pdf")
    assert [one.name for one in tmp_path.iterdir()] == ["x.pdf"]


def test_what_was_there_stays_where_the_work_fails(tmp_path: Path) -> None:
    out = tmp_path / "x.pdf"
    out.write_text("before")
    with pytest.raises(FileNotFoundError), outfile.unfinished(out) as beside:
        beside.rename(tmp_path / "lost" / "x.pdf")
    assert [(one.name, one.read_text()) for one in tmp_path.iterdir()] == [("x.pdf", "before")]


def test_what_the_system_refuses_is_told_of_the_file_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def shut(path: Path) -> None:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(Path, "touch", shut)
    with pytest.raises(PermissionError) as why:
        written(tmp_path / "x.pdf")
    assert why.value.filename == str(tmp_path / "x.pdf")


def test_an_error_of_another_file_keeps_its_name(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError) as why, outfile.unfinished(tmp_path / "x.pdf"):
        (tmp_path / "other").read_text()
    assert Path(why.value.filename).name == "other"
