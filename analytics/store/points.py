"""Points that a person sets: versions that win over what the record says until taken back.

Nothing is overwritten: a set point is one more version, and taking it back marks it and lets
what stood before hold again, so that a learned value comes back exactly as it was.
"""

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path

import duckdb
import pandas as pd

from analytics.assess import assess_site
from analytics.contract import TABLES
from analytics.errors import InputRefused
from analytics.model import SiteInputs
from analytics.settings import Settings
from analytics.store import connection, preferences, statements
from analytics.store.inputs import site_inputs

Work = Callable[[SiteInputs, Settings], dict[str, pd.DataFrame]]
_RISING = ("lower", "refill", "full")


@dataclass(frozen=True, slots=True, kw_only=True)
class SetPoint:
    """One version of a point as a person sets it.

    ``value`` and ``sd`` are m3/m3; ``sd`` None: as sure as a set point is by the settings. It
    holds for its placement from ``valid_from``. ``pinned``: not even "accept all" takes a
    learned value over it.
    """

    site: str
    placement: int
    depth_cm: float
    point: str
    value: float
    valid_from: date
    set_by: str
    reason: str
    sd: float | None = None
    pinned: bool = True


def save(
    store: Path, points: Sequence[SetPoint], *, over: int | None = None
) -> tuple[int, ...]:
    """Keep versions of points: all of them, or none; their sites are due to be assessed.

    Parameters
    ----------
    store : Path
        The store's folder.
    points : sequence of SetPoint
    over : int, optional
        Number of the set version that the person saw hold, 0 where there was none. Not given
        where nobody looked at each point, as when many are accepted at once.

    Returns
    -------
    tuple of int
        The number of each version, in order.

    Raises
    ------
    InputRefused
        When author or reason is blank, the layer is not known in that placement, the value is
        not plausible, the points would not lie in the order lower, refill, full, or another
        set version holds than the one seen.
    """
    settings = preferences.thresholds(store)
    now = datetime.now(UTC)
    with connection.writing(store) as db:
        for one in points:
            _check(db, one, settings)
            # Asked once the store is ours: a save may have waited for another's to end.
            if over is not None:
                _check_over(db, one, over)
        saved = [
            statements.execute(db, "save_set_point", **asdict(one), made_at=now)
            for one in points
        ]
        statements.execute(db, "touch_sites", sites=sorted({one.site for one in points}))
    return tuple(int(str(number)) for ((number,),) in saved)


def take_back(store: Path, number: int, by: str, why: str) -> str:
    """Take one set version back: what stood before it holds again.

    Parameters
    ----------
    store : Path
        The store's folder.
    number : int
        Of the version, as `save` gave it.
    by, why : str
        Who takes it back, and the reason.

    Returns
    -------
    str
        The site, which is due to be assessed.

    Raises
    ------
    InputRefused
        When author or reason is blank, or there is no such version in force.
    """
    where = f"set point {number}"
    _signed(where, by, why)
    with connection.writing(store) as db:
        changed = statements.execute(
            db, "take_back_set_point", id=number, at=datetime.now(UTC), by=by, why=why
        )
        if not changed:
            found = "it was taken back already, or a later version holds."
            raise InputRefused(where, found, "Reload the page and look at the history.")
        site = str(changed[0][0])
        statements.execute(db, "touch_sites", sites=[site])
    return site


def preview(
    store: Path, point: SetPoint, as_of: date, *, work: Work = assess_site
) -> pd.DataFrame:
    """Work out what a site's soil would be short of with one more set point; nothing is kept.

    Parameters
    ----------
    store : Path
        The store's folder.
    point : SetPoint
        As it would be saved; author and reason may still be blank.
    as_of : date
        The last day that is known.
    work : callable
        What is done for one site.

    Returns
    -------
    DataFrame
        Rows of ``readiness`` of the latest day.

    Raises
    ------
    InputRefused
        When the point could not be saved for what it says.
    """
    settings = preferences.thresholds(store)
    with connection.reading(store) as db:
        _check_value(db, point, settings)
    inputs = site_inputs(store, point.site, as_of)
    tables = work(with_point(inputs, point), settings)
    found = tables["readiness"]
    return found[found["date"] == found["date"].max()].reset_index(drop=True)


def with_point(inputs: SiteInputs, point: SetPoint) -> SiteInputs:
    """Give one site's inputs with one more set point, newest of its day."""
    row = {**asdict(point), "state": "set", "wettings": 0, "ponded": False}
    named = {name: [row[name]] for name in TABLES["limits"].names}
    more = pd.DataFrame(named).astype({"valid_from": "datetime64[us]", "sd": "float64"})
    held = inputs.set_limits
    # valid_from decides, then the later row: the order in which the store gives them
    both = pd.concat([held, more], ignore_index=True) if len(held) else more
    ordered = both.sort_values("valid_from", kind="stable", ignore_index=True)
    return replace(inputs, set_limits=ordered)


def _check(db: duckdb.DuckDBPyConnection, one: SetPoint, settings: Settings) -> None:
    _signed(_where(one), one.set_by, one.reason)
    _check_value(db, one, settings)


def _check_over(db: duckdb.DuckDBPyConnection, one: SetPoint, over: int) -> None:
    held = statements.execute(
        db, "set_point_in_force", site=one.site, placement=one.placement,
        depth_cm=one.depth_cm, point=one.point,
    )  # fmt: skip
    number, value, by = held[0] if held else (0, None, None)
    if number != over:
        found = f"it was set to {value:g} m3/m3 by {by}" if held else "it was taken back"
        raise InputRefused(_where(one), f"{found} meanwhile.", "Look at it, then save again.")


def _where(one: SetPoint) -> str:
    return f"{one.point} point of site {one.site!r} at {one.depth_cm:g} cm"


def _signed(where: str, author: str, reason: str) -> None:
    if not author.strip():
        raise InputRefused(where, "no one is named as its author.", "Say who sets it.")
    if not reason.strip():
        raise InputRefused(where, "no reason is given.", "Say why, for whoever reads it next.")


def _check_value(db: duckdb.DuckDBPyConnection, one: SetPoint, settings: Settings) -> None:
    where = _where(one)
    if one.point not in _RISING:
        raise InputRefused(where, "there is no such point.", "Name full, refill or lower.")
    known = statements.execute(
        db, "layer_points", site=one.site, placement=one.placement, depth_cm=one.depth_cm
    )
    if not known:
        found = f"placement {one.placement} has no such layer."
        raise InputRefused(where, found, "Assess the store first, or correct the depth.")
    column = TABLES["layers"].column("full")
    assert column is not None  # noqa: S101 - the contract has it
    low, high = column.low or 0.0, column.high or 1.0
    if not low < one.value < high:
        found = f"{one.value:g} m3/m3 cannot be."
        raise InputRefused(where, found, f"Give a value between {low:g} and {high:g} m3/m3.")
    full, refill, lower = (float(str(value)) for value in known[0])
    _check_order(where, one, {"full": full, "refill": refill, "lower": lower}, settings)


def _check_order(where: str, one: SetPoint, now: dict[str, float], settings: Settings) -> None:
    """Refuse a full point at or below the lower one; refill lies between them."""
    after = {**now, one.point: one.value}
    if after["full"] - after["lower"] < settings.least_span:
        found = f"it would leave less than {settings.least_span:g} m3/m3 from lower to full."
        raise InputRefused(where, found, "Give a value further from the other point.")
    if one.point == "refill" and not after["lower"] <= one.value <= after["full"]:
        found = "it lies outside the lower and the full point."
        raise InputRefused(where, found, "Give a value between them.")
