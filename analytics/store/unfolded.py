"""The readings as a view of the database file, so that anyone can query everything with SQL.

The program itself reads the parts directly, which is far quicker.
"""

from pathlib import Path

import duckdb
import numpy as np

from analytics.model import Record
from analytics.store import parts, statements
from analytics.store.paths import READINGS

# A part without rows that the view can take its columns from while there is no other; no
# site's folder is called so.
_NONE = "none", "0000.parquet"


def found(store: Path, db: duckdb.DuckDBPyConnection) -> None:
    """Give a new store its view ``readings``: site, time, depth_cm, vwc, soil_temp_c."""
    empty = np.empty((0, 1))
    nothing = Record(
        site="", times=np.empty(0, "datetime64[us]"), depths_cm=np.zeros(1), theta=empty,
        temp_c=empty,
    )  # fmt: skip
    path = store.joinpath(READINGS, *_NONE)
    path.parent.mkdir(parents=True, exist_ok=True)
    parts.write(path, nothing)
    statements.execute(db, "lay_readings")
