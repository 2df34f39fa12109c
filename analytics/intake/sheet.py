"""Tables as they stand in a file, each row with the line it came from.

A CSV is parsed strictly and fast first, with explicit column types; only where that fails, or
where a row has to be named, is it read again row by row.
"""

import csv
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import IO, Any

import numpy as np
import pyarrow as pa
import pyarrow.csv as pacsv
import pyarrow.parquet as pq
from numpy.typing import NDArray

from analytics.errors import InputRefused
from analytics.intake import excel, packed
from analytics.intake.arrow import pc
from analytics.intake.layout import SPACES, cells_of
from analytics.intake.look import Seen

BLOCK_ROWS = 50_000
PIECE_BYTES = 1 << 20
SAMPLE_ROWS = 200
SAMPLE_BLOCK = 5_000
COMMA_DECIMAL = r"^\s*([+-]?\d*),(\d+)\s*$"
BLANKS = (
    "",
    "NA",
    "N/A",
    "#N/A",
    "NaN",
    "nan",
    "NAN",
    "null",
    "NULL",
    "None",
    "-",
    "--",
    "---",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A table out of a file.

    Attributes
    ----------
    name : str
        The file's name.
    table : pyarrow.Table
        n rows.
    lines : (n,) int
        The file's line (CSV, header = 1) or row (other formats, from 1) of each.
    ragged : tuple of (line, column, value, reason)
        Rows that do not fit the header.
    exact : bool
        Whether ``lines`` can be told to people; a fast parse does not see blank lines.
    """

    name: str
    table: pa.Table
    lines: NDArray[np.int64]
    ragged: tuple[tuple[int, str, str, str], ...] = ()
    exact: bool = True


def fast(seen: Seen, types: Mapping[str, pa.DataType]) -> Sheet | None:
    """Parse the columns in ``types`` strictly; None where any value does not fit its type."""
    if seen.form == "parquet":
        return whole(seen, tuple(types))
    if not _strict(seen):
        return None
    convert = pacsv.ConvertOptions(
        column_types=dict(types),
        include_columns=list(types),
        null_values=list(BLANKS),
        strings_can_be_null=True,
        decimal_point=seen.layout.decimal,
    )
    try:
        with _stream(seen) as stream:
            table = pacsv.read_csv(stream, _names(seen), _marks(seen), convert)
    except (pa.ArrowException, *packed.BROKEN):
        return None
    skip = seen.layout.skip
    lines = np.arange(skip + 1, table.num_rows + skip + 1, dtype=np.int64)
    # A row without its key may be a blank line of commas, which is no row at all.
    keyed = all(table.column(one).null_count == 0 for one in types if types[one] == pa.string())
    exact = keyed and _count_lines(seen) == table.num_rows + skip
    return Sheet(name=seen.name, table=table, lines=lines, exact=exact)


def _count_lines(seen: Seen) -> int:
    """Count lines; blank ones and breaks inside quotes make them differ from the rows."""
    lines, last = 0, b"\n"
    with _stream(seen) as stream:
        while piece := stream.read(PIECE_BYTES):
            lines += piece.count(b"\n")
            last = piece[-1:]
    return lines + (last != b"\n")


def whole(seen: Seen, columns: Sequence[str] | None = None) -> Sheet:
    """Read every row as it stands: text of a CSV, typed values of a Parquet file.

    Raises
    ------
    InputRefused
        When the file breaks off or stops being text.
    """
    wanted = tuple(seen.columns) if columns is None else tuple(columns)
    if seen.form == "parquet":
        table = _parquet(seen, wanted)
        lines = np.arange(1, table.num_rows + 1, dtype=np.int64)
        return Sheet(name=seen.name, table=table, lines=lines)
    return _by_row(seen, wanted)


def sample(seen: Seen) -> list[list[str | None]]:
    """Take some rows from every part of the file, as text, in bounded memory."""
    if seen.form == "parquet":
        return _texts(_parquet(seen, seen.columns))
    if not _strict(seen):
        return _texts(_first_block(seen))
    convert = pacsv.ConvertOptions(
        column_types=dict.fromkeys(_unique(seen), pa.string()), check_utf8=False
    )
    parse = pacsv.ParseOptions(
        delimiter=seen.layout.delimiter, invalid_row_handler=lambda _row: "skip"
    )
    rows: list[list[str | None]] = []
    try:
        with (
            _stream(seen) as stream,
            pacsv.open_csv(stream, _names(seen), parse, convert) as reader,
        ):
            for batch in reader:
                rows += _texts(_pointed(seen, pa.Table.from_batches([batch])))
    except (pa.ArrowException, UnicodeDecodeError, *packed.BROKEN):
        return rows  # the reading proper says what is wrong, and where
    return rows


def _strict(seen: Seen) -> bool:
    """Tell whether the strict parser can read the file's form."""
    return seen.form == "csv" and seen.layout.delimiter != SPACES


def _first_block(seen: Seen) -> pa.Table:
    """Give the first rows of a file that is read row by row."""
    block = list(islice((row for _, row in _rows(seen)), SAMPLE_BLOCK))
    width = len(seen.columns)
    cells = [list(one) for one in zip(*(r for r in block if len(r) == width), strict=True)]
    names = _unique(seen)
    return pa.table(
        {one: pa.array(c, pa.string()) for one, c in zip(names, cells, strict=True)}
    )


def _pointed(seen: Seen, table: pa.Table) -> pa.Table:
    """Write decimal commas as points."""
    if seen.layout.decimal == ".":
        return table
    return pa.table(
        {
            name: pc.replace_substring_regex(table.column(name), COMMA_DECIMAL, r"\1.\2")
            for name in table.column_names
        }
    )


def _texts(table: pa.Table) -> list[list[str | None]]:
    step = max(1, table.num_rows // SAMPLE_ROWS)
    picked = table.take(np.arange(0, table.num_rows, step))
    columns = [[None if v is None else str(v) for v in one.to_pylist()] for one in picked]
    return [list(row) for row in zip(*columns, strict=True)]


def _unique(seen: Seen) -> list[str]:
    """Give blank names a name of their own, so that a trailing comma does no harm."""
    return [one or f"(column {place + 1})" for place, one in enumerate(seen.columns)]


def _names(seen: Seen) -> pacsv.ReadOptions:
    return pacsv.ReadOptions(column_names=_unique(seen), skip_rows=seen.layout.skip)


def _marks(seen: Seen) -> pacsv.ParseOptions:
    return pacsv.ParseOptions(delimiter=seen.layout.delimiter)


def _stream(seen: Seen) -> Any:
    if seen.packing == "zip":
        return packed.opened(seen.path, seen.packing, seen.member)
    return pa.input_stream(str(seen.path), compression=seen.packing or None)


def _parquet(seen: Seen, columns: Sequence[str]) -> pa.Table:
    try:
        return pq.read_table(seen.path, columns=list(columns))
    except (pa.ArrowException, OSError) as error:
        found = "the Parquet file is damaged."
        raise InputRefused(seen.name, found, "Fetch or export it again.") from error


def _by_row(seen: Seen, wanted: tuple[str, ...]) -> Sheet:
    places = [seen.columns.index(one) for one in wanted]
    blocks: list[list[pa.Array]] = []
    lines: list[int] = []
    ragged: list[tuple[int, str, str, str]] = []
    for block in _blocks(seen, ragged):
        lines += [line for line, _ in block]
        cells = list(zip(*(row for _, row in block), strict=True))
        blocks.append([pa.array(cells[place], pa.string()) for place in places])
    columns = [
        pa.chunked_array([block[j] for block in blocks], pa.string())
        for j in range(len(places))
    ]
    table = _pointed(seen, pa.table(dict(zip(wanted, columns, strict=True))))
    numbers = np.asarray(lines, dtype=np.int64)
    return Sheet(name=seen.name, table=table, lines=numbers, ragged=tuple(ragged))


def _blocks(
    seen: Seen, ragged: list[tuple[int, str, str, str]]
) -> Iterator[list[tuple[int, list[str]]]]:
    block: list[tuple[int, list[str]]] = []
    for line, row in _rows(seen):
        if len(row) == len(seen.columns):
            block.append((line, row))
        else:
            reason = f"the row has {len(row)} values, the header {len(seen.columns)} names"
            ragged.append((line, "", ",".join(row)[:80], reason))
        if len(block) == BLOCK_ROWS:
            yield block
            block = []
    if block:
        yield block


def _rows(seen: Seen) -> Iterator[tuple[int, list[str]]]:
    """Yield the data rows, each with its line; wholly blank ones are no rows."""
    if seen.form == "excel":
        yield from _of_width(seen)
        return
    line = skip = seen.layout.skip
    try:
        with packed.text(seen.path, seen.packing, seen.member) as file:
            for _ in range(skip):
                file.readline()
            reader = _reader(file, seen.layout.delimiter)
            for number, row in reader:
                line = skip + number
                if any(map(str.strip, row)):
                    yield line, row
    except UnicodeDecodeError as error:
        # The decoder reads ahead in blocks, so the line is a lower bound.
        where = f"{seen.name}, after row {line}"
        remedy = "Save it as plain text, encoding UTF-8."
        raise InputRefused(where, "the text is not encoded as UTF-8.", remedy) from error
    except (csv.Error, *packed.BROKEN) as error:
        where = f"{seen.name}, after row {line}"
        remedy = "Fetch or export it again."
        raise InputRefused(where, f"the file cannot be read on ({error}).", remedy) from error


def _reader(file: IO[str], delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Yield rows with the line on which each ends."""
    if delimiter == SPACES:
        yield from ((number, cells_of(row, SPACES)) for number, row in enumerate(file, start=1))
        return
    reader = csv.reader(file, delimiter=delimiter)
    for row in reader:
        yield reader.line_num, row


def _of_width(seen: Seen) -> Iterator[tuple[int, list[str]]]:
    """Yield a workbook's rows as wide as the header: a sheet ends a row at its last value."""
    width = len(seen.columns)
    for line, row in excel.rows(seen.path, seen.member, seen.layout.skip):
        full = row + [""] * (width - len(row))
        yield line, full[:width] if not any(full[width:]) else full
