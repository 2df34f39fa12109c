"""One file in, one Delivery out: the front door of intake."""

import hashlib
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pandas as pd
import pyarrow as pa

from analytics.contract import PEOPLE, READINGS, Table
from analytics.errors import InputRefused
from analytics.intake import packed
from analytics.intake import sheet as sheets
from analytics.intake.daily import is_weather, read_weather
from analytics.intake.guess import guess_mapping, promising
from analytics.intake.header import meaning
from analytics.intake.known import Known
from analytics.intake.logger import read_logger
from analytics.intake.long import read_long
from analytics.intake.look import Seen, look
from analytics.intake.mapping import checked, header_signature, is_hint
from analytics.intake.otherunits import refuse_other_units
from analytics.intake.people import require, typed
from analytics.intake.shapes import open_shapes, read_shapes, uncut
from analytics.intake.taken import Taken
from analytics.intake.whose import named
from analytics.model import Delivery

PEOPLE_TABLES = {table.name: table for table in PEOPLE}
SHAPES = ("fields", "landmarks")
WEATHER = "weather"
LONG_SIGNS = {"time", "depth_cm"}
BINARY = (b"PAR1", b"PK", b"\x1f\x8b")
"""How Parquet, zip (Excel, too) and gzip files begin."""
RECOGNISED = 0.5  # share of a header that a table must know to be guessed; ours


def guess_kind(path: Path) -> str:
    """Guess what a file holds.

    Returns
    -------
    str
        A people's table, ``"readings"`` (plain long), or ``"logger"`` (wide, needs a mapping).

    Raises
    ------
    InputRefused
        When the file cannot be read at all.
    """
    with _sound(Path(path)):
        return _kind(look(Path(path)))


@contextmanager
def _sound(path: Path) -> Iterator[None]:
    """Refuse a packed or binary file in which a few bytes are other than was written.

    What such bytes lead to is endless; in a text file each has a sentence of its own.
    """
    try:
        yield
    except (pa.ArrowException, UnicodeError, OverflowError, IndexError) as why:
        with path.open("rb") as file:
            binary = file.read(4).startswith(BINARY)
        if not binary and path.suffix.lower() != ".parquet":  # its first bytes may be damaged
            raise
        what = " ".join(str(why).split())[:120]
        found = f"is damaged inside ({type(why).__name__}: {what})."
        raise InputRefused(str(path), found, "Copy or export it again.") from why


def _kind(seen: Seen) -> str:
    if seen.form == "shapes":
        columns = open_shapes(seen).columns
        return "landmarks" if "landmark" in columns else "fields"
    columns = {one for one in seen.columns if one}
    if _is_long(columns):
        return READINGS.name
    stem = seen.path.name.split(".")[0].lower()
    tables = [one for one in PEOPLE if one.name not in SHAPES]
    fitting = [one for one in tables if _fits(one, columns)]
    if fitting:
        return max(fitting, key=lambda one: len(columns.intersection(one.names))).name
    if is_weather(seen.columns):
        return WEATHER
    return stem if stem in {one.name for one in tables} else "logger"


def _kind_by(seen: Seen, mapping: Mapping[str, Any] | None) -> str:
    """Tell the kind; what has a mapping is a logger's file, or weather where it only hints."""
    if not mapping:
        return _kind(seen)
    return WEATHER if is_hint(mapping) and _kind(seen) == WEATHER else "logger"


def _is_long(columns: Collection[str]) -> bool:
    """Tell plain readings by their names, also where capitals make them wrong."""
    return {one.lower() for one in columns} >= LONG_SIGNS


def _fits(table: Table, columns: set[str]) -> bool:
    needed = {one.name for one in table.columns if one.required}
    shared = columns.intersection(table.names)
    return needed <= columns and len(shared) >= RECOGNISED * len(columns) and len(shared) > 1


