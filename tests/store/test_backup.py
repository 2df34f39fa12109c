"""A store copied and restored is the same store; a damaged copy restores nothing."""

import hashlib
import io
import json
import tarfile
from collections.abc import Callable
from pathlib import Path

import pytest

from analytics.cli import main
from analytics.errors import InputRefused, StoreError
from analytics.model import Record
from analytics.store import backup, check, connection, people, readings
from analytics.store.paths import LOCKS


def tree(store: Path) -> dict[str, str]:
    return {
        path.relative_to(store).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in store.rglob("*")
        if path.is_file() and LOCKS not in path.parts
    }


@pytest.fixture
def filled(store: Path, record: Callable[..., Record]) -> Path:
    readings.merge(store, record())
    return store


@pytest.fixture
def copy(filled: Path, tmp_path: Path) -> Path:
    backup.back_up(filled, tmp_path / "farm.tar")
    return tmp_path / "farm.tar"


def test_a_restored_store_has_the_same_bytes_and_works(
    filled: Path, copy: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    again = tmp_path / "again"
    assert main(["restore", str(copy), str(again)]) == 0
    assert "files restored" in capsys.readouterr().out
    assert tree(again) == tree(filled)
    assert readings.long(again).equals(readings.long(filled))
    assert not [one for one in check.check(again) if one.level == "damaged"]
    people.put(again, "water", people.table(filled, "water"))  # it can be written to


def test_the_program_copies_while_another_reads(filled: Path, tmp_path: Path) -> None:
    with connection.turn(filled):
        assert main(["backup", str(filled), "--out", str(tmp_path / "one.tar")]) == 0
    assert not list(tmp_path.glob(".*"))


def test_a_copy_may_not_lie_inside_its_store(filled: Path) -> None:
    with pytest.raises(InputRefused, match="lies inside the store"):
        backup.back_up(filled, filled / "farm.tar")


@pytest.mark.parametrize("at", [0.3, 0.6, 0.95])
def test_one_changed_byte_is_found_and_nothing_is_restored(
    copy: Path, tmp_path: Path, at: float
) -> None:
    content = bytearray(copy.read_bytes())
    with tarfile.open(copy) as tar:
        inside = [one for one in tar if one.size > 100]
    member = inside[int(at * len(inside))]
    content[member.offset_data + 50] ^= 1
    copy.write_bytes(content)
    with pytest.raises(InputRefused, match="nothing was restored"):
        backup.restore(copy, tmp_path / "again")
    assert not (tmp_path / "again").exists()


@pytest.mark.parametrize("share", [0, 0.001, 0.3, 0.7, 1])
def test_a_copy_that_was_cut_off_is_refused(copy: Path, tmp_path: Path, share: float) -> None:
    with tarfile.open(copy) as tar:
        told = tar.getmember(backup.SUMS)
    copy.write_bytes(copy.read_bytes()[: int(share * (told.offset_data + told.size // 2))])
    with pytest.raises(InputRefused, match="nothing was restored"):
        backup.restore(copy, tmp_path / "again")


@pytest.mark.parametrize("name", ["../out.txt", "/out.txt", "readings/../../out.txt"])
def test_no_name_in_a_copy_leads_out_of_the_store(tmp_path: Path, name: str) -> None:
    copy = tmp_path / "odd.tar"
    sums = {"overwinter.duckdb": hashlib.sha256(b"x").hexdigest(), name: "0"}
    with tarfile.open(copy, "w") as tar:
        for each, content in (
            ("overwinter.duckdb", b"x"), (name, b"y"),
            (backup.SUMS, json.dumps(sums).encode()),
        ):  # fmt: skip
            told = tarfile.TarInfo(each)
            told.size = len(content)
            tar.addfile(told, io.BytesIO(content))
    with pytest.raises(InputRefused, match="which no copy of a store does"):
        backup.restore(copy, tmp_path / "deep" / "again")


def test_a_link_in_a_copy_is_refused(tmp_path: Path) -> None:
    copy = tmp_path / "odd.tar"
    with tarfile.open(copy, "w") as tar:
        link = tarfile.TarInfo("overwinter.duckdb")
        link.type, link.linkname = tarfile.SYMTYPE, "/etc/passwd"
        tar.addfile(link)
    with pytest.raises(InputRefused, match="which no copy of a store does"):
        backup.restore(copy, tmp_path / "again")


def test_a_link_in_a_store_is_not_followed(filled: Path, tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("not of the store")
    (filled / "readings" / "secret.parquet").symlink_to(tmp_path / "secret")
    backup.back_up(filled, tmp_path / "farm.tar")
    with tarfile.open(tmp_path / "farm.tar") as tar:
        assert "readings/secret.parquet" not in tar.getnames()


def test_nothing_is_restored_over_other_files(copy: Path, filled: Path) -> None:
    before = tree(filled)
    with pytest.raises(StoreError, match="files here already"):
        backup.restore(copy, filled)
    assert tree(filled) == before
