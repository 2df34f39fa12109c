"""The log of imports: which bytes, read how, of which sites, and what was rejected."""

import json
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from pathlib import Path

import duckdb
import pandas as pd
import pyarrow as pa

from analytics.model import Delivery
from analytics.store import statements
from analytics.store.counts import Outcome


def taken_before(
    db: duckdb.DuckDBPyConnection, deliveries: Iterable[Delivery]
) -> dict[str, bool]:
    """Give the bytes that were taken before, and whether a later file spoke of the same."""
    found = {
        one.sha256: statements.execute(
            db, "find_import", sha256=one.sha256, mapping=_mapping(one), kind=one.kind,
            sites=_sites(one),
        )
        for one in deliveries
    }  # fmt: skip
    return {sha256: bool(rows[0][1]) for sha256, rows in found.items() if rows}


def put_down(db: duckdb.DuckDBPyConnection, delivery: Delivery, outcome: Outcome) -> int:
    """Log a file with its sum, its rejects and how it was read; give its number."""
    now = datetime.now(UTC)
    ((number,),) = statements.execute(
        db,
        "save_import",
        file=Path(delivery.path).name,
        sha256=delivery.sha256,
        mapping=_mapping(delivery),
        kind=delivery.kind,
        made_at=now,
        rows_in=outcome.rows_in,
        taken=outcome.counts.taken,
        identical=outcome.counts.identical,
        superseded=outcome.counts.superseded,
        rejected=outcome.rejected,
        sites=_sites(delivery),
    )
    _save_rejects(db, int(str(number)), delivery.rejects)
    if delivery.mapping:
        _save_mapping(db, delivery, delivery.mapping, now)
    return int(str(number))


def lasts(mapping: Mapping[str, object]) -> bool:
    """Tell whether a mapping fits other files, too: not one that names a file's one site."""
    site = mapping.get("site")
    return not (isinstance(site, dict) and "value" in site)


def clock_said(mapping: Mapping[str, object]) -> str | None:
    """Give the clock that a mapping states, which its sites' next files keep."""
    time = mapping.get("time")
    return time.get("clock") if isinstance(time, dict) else None


def _save_mapping(
    db: duckdb.DuckDBPyConnection,
    delivery: Delivery,
    mapping: dict[str, object],
    now: datetime,
) -> None:
    """Save a mapping for files with the same header."""
    if not lasts(mapping):
        return
    statements.execute(
        db,
        "save_mapping",
        signature=delivery.signature,
        name=str(mapping.get("name", Path(delivery.path).name)),
        mapping=_mapping(delivery),
        saved_at=now,
    )


def _save_rejects(db: duckdb.DuckDBPyConnection, number: int, rejects: pd.DataFrame) -> None:
    if rejects.empty:
        return
    lines = pd.to_numeric(rejects["line"], errors="coerce").astype("Int64")
    words = rejects[["column", "value", "reason"]].astype("str")
    columns = {"line": pa.array(lines, pa.int64(), from_pandas=True)}
    columns |= {name: pa.array(words[name], pa.string(), from_pandas=True) for name in words}
    db.register("arriving", pa.table(columns))
    statements.execute(db, "save_rejects", **{"import": number})
    db.unregister("arriving")


def _sites(delivery: Delivery) -> list[str]:
    return sorted({one.site for one in delivery.readings})


def _mapping(delivery: Delivery) -> str:
    return json.dumps(delivery.mapping, sort_keys=True) if delivery.mapping else ""
