"""Files inside files: gzip and zip, opened as streams and bounded in what they unfold to."""

import gzip
import io
import zipfile
import zlib
from pathlib import Path
from typing import Any, Literal

from analytics.errors import InputRefused
from analytics.settings import Settings

Packing = Literal["", "gzip", "zip"]
GZIP, ZIP = b"\x1f\x8b", (b"PK\x03\x04", b"PK\x05\x06")
TEXTS = (".csv", ".txt", ".tsv", ".dat", ".prn")
SHAPES = (".geojson", ".gpkg")
BOOK = "xl/workbook.xml"
MB = 1_000_000
DEFLATE_MOST = 1032  # deflate cannot fold more than this into one byte (its own format)
PIECE = 1 << 20
BROKEN = (OSError, EOFError, zlib.error, zipfile.BadZipFile, RuntimeError, NotImplementedError)


def packing(head: bytes) -> Packing:
    """Tell by its first bytes how a file is packed."""
    if head.startswith(GZIP):
        return "gzip"
    return "zip" if head.startswith(ZIP) else ""


def contents(path: Path) -> list[str]:
    """List the files in a zip, without those that a system leaves for itself.

    Raises
    ------
    InputRefused
        When it is damaged, or would unfold to more than the setting ``unpacked_most_mb``.
    """
    try:
        with zipfile.ZipFile(path) as folder:
            inside = [one for one in folder.infolist() if not one.is_dir()]
    except BROKEN as error:
        raise InputRefused(
            path.name, f"the zip is damaged ({error}).", "Fetch it again."
        ) from error
    if sum(one.file_size for one in inside) > most_bytes():
        raise too_large(path)
    names = [one.filename for one in inside]
    return [
        one for one in names if not Path(one).name.startswith(".") and "__MACOSX" not in one
    ]


def only_table(path: Path, names: list[str]) -> str:
    """Give the one file of a zip that may be a table or hold shapes.

    Raises
    ------
    InputRefused
        When there is none, or more than one.
    """
    wanted = [one for one in names if one.lower().endswith((*TEXTS, *SHAPES, ".shp"))]
    if len(wanted) == 1:
        return wanted[0]
    said = ", ".join(wanted[:3]) or ", ".join(names[:3]) or "nothing"
    found = f"the zip should hold exactly one table, and holds {len(wanted)} ({said})."
    remedy = "Unpack it and import the files, or zip each table on its own."
    raise InputRefused(path.name, found, remedy)


def opened(path: Path, packed: Packing, member: str = "") -> Any:
    """Open what is inside as a stream; a zip's member ends at the size it declares."""
    if packed == "gzip":
        return gzip.open(path)
    if packed == "zip":
        with zipfile.ZipFile(path) as folder:
            return folder.open(member)  # the archive stays open as long as the stream does
    return path.open("rb")


def text(path: Path, packed: Packing, member: str = "") -> io.TextIOWrapper:
    """Open what is inside as UTF-8 text, line ends as they stand."""
    return io.TextIOWrapper(opened(path, packed, member), encoding="utf-8-sig", newline="")


def check_size(path: Path, packed: Packing) -> None:
    """Refuse a gzip that unfolds beyond the setting ``unpacked_most_mb``, in little memory.

    Raises
    ------
    InputRefused
    """
    most = most_bytes()
    if packed != "gzip" or path.stat().st_size * DEFLATE_MOST <= most:
        return
    size = 0
    try:
        with gzip.open(path) as stream:
            while piece := stream.read(PIECE):
                size += len(piece)
                if size > most:
                    raise too_large(path)
    except BROKEN:
        return  # the reading proper says where it breaks off


def most_bytes() -> float:
    """Give the bytes that one packed file may unfold to."""
    return Settings().unpacked_most_mb * MB


def too_large(path: Path) -> InputRefused:
    """Say that a packed file unfolds to too much."""
    most = Settings().unpacked_most_mb
    found = f"it would unfold to more than {most:g} MB."
    return InputRefused(path.name, found, "Cut it into files of a year or two.")
