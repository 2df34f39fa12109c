"""Every statement plans against a fresh store, and names its parameters."""

import re
from datetime import UTC, date, datetime
from pathlib import Path

import duckdb
import pyarrow as pa
import pytest

from analytics.contract import PEOPLE, RESULTS, TABLES
from analytics.store import connection, schema, sqlfiles
from analytics.store.frames import schema as arrow_schema

DUMMIES = {
    "text": "x",
    "texts": ["x"],
    "integer": 1,
    "integers": [1],
    "number": 1.0,
    "json": "{}",
    "date": date(2024, 1, 1),
    "time": datetime(2024, 1, 1, tzinfo=UTC),
}
REJECTS = pa.schema(
    [
        ("line", pa.int64()),
        ("column", pa.string()),
        ("value", pa.string()),
        ("reason", pa.string()),
    ]
)
GAUGE = pa.schema(
    [
        ("station", pa.string()),
        ("time", pa.timestamp("us", tz="UTC")),
        ("quantity", pa.string()),
        ("value", pa.float64()),
    ]
)
LAID = [name for names in schema.MIGRATIONS for name in names] + ["schema_version_table"]
SETS = ["set_zone", "set_files"]


DATES = {"date", "day", "start", "end", "first", "last", "since", "until", "until_day", "to"}
COMMENT = re.compile(r"--.*$", re.MULTILINE)


def parameters(text: str) -> dict[str, str]:
    """Give each parameter its type: as the header says, else by what its name says."""
    found = re.search(r"^-- params: (.*)$", text, re.MULTILINE)
    said = dict(one.split() for one in found[1].split(", ")) if found else {}
    used = set(re.findall(r"\$(\w+)", COMMENT.sub("", text)))
    assert not said or set(said) == used, "the header names other parameters"
    return {one: said.get(one) or _by_name(one) for one in used}


def _by_name(name: str) -> str:
    if name.endswith("_cm"):
        return "number"
    if name.endswith(("_days", "_mm")):
        return "integer"
    return "date" if name in DATES else "text"


@pytest.mark.parametrize("name", sqlfiles.names())
def test_one_statement_a_file(name: str) -> None:
    text = sqlfiles.text(name)
    parameters(text)
    assert ";" not in COMMENT.sub("", text)


@pytest.mark.parametrize("name", sorted({*sqlfiles.names()} - {*LAID} - {*SETS}))
def test_statement_plans(empty: Path, name: str) -> None:
    text = sqlfiles.text(name)
    values = {one: DUMMIES[kind] for one, kind in parameters(text).items()}
    table = TABLES.get(name.removeprefix("put_"))
    with connection.writing(empty) as db:
        other = GAUGE if name == "merge_gauge" else REJECTS
        kind = arrow_schema(table) if table else other
        db.register("arriving", kind.empty_table())
        assert db.execute(f"EXPLAIN {text}", values).fetchall()


def test_laid_tables_are_those_of_the_contract(empty: Path) -> None:
    with connection.reading(empty) as db:
        for table in (*PEOPLE, *RESULTS):
            found = db.table(f'"{table.name}"').columns
            assert tuple(found) == table.names
        columns = db.table("set_limits").columns
        limits = TABLES["limits"].names
        assert tuple(columns)[: len(limits)] == limits


def test_every_statement_is_used() -> None:
    root = Path(__file__).parents[2]
    rooms = (root / "analytics" / "store", root / "dashboard")
    code = "\n".join(path.read_text() for room in rooms for path in room.rglob("*.py"))
    made = {f"put_{table.name}" for table in PEOPLE}
    assert [one for one in sqlfiles.names() if f'"{one}"' not in code and one not in made] == []


def test_result_columns_have_the_promised_types(empty: Path) -> None:
    words = {
        "text": "VARCHAR", "number": "DOUBLE", "integer": "BIGINT", "date": "DATE",
        "time": "TIMESTAMP WITH TIME ZONE", "flag": "BOOLEAN",
    }  # fmt: skip
    with connection.reading(empty) as db:
        for table in RESULTS:
            types = [str(one) for one in db.table(f'"{table.name}"').types]
            assert types == [words[one.kind] for one in table.columns]


def test_a_failed_unit_of_work_leaves_nothing(store: Path) -> None:
    with pytest.raises(duckdb.BinderException):
        _delete_then_fail(store)
    with connection.reading(store) as db:
        assert db.execute("SELECT count(*) FROM fields").fetchall() == [(2,)]


def _delete_then_fail(store: Path) -> None:
    with connection.writing(store) as db:
        db.execute("DELETE FROM fields")
        db.execute("SELECT no_such_column FROM fields")
