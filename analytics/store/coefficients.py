"""Crop coefficients that people set: versions by crop, for every field or for one."""

from collections import defaultdict
from datetime import UTC, datetime
from pathlib import Path

import duckdb
import pandas as pd

from analytics.errors import InputRefused, NotKnown
from analytics.store import connection, statements
from analytics.water.demand import Crop
from analytics.water.growth import Versions, crop_for, plain_name

KC_MOST = 1.6
DAYS_MOST = 400


def save(store: Path, crop: str, field: str, told: Crop, *, author: str, reason: str) -> int:
    """Keep a version; every site is due, since demand hangs on it.

    Parameters
    ----------
    store : Path
    crop : str
        Trade name.
    field : str
        Id of the one field it holds for; empty for every field.
    told : Crop
        Before any climate is taken into account, as FAO-56 Table 12 gives its own.
    author, reason : str

    Returns
    -------
    int
        The version's number.

    Raises
    ------
    InputRefused
        When author or reason is blank, or a figure is not plausible.
    """
    where = f"coefficients of {crop}"
    if not author.strip():
        raise InputRefused(where, "no author is named.", "Enter your name.")
    if not reason.strip():
        raise InputRefused(where, "no reason is given.", "Say in a few words what you know.")
    _check(where, told)
    with connection.writing(store) as db:
        kept = statements.execute(
            db, "save_coefficients", crop=plain_name(crop), field=field, kc_ini=told.kc_ini,
            kc_mid=told.kc_mid, kc_end=told.kc_end, stages_d=list(told.stages_d),
            author=author.strip(), reason=reason.strip(), made_at=datetime.now(UTC),
        )  # fmt: skip
        statements.execute(db, "touch_all", since=None)
    return int(str(kept[0][0]))


def _check(where: str, told: Crop) -> None:
    for name in ("kc_ini", "kc_mid", "kc_end"):
        value = getattr(told, name)
        if not 0.0 < value <= KC_MOST:
            found = f"{name} is {value:g}."
            raise InputRefused(where, found, f"Give a number above 0, at most {KC_MOST}.")
    if min(told.stages_d) < 1 or sum(told.stages_d) > DAYS_MOST:
        found = f"its stages are {list(told.stages_d)} days."
        remedy = f"Each needs a day or more, all together at most {DAYS_MOST}."
        raise InputRefused(where, found, remedy)


def undo(store: Path, number: int, author: str) -> None:
    """Take a version back: what stood before it holds again.

    Raises
    ------
    InputRefused
        When no author is named.
    NotKnown
        When there is no such version in force.
    """
    if not author.strip():
        where = f"coefficients {number}"
        raise InputRefused(where, "nobody is named who takes it back.", "Enter your name.")
    with connection.writing(store) as db:
        at = datetime.now(UTC)
        if not statements.execute(db, "undo_coefficients", id=number, at=at, by=author.strip()):
            message = f"There is no version {number} that still holds."
            raise NotKnown(message)
        statements.execute(db, "touch_all", since=None)


def history(store: Path) -> pd.DataFrame:
    """Give every version, newest first, those taken back too."""
    return statements.query(store, "show_coefficients")


def versions(db: duckdb.DuckDBPyConnection) -> Versions:
    """Give the versions in force: the newest of each crop and field."""
    rows = statements.rows(db, "show_coefficients")
    held = rows[rows["undone_at"].isna()].sort_values("id")
    return {
        (row["crop"], row["field"]): Crop(
            row["kc_ini"], row["kc_mid"], row["kc_end"], _four(row["stages_d"])
        )
        for row in held.to_dict("records")
    }


def _four(days: object) -> tuple[int, int, int, int]:
    first, second, third, fourth = (int(one) for one in days)  # pyright: ignore[reportGeneralTypeIssues]
    return first, second, third, fourth


def lacking(db: duckdb.DuckDBPyConnection) -> dict[str, list[str]]:
    """List the crops that no coefficients are known for, each with the fields it is told of."""
    told = versions(db)
    fields: dict[str, list[str]] = defaultdict(list)
    for crop, field in statements.execute(db, "check_crops"):
        if crop_for(str(crop), str(field), told) is None:
            fields[str(crop)].append(str(field))
    return dict(fields)


def in_force(store: Path, crop: str, field: str) -> Crop | None:
    """Give what holds for a crop in a field: as set, else of the tables."""
    with connection.reading(store) as db:
        return crop_for(crop, field, versions(db))
