"""Take a delivery into the store: checked first, readings next, the log last.

The readings' parts are renamed into place before the log says that the file was taken, so a
crash between leaves a file that can simply be imported again: what was merged already counts
as identical. A file whose bytes and mapping the log knows changes nothing.
"""

import json
from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import cast

import duckdb
import numpy as np
import pandas as pd

from analytics.errors import InputRefused
from analytics.intake import Known
from analytics.intake.depths import settled, strange_cm
from analytics.model import Delivery, Record
from analytics.settings import Settings
from analytics.store import (
    connection,
    filled,
    gauge,
    people,
    preferences,
    readings,
    sight,
    statements,
)
from analytics.store.counts import Counts, Outcome
from analytics.store.import_log import put_down, taken_before

Newest = dict[str, pd.Timestamp | None]
"""Of each site its newest stored reading."""
NEAR = np.timedelta64(3, "D")
"""A delivery that begins so long before a record's end goes on where it ends."""

AT_ONCE = 2
"""Sites merged side by side: one's file is written while another's is worked out."""


TOLD_SINCE = (
    "Files taken since speak of the same, and what they say stands. Was it wrong? Import this "
    "one with --again, and it wins."
)


def known(store: Path) -> Known:
    """Give what the store knows that a file may refer to."""
    with connection.reading(store) as db:
        zones = statements.execute(db, "newest_zones")
        fields = statements.execute(db, "field_names")
        mappings = statements.execute(db, "mappings")
        clocks = statements.execute(db, "clocks")
    return Known(
        sites={str(site): str(zone) for site, zone in zones},
        fields=frozenset(str(name) for name, _ in fields),
        shapes={str(name): cast("bytes", shape) for name, shape in fields if shape},
        mappings={str(signature): json.loads(str(text)) for signature, text in mappings},
        clocks={str(site): str(clock) for site, clock in clocks},
    )


def take(store: Path, delivery: Delivery) -> Outcome:
    """Take one file's delivery; see ``take_all``."""
    (outcome,) = take_all(store, [delivery])
    return outcome


def take_all(
    store: Path, deliveries: Sequence[Delivery], *, again: bool = False
) -> list[Outcome]:
    """Take the deliveries of some files; all of them, or nothing.

    Parameters
    ----------
    store : Path
        The store's folder.
    deliveries : sequence of Delivery
        What intake made of the files. Of several, no two speak of the same site or have the
        same bytes.
    again : bool
        Take files whose bytes were taken before, too: what they say wins again.

    Returns
    -------
    list of Outcome
        Rows that a later row of the same file contradicts count as superseded; rows that it
        only repeats, and rows without any value, count as identical.

    Raises
    ------
    InputRefused
        When a delivery names a site, field or station that the store does not know.
    """
    with connection.turn(store):
        newest = {
            one.site: readings.newest(store, one.site)
            for delivery in deliveries for one in delivery.readings
        }  # fmt: skip
        deep = any(_deep(one, newest) for one in deliveries)
        with connection.writing(store) if deep else connection.reading(store) as db:
            before = {} if again else taken_before(db, deliveries)
            new = [one for one in deliveries if one.sha256 not in before]
            _check_sites(db, new)
            settings = preferences.thresholds_in(db)
            odd = _odd(store, new)
            layers = statements.rows(db, "site_layers", sites=odd) if odd else pd.DataFrame()
            warned = _warn(db, [site for one in new for site in _deep(one, newest)])
        taken = {}
        if new:
            new = [_settled(store, one, odd, layers) for one in new]
            late = [_fills(store, one, newest, settings) for one in new]
            merged = [_merge(store, one, newest) for one in new]
            with connection.writing(store) as db:
                for one, gaps, (counts, since) in zip(new, late, merged, strict=True):
                    taken[one.sha256] = _put_down(db, one, counts, gaps)
                    _touch(db, since, newest)
                statements.execute(db, "drop_touches", numbers=warned)
    return [
        taken.get(one.sha256) or _unchanged(one, told_since=before[one.sha256])
        for one in deliveries
    ]


def foreseen(store: Path, delivery: Delivery) -> Delivery:
    """Give a delivery as ``take`` takes it: at the depths that its sites are known for.

    These are the depths of the layers table and of the readings.
    """
    odd = _odd(store, [delivery])
    layers = statements.query(store, "site_layers", sites=odd) if odd else pd.DataFrame()
    return _settled(store, delivery, odd, layers)


def _odd(store: Path, deliveries: Sequence[Delivery]) -> list[str]:
    """Name sites that a delivery has at other depths than their newest part.

    Most files hold what that part holds, and no more need be looked at.
    """
    return [
        one.site
        for delivery in deliveries
        for one in delivery.readings
        if len(strange_cm(one.depths_cm, readings.newest_depths(store, one.site)))
    ]


def _settled(
    store: Path, delivery: Delivery, odd: Sequence[str], layers: pd.DataFrame
) -> Delivery:
    """Take the depths of odd sites, whose layers are told, for those they are known for."""
    mine = {one.site for one in delivery.readings}.intersection(odd)
    if not mine:
        return delivery
    known_cm = {
        site: np.union1d(
            layers.loc[layers["site"] == site, "depth_cm"], readings.depths(store, site)
        )
        for site in mine
    }
    return settled(delivery, known_cm)


def _put_down(
    db: duckdb.DuckDBPyConnection, delivery: Delivery, counts: Counts,
    late: list[filled.Filled],
) -> Outcome:  # fmt: skip
    """Put down a file's tables, and that it was taken, its readings being merged."""
    outcome = _outcome(delivery, counts + _put_tables(db, delivery))
    filled.save(db, put_down(db, delivery, outcome), late)
    return outcome


