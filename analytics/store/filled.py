"""Gaps that a late file fills: noted while it is taken, since afterwards they are gone."""

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import duckdb
import numpy as np
import pandas as pd

from analytics.model import Floats, Record, Times
from analytics.settings import Settings
from analytics.store import readings, statements


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """One sensor's gap, and how many good-looking readings a file brought into it."""

    site: str
    depth_cm: float
    since: np.datetime64  # last reading before, UTC
    until: np.datetime64  # first reading after
    readings: int


def found(
    store: Path, record: Record, newest: pd.Timestamp | None, settings: Settings
) -> list[Filled]:
    """Find the gaps of the stored record that a delivery reaches into.

    A gap is a stretch between two stored readings of one sensor longer than ``gap_shown_h``
    hours. What follows the newest stored reading continues the record and fills nothing.

    Parameters
    ----------
    store : Path
        The store's folder, before the delivery is merged.
    record : Record
        One site's readings out of the delivery.
    newest : Timestamp or None
        Of its stored readings (:func:`analytics.store.readings.newest`).
    settings : Settings

    Returns
    -------
    list of Filled
        By sensor and time.
    """
    if newest is None or not len(record.times) or record.times[0] >= _naive(newest):
        return []
    kept = readings.read(store, record.site)
    longest = np.timedelta64(round(settings.gap_shown_h * 60), "m")
    return [
        one
        for column, depth in enumerate(kept.depths_cm)
        for place in np.flatnonzero(np.isclose(record.depths_cm, depth))
        for one in _sensor(
            (record.site, float(depth)),
            kept.times[np.isfinite(kept.theta[:, column])],
            _read(record, record.theta[:, place]),
            longest,
        )
    ]


def save(db: duckdb.DuckDBPyConnection, number: int, gaps: list[Filled]) -> None:
    """Write down what an import filled."""
    for one in gaps:
        span = {"import": number, "from": _instant(one.since), "to": _instant(one.until)}
        statements.execute(
            db, "save_filled", site=one.site, depth_cm=one.depth_cm, readings=one.readings,
            **span,
        )  # fmt: skip


def _read(record: Record, theta: Floats) -> Times:
    return record.times[np.isfinite(theta)]


def _sensor(
    whose: tuple[str, float], kept: Times, brought: Times, longest: np.timedelta64
) -> list[Filled]:
    opens = np.flatnonzero(np.diff(kept) > longest)
    since, until = kept[opens], kept[opens + 1]
    count = np.searchsorted(brought, until) - np.searchsorted(brought, since, side="right")
    return [
        Filled(site=whose[0], depth_cm=whose[1], since=since[at], until=until[at],
               readings=int(count[at]))
        for at in np.flatnonzero(count > 0)
    ]  # fmt: skip


def _naive(stamp: pd.Timestamp) -> np.datetime64:
    return np.datetime64(stamp.tz_convert("UTC").tz_localize(None), "us")


def _instant(moment: np.datetime64) -> datetime:
    return pd.Timestamp(moment).tz_localize(UTC).to_pydatetime()
