"""A first look at a file: what it is and what its header says, from its first 64 kB only.

Noise, other encodings and other formats are turned away here, before anything is loaded.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import pyarrow as pa
import pyarrow.parquet as pq

from analytics.errors import InputRefused
from analytics.intake import excel, packed
from analytics.intake.layout import LINE_END, Layout, find
from analytics.intake.packed import Packing

LOOK_BYTES = 65_536
PARQUET, SQLITE, OLD_EXCEL = b"PAR1", b"SQLite format 3\x00", b"\xd0\xcf\x11\xe0"
UTF16 = (b"\xff\xfe", b"\xfe\xff")
SHAPE_SUFFIXES = (".geojson", ".json", ".gpkg", ".shp")
Form = Literal["csv", "parquet", "shapes", "excel"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A file that passed the first look; ``layout.columns`` is empty for shapes.

    ``member`` is the file inside a zip, or the sheet of a workbook.
    """

    path: Path
    form: Form
    packing: Packing = ""
    member: str = ""
    layout: Layout

    @property
    def name(self) -> str:
        """The file's name, as people are told it."""
        return self.path.name

    @property
    def columns(self) -> tuple[str, ...]:
        """The header."""
        return self.layout.columns

    @property
    def signs(self) -> tuple[str, ...]:
        """What tells one logger's files from another's: the header and the units beneath."""
        return (*self.layout.columns, *self.layout.units)


def look(path: Path) -> Seen:
    """Find out what a file is.

    Raises
    ------
    InputRefused
        When it is missing, a folder, empty, not UTF-8 text, or has no readable header.
    """
    head = _first_bytes(path)
    packing = packed.packing(head)
    if path.suffix.lower() == ".parquet" or head.startswith(PARQUET):
        columns = _parquet_columns(path)
        return Seen(path=path, form="parquet", layout=Layout(columns=columns, skip=0))
    if packing == "zip":
        names = packed.contents(path)
        if packed.BOOK in names:
            return _workbook(path)
        return _inside(path, packing, packed.only_table(path, names))
    return _inside(path, packing, "", head)


def _inside(path: Path, packing: Packing, member: str, head: bytes = b"") -> Seen:
    if packing:
        head = _bytes(path, packing, member)
    suffix = Path(member or path.name).suffix.lower()
    if suffix in SHAPE_SUFFIXES:
        if not head.startswith(SQLITE) and suffix not in (".shp", ".gpkg"):
            _text(path, head)
        nothing = Layout(columns=())
        return Seen(path=path, form="shapes", packing=packing, member=member, layout=nothing)
    layout = _layout(path, _text(path, head))
    return Seen(path=path, form="csv", packing=packing, member=member, layout=layout)


def _workbook(path: Path) -> Seen:
    sheet, layout = excel.look_into(path)
    check_columns(path.name, layout)
    return Seen(path=path, form="excel", member=sheet, layout=layout)


def _first_bytes(path: Path) -> bytes:
    if not path.exists():
        raise InputRefused(str(path), "there is no such file.", "Check the path.")
    if path.is_dir():
        raise InputRefused(str(path), "this is a folder.", "Name the files inside it.")
    return _bytes(path, "", "")


def _bytes(path: Path, packing: Packing, member: str) -> bytes:
    try:
        with packed.opened(path, packing, member) as file:
            head = file.read(LOOK_BYTES)
    except packed.BROKEN as error:
        remedy = "Check that you may read it, and fetch or copy it again."
        raise InputRefused(path.name, f"the file cannot be read ({error}).", remedy) from error
    if not head:
        raise InputRefused(path.name, "the file is empty.", "Export it again.")
    return head


def _text(path: Path, head: bytes) -> str:
    remedy = "Save it as plain text, encoding UTF-8."
    if head.startswith(UTF16):
        raise InputRefused(path.name, "the text is encoded as UTF-16.", remedy)
    if head.startswith(OLD_EXCEL):
        found = "this is a workbook of the old Excel form."
        raise InputRefused(path.name, found, "Save it as .xlsx or as CSV.")
    if b"\x00" in head:
        found = "this is not text (it holds bytes that no text has)."
        can = "Give a CSV, Excel (.xlsx), Parquet, GeoJSON or GeoPackage file."
        raise InputRefused(path.name, found, can)
    try:
        return head.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        # A character cut in two by the end of the look is no fault of the file.
        if len(head) == LOOK_BYTES and error.start >= LOOK_BYTES - 3:
            return head[: error.start].decode("utf-8-sig")
        row = head.count(b"\n", 0, error.start) + 1
        where = f"{path.name}, row {row}"
        raise InputRefused(where, "the text is not encoded as UTF-8.", remedy) from error


def _layout(path: Path, head: str) -> Layout:
    lines = LINE_END.split(head)
    cut = len(head.encode()) >= LOOK_BYTES - 3
    if cut and len(lines) == 1:
        found = "no line ends within the first 64 kB, so there is no header row."
        raise InputRefused(path.name, found, "Give a table with one row a line.")
    layout = find(lines[:-1] if cut else lines)
    if layout is None:
        found = "every line is blank, and the first of them should hold the column names."
        raise InputRefused(path.name, found, "Put the header row first.")
    check_columns(path.name, layout)
    if not any(line.strip() for line in lines[layout.skip :]):
        raise InputRefused(path.name, "there is a header but not one row.", "Export it again.")
    return layout


def check_columns(name: str, layout: Layout) -> None:
    """Refuse a header in which one name stands twice."""
    named = [one for one in layout.columns if one]
    twice = sorted({one for one in named if named.count(one) > 1})
    if twice:
        where = f"{name}, row {layout.header_line}, column {twice[0]!r}"
        raise InputRefused(where, "the name stands twice.", "Give each column its own name.")


def _parquet_columns(path: Path) -> tuple[str, ...]:
    try:
        with pq.ParquetFile(path) as file:
            columns, rows = tuple(file.schema_arrow.names), file.metadata.num_rows
    except (pa.ArrowException, OSError) as error:
        found = "this is not a whole Parquet file (damaged, cut short, or another format)."
        raise InputRefused(path.name, found, "Fetch or export it again.") from error
    check_columns(path.name, Layout(columns=columns))
    if rows == 0:
        raise InputRefused(path.name, "there is a header but not one row.", "Export it again.")
    return columns
