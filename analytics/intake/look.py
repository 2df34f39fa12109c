"""A first look at a file: what it is and what its header says, from its first 64 kB only.

Noise, other encodings and other formats are turned away here, before anything is loaded.
"""

import csv
import gzip
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import pyarrow as pa
import pyarrow.parquet as pq

from analytics.errors import InputRefused

LOOK_BYTES = 65_536
GZIP, PARQUET, SQLITE = b"\x1f\x8b", b"PAR1", b"SQLite format 3\x00"
UTF16 = (b"\xff\xfe", b"\xfe\xff")
SHAPE_SUFFIXES = (".geojson", ".json", ".gpkg")
Form = Literal["csv", "parquet", "shapes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A file that passed the first look; ``columns`` is empty for shapes."""

    path: Path
    form: Form
    packed: bool
    columns: tuple[str, ...]

    @property
    def name(self) -> str:
        """The file's name, as people are told it."""
        return self.path.name


def look(path: Path) -> Seen:
    """Find out what a file is.

    Raises
    ------
    InputRefused
        When it is missing, a folder, empty, not UTF-8 text, or has no readable header.
    """
    head, packed = _head(path)
    if path.suffix.lower() == ".parquet" or head.startswith(PARQUET):
        return Seen(path=path, form="parquet", packed=False, columns=_parquet_columns(path))
    if path.suffix.lower() in SHAPE_SUFFIXES:
        if not head.startswith(SQLITE):
            _text(path, head)
        return Seen(path=path, form="shapes", packed=False, columns=())
    columns = _header(path, _text(path, head))
    return Seen(path=path, form="csv", packed=packed, columns=columns)


def _head(path: Path) -> tuple[bytes, bool]:
    if not path.exists():
        raise InputRefused(str(path), "there is no such file.", "Check the path.")
    if path.is_dir():
        raise InputRefused(str(path), "this is a folder.", "Name the files inside it.")
    try:
        with path.open("rb") as file:
            head = file.read(LOOK_BYTES)
        packed = head.startswith(GZIP)
        if packed:
            with gzip.open(path) as file:
                head = file.read(LOOK_BYTES)
    except (OSError, EOFError, zlib.error) as error:
        remedy = "Check that you may read it, and fetch or copy it again."
        raise InputRefused(path.name, f"the file cannot be read ({error}).", remedy) from error
    if not head:
        raise InputRefused(path.name, "the file is empty.", "Export it again.")
    return head, packed


def _text(path: Path, head: bytes) -> str:
    remedy = "Save it as plain text, encoding UTF-8, with commas between the columns."
    if head.startswith(UTF16):
        raise InputRefused(path.name, "the text is encoded as UTF-16.", remedy)
    if b"\x00" in head:
        found = "this is not text (it holds bytes that no text has)."
        raise InputRefused(path.name, found, "Give a CSV, Parquet, GeoJSON or GeoPackage file.")
    try:
        return head.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        # A character cut in two by the end of the look is no fault of the file.
        if len(head) == LOOK_BYTES and error.start >= LOOK_BYTES - 3:
            return head[: error.start].decode("utf-8-sig")
        row = head.count(b"\n", 0, error.start) + 1
        where = f"{path.name}, row {row}"
        raise InputRefused(where, "the text is not encoded as UTF-8.", remedy) from error


def _header(path: Path, head: str) -> tuple[str, ...]:
    lines = head.splitlines()
    if len(head.encode()) >= LOOK_BYTES - 3 and len(lines) == 1:
        found = "no line ends within the first 64 kB, so there is no header row."
        raise InputRefused(path.name, found, "Give a table with one row a line.")
    if not lines or not lines[0].strip():
        found = "the first line is blank where the column names are expected."
        raise InputRefused(path.name, found, "Put the header row first.")
    columns = tuple(one.strip() for one in next(csv.reader([lines[0]])))
    _check_delimiter(path, lines[0], columns)
    check_columns(path.name, columns)
    if not any(line.strip() for line in lines[1:]):
        raise InputRefused(path.name, "there is a header but not one row.", "Export it again.")
    return columns


def _check_delimiter(path: Path, line: str, columns: tuple[str, ...]) -> None:
    for mark, word in ((";", "semicolons"), ("\t", "tabs"), ("|", "bars")):
        if line.count(mark) >= len(columns):
            where = f"{path.name}, row 1"
            found = f"the columns are separated by {word}, not commas."
            remedy = "Save it as CSV with commas, and a point (not a comma) in decimals."
            raise InputRefused(where, found, remedy)


def check_columns(name: str, columns: tuple[str, ...]) -> None:
    """Refuse a header in which one name stands twice."""
    named = [one for one in columns if one]
    twice = sorted({one for one in named if named.count(one) > 1})
    if twice:
        where = f"{name}, row 1, column {twice[0]!r}"
        raise InputRefused(where, "the name stands twice.", "Give each column its own name.")


def _parquet_columns(path: Path) -> tuple[str, ...]:

    try:
        with pq.ParquetFile(path) as file:
            columns, rows = tuple(file.schema_arrow.names), file.metadata.num_rows
    except (pa.ArrowException, OSError) as error:
        found = "this is not a whole Parquet file (damaged, cut short, or another format)."
        raise InputRefused(path.name, found, "Fetch or export it again.") from error
    check_columns(path.name, columns)
    if rows == 0:
        raise InputRefused(path.name, "there is a header but not one row.", "Export it again.")
    return columns