def _fills(
    store: Path, delivery: Delivery, newest: Newest, settings: Settings
) -> list[filled.Filled]:
    """Find the gaps that a delivery fills, while they can still be seen."""
    records = _with_values(delivery.readings)
    return [
        gap for one in records for gap in filled.found(store, one, newest[one.site], settings)
    ]


def _deep(delivery: Delivery, newest: Newest) -> list[str]:
    """Name new sites, and those that a delivery reaches far back into."""
    return sorted({
        one.site
        for one in _with_values(delivery.readings)
        if newest[one.site] is None or _reaches_back(one, newest)
    })  # fmt: skip


def _warn(db: duckdb.DuckDBPyConnection, deep: list[str]) -> list[int]:
    """Touch sites before their readings are merged.

    Should the merge be cut short, a repeated import would no longer see what it changed.
    """
    rows = statements.execute(db, "touch_sites", sites=deep) if deep else []
    return [int(str(number)) for (number,) in rows]


def _reaches_back(record: Record, newest: Newest) -> bool:
    last = newest[record.site]
    return last is not None and record.times[0] < last.to_datetime64() - NEAR


def _touch(
    db: duckdb.DuckDBPyConnection, since: dict[str, np.datetime64], newest: Newest
) -> None:
    """Let the sites that readings came to be assessed again, from the first new one on."""
    new = sorted(site for site in since if newest[site] is None)
    if new:
        statements.execute(db, "touch_sites", sites=new)
    known = sorted(set(since) - set(new))
    if known:
        micros = [int(since[site].astype("datetime64[us]").astype(int)) for site in known]
        statements.execute(db, "touch_readings", sites=known, micros=micros)


def _unchanged(delivery: Delivery, *, told_since: bool) -> Outcome:
    rejected = _rejected(delivery)
    same = Counts(identical=delivery.rows_in - rejected)
    return Outcome(
        rows_in=delivery.rows_in, counts=same, rejected=rejected, already=True,
        notes=(TOLD_SINCE,) if told_since else (),
    )  # fmt: skip


def _check_sites(db: duckdb.DuckDBPyConnection, deliveries: Iterable[Delivery]) -> None:
    sites = {name for (name,) in statements.execute(db, "site_names")}
    for delivery in deliveries:
        unknown = sorted({one.site for one in delivery.readings} - sites)
        if unknown:
            found = f"site {unknown[0]!r} is not in the store."
            remedy = "Import the sites table first, or correct the id."
            raise InputRefused(delivery.path, found, remedy)


def _merge(
    store: Path, delivery: Delivery, newest: Newest
) -> tuple[Counts, dict[str, np.datetime64]]:
    """Merge the readings; long files count single readings, wide ones instants.

    Told with it is each site's first instant of which anything may be new: the first that is
    other than it was, of a delivery that reaches far back into the record; else its own first,
    for an earlier merge that was cut short hides what it changed.
    """
    total, since = readings.NOTHING, dict[str, np.datetime64]()
    by_site: dict[str, list[Record]] = {}
    for record in _with_values(delivery.readings):
        by_site.setdefault(record.site, []).append(record)
    merge = sight.as_now(partial(_merge_site, store, newest))
    with ThreadPoolExecutor(AT_ONCE) as pool:
        for site, merged in zip(by_site, pool.map(merge, by_site.values()), strict=True):
            total += merged[0]
            since[site] = merged[1]
    if len(delivery.replaced):
        readings.keep_replaced(store, delivery.replaced)
    return total.readings if delivery.mapping is None else total.instants, since


def _merge_site(
    store: Path, newest: Newest, records: Sequence[Record]
) -> tuple[readings.Merged, np.datetime64]:
    """Merge what a delivery holds of one site, in its order, as whoever brings it."""
    total, begun = readings.NOTHING, list[np.datetime64]()
    for record in records:
        merged = readings.merge_counted(store, record)
        total += merged
        first = merged.since if _reaches_back(record, newest) else None
        begun.append(record.times[0] if first is None else first)
    return total, min(begun)


def _with_values(records: Iterable[Record]) -> Iterable[Record]:
    return (one for one in records if len(one.times) and len(one.depths_cm))


def _put_tables(db: duckdb.DuckDBPyConnection, delivery: Delivery) -> Counts:
    """Put the people's tables; weather out of a logger file counts with its readings."""
    total = Counts()
    tables = dict(delivery.tables)
    if len(delivery.gauge):
        tables["weather"] = gauge.days_of(db, delivery.gauge)
    for name, frame in tables.items():
        if name == "weather":
            stations = sorted(set(frame["station"].astype(str)))
            statements.execute(db, "place_stations", stations=stations)
        counts = people.put_in(db, name, frame)
        total += counts if name == delivery.kind or not _is_weather(delivery) else Counts()
    return Counts() if delivery.readings else total


def _is_weather(delivery: Delivery) -> bool:
    """Tell a weather file, whose rows are days, from the stations that it names besides."""
    return delivery.kind == "weather"


def _outcome(delivery: Delivery, counts: Counts) -> Outcome:
    rejected = _rejected(delivery)
    blank = delivery.rows_in - delivery.rows_repeated - rejected - counts.total
    hold = "row holds no value and changes" if blank == 1 else "rows hold no value and change"
    note = (f"{blank} {hold} nothing.",) if blank > 0 else ()
    again = Counts(
        superseded=delivery.rows_overruled,
        identical=delivery.rows_repeated - delivery.rows_overruled,
    )
    both = counts + again + Counts(identical=max(blank, 0))
    return Outcome(
        rows_in=delivery.rows_in,
        counts=both,
        rejected=rejected,
        notes=(*delivery.notes, *note),
    )


def _rejected(delivery: Delivery) -> int:
    return int(delivery.rejects["line"].nunique(dropna=False)) if len(delivery.rejects) else 0