def read(
    path: Path,
    known: Known,
    *,
    kind: str | None = None,
    mapping: Mapping[str, Any] | None = None,
) -> Delivery:
    """Read one file.

    Parameters
    ----------
    path : Path
        CSV (also gzipped), Parquet, or for fields and landmarks GeoJSON or GeoPackage.
    known : Known
        Sites, fields and saved mappings.
    kind : str, optional
        A people's table, or ``"readings"`` (long, or a logger's wide file); guessed when None.
    mapping : dict, optional
        How a logger's file is read (``analytics.intake.mapping``); else the one saved for its
        header, else a guess.

    Returns
    -------
    Delivery
        ``kind`` is the table's name; a logger's file is ``"readings"`` with its mapping.

    Raises
    ------
    InputRefused
        When the file, or for a people's table any of its values, cannot be taken.
    """
    with _sound(Path(path)):
        return _read(Path(path), known, kind, mapping)


def _read(
    path: Path, known: Known, kind: str | None, mapping: Mapping[str, Any] | None
) -> Delivery:
    seen = look(path)
    packed.check_size(seen.path, seen.packing)
    told = _checked_kind(seen, kind) or _kind_by(seen, mapping)
    if told == READINGS.name and (mapping or not _is_long(seen.columns)):
        told = "logger"
    if told == WEATHER and not _is_table(seen, PEOPLE_TABLES[WEATHER]):
        return _weather(seen, known, mapping)
    if told in PEOPLE_TABLES:
        return _people(seen, PEOPLE_TABLES[told], known)
    if told == READINGS.name:
        return _readings(seen, read_long(seen, known), None, [*READINGS.names])
    return _logger(seen, known, mapping)


def _checked_kind(seen: Seen, kind: str | None) -> str | None:
    kinds = [*PEOPLE_TABLES, READINGS.name]
    if kind is not None and kind not in kinds:
        found = f"there is no table {kind!r} to read it as."
        raise InputRefused(seen.name, found, f"Use one of: {', '.join(kinds)}.")
    if kind is not None and (kind in SHAPES) != (seen.form == "shapes"):
        found = f"a {seen.form} file cannot hold the table {kind!r}."
        remedy = "Fields and landmarks are GeoJSON or GeoPackage; all else is CSV or Parquet."
        raise InputRefused(seen.name, found, remedy)
    return kind


def _people(seen: Seen, table: Table, known: Known) -> Delivery:
    if seen.form == "shapes":
        shapes = open_shapes(seen)
        frame, notes = read_shapes(seen, shapes, table, known)
        columns = [str(one) for one in shapes.columns if one != shapes.geometry.name]
        whole = uncut(columns, table)
        columns = [whole.get(one, one) for one in columns]
    else:
        require(seen.name, table, seen.columns)
        columns = list(seen.columns)
        present = [one for one in table.names if one in columns]
        frame, notes = typed(sheets.whole(seen, present), table, known), []
    refuse_other_units(seen.name, table, columns)
    if frame.empty:
        raise InputRefused(seen.name, "there is a header but not one row.", "Export it again.")
    told = {*columns, *table.key, "geometry"}  # of what has no column the file says nothing
    return _delivery(
        seen,
        table.name,
        tables={table.name: frame[[one for one in frame if one in told]]},
        notes=(*notes, *_aside(columns, table.names)),
        rows_in=len(frame),
    )


def _is_table(seen: Seen, table: Table) -> bool:
    """Tell whether a header has every column that a table of ours needs."""
    return all(one.name in seen.columns for one in table.columns if one.required)


def _weather(seen: Seen, known: Known, given: Mapping[str, Any] | None) -> Delivery:
    told = None if given is None else checked(given, f"mapping for {seen.name}")
    if not any(meaning(one) for one in seen.columns) and not told:
        require(seen.name, PEOPLE_TABLES[WEATHER], seen.columns)
    taken, stations, mapping = read_weather(seen, known, told)
    place = {} if stations.empty else {"stations": stations}
    used = [*named(mapping["time"]), *named(mapping["site"])]
    used += [one["column"] for one in mapping["columns"]]
    return _delivery(
        seen,
        WEATHER,
        tables=place if taken.weather is None else place | {WEATHER: taken.weather},
        rejects=taken.rejects,
        notes=(*_laid_out(seen), *mapping.get("notes", ()), *taken.notes,
               *_aside(seen.columns, used)),
        rows_in=taken.rows_in,
        gauge=_within_days(taken.gauge, known),
    )  # fmt: skip


def _within_days(read: pd.DataFrame, known: Known) -> pd.DataFrame:
    """Keep readings within days, of stations whose days are known: parts of a day add up."""
    parts = [
        rows
        for station, rows in read.groupby("station")
        if (zone := known.sites.get(str(station))) and _parts_of_days(rows["time"], zone)
    ]
    return pd.concat(parts, ignore_index=True) if parts else read.iloc[:0]


def _parts_of_days(times: pd.Series, zone: str) -> bool:
    walls = times.dt.tz_convert(zone)
    return bool((walls != walls.dt.normalize()).any())


def _logger(seen: Seen, known: Known, given: Mapping[str, Any] | None) -> Delivery:
    told = None if given is None else checked(given, f"mapping for {seen.name}")
    whole = told if told and not is_hint(told) else None
    saved = whole or (None if told else known.mappings.get(header_signature(seen.signs)))
    if saved is None:
        _refuse_unfinished(seen)
        # Of a file whose names say nothing, no row is looked at.
        rows = sheets.sample(seen) if promising(seen.columns) else []
        units = seen.layout.units
        mapping = guess_mapping(seen.columns, rows, seen.name, known, units=units, hints=told)
        notes = mapping["notes"]
    else:
        mapping, notes = checked(saved, f"mapping for {seen.name}"), []
    used = [*named(mapping["time"]), *named(mapping["site"])]
    used += [one["column"] for one in mapping["columns"]]
    taken = read_logger(seen, known, mapping)
    clock = None if saved else _kept_clock(taken, known)
    if clock and "clock" not in mapping["time"]:
        notes = [*notes, f"Times are read by the clock {clock!r}, as the site's files before."]
        mapping |= {"time": mapping["time"] | {"clock": clock}, "notes": notes}
        taken = read_logger(seen, known, mapping)
    return _readings(seen, taken, mapping, used, notes)


def _kept_clock(taken: Taken, known: Known) -> str | None:
    """Give the clock that the sites of a file were last said to keep, where it is one."""
    said = {known.clocks.get(one.site) for one in taken.records}
    return said.pop() if len(said) == 1 else None


def _refuse_unfinished(seen: Seen) -> None:
    """Name the column that is missing where a header can only be that of a table of ours."""
    if promising(seen.columns):
        return
    columns = {one for one in seen.columns if one}
    shared = {one.name: len(columns.intersection(one.names)) for one in PEOPLE}
    likeliest = max(shared, key=lambda name: shared[name])
    if shared[likeliest] > max(1, RECOGNISED * len(columns)):
        require(seen.name, PEOPLE_TABLES[likeliest], seen.columns)


def _readings(
    seen: Seen,
    taken: Taken,
    mapping: dict[str, Any] | None,
    used: list[str],
    notes: list[str] | None = None,
) -> Delivery:
    tables = {} if taken.weather is None else {"weather": taken.weather}
    return _delivery(
        seen,
        READINGS.name,
        tables=tables,
        readings=taken.records,
        rejects=taken.rejects,
        notes=(*_laid_out(seen), *(notes or ()), *taken.notes, *_aside(seen.columns, used)),
        mapping=mapping,
        rows_in=taken.rows_in,
        rows_repeated=taken.rows_repeated,
        rows_overruled=taken.rows_overruled,
        replaced=taken.replaced,
        signature=header_signature(seen.signs),
        gauge=taken.gauge,
    )


def _laid_out(seen: Seen) -> list[str]:
    """Tell what is unusual in how a file is laid out."""
    layout, notes = seen.layout, []
    if layout.header_line > 1:
        notes.append(
            f"The header is row {layout.header_line}; what stands above is left aside."
        )
    if layout.units:
        notes.append("The row of units beneath the header is used.")
    if layout.decimal == ",":
        notes.append("Decimal commas are read as points.")
    return notes


def _aside(columns: Sequence[str], used: Sequence[str]) -> list[str]:
    extra = [one for one in columns if one and one not in used]
    return [f"Columns kept aside: {', '.join(extra)}."] if extra else []


def _delivery(seen: Seen, kind: str, **parts: Any) -> Delivery:
    with seen.path.open("rb") as file:
        sha256 = hashlib.file_digest(file, "sha256").hexdigest()
    return Delivery(path=str(seen.path), kind=kind, sha256=sha256, **parts)
