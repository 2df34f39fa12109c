"""A bucket of sites brought up to date: their latest days where that will do, else whole.

What a bucket's sites know is read once, their new rows are laid behind the ones that stand,
and the bucket's files are written anew. A site that cannot be judged from its latest days is
assessed whole within the same task.
"""

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
from numpy.typing import NDArray

from analytics.contract import TABLES
from analytics.errors import OverwinterError
from analytics.model import SiteInputs
from analytics.nightly import DATED, Night, assess_night
from analytics.settings import Settings
from analytics.soil.days import DAY
from analytics.soil.recent import Known, days_of, first_read
from analytics.store import connection, readings, results, sight, staged
from analytics.store.crops import night_tables
from analytics.store.frames import cut_by, from_arrow, parted, to_arrow
from analytics.store.inputs import Gathering
from analytics.store.manifest import Files
from analytics.store.parts import Unreadable
from analytics.store.staged import ORDER_NEEDS, Rewritten, Staged, latest

KNOWN = ("limits", "wettings", "wetting_layers", "flags", "gaps")
NIGHTLY = (
    "wettings", "wetting_layers", "flags", "gaps", "frost", "tally", "crop_water", "news",
    *(latest(name) for name in staged.SPLIT),
)  # fmt: skip
"""Tables that a night may change; all others only where a site is assessed whole."""
MARKS = {
    **dict.fromkeys((*DATED, "depletion"), "date"), "tally": "from", "crop_water": "planted_on",
}  # fmt: skip
"""Of tables whose earlier rows stay: the column that tells which."""
DAY_COLUMNS = ["date", "depth_cm", "placement", "high", "state", "temp_c", "frozen", "held"]
ROOTED_D = 20
"""Days back within which a rooted layer of a standing crop has a row that says so."""
A_DAY = timedelta(days=1)
"""What a site's own day may lie before that of UTC."""
Whole = Callable[[str], Staged | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """A site to bring up to date; ``since`` (UTC) only its readings from then on are new.

    Without ``since`` anything may be new, and the site is assessed whole.
    """

    site: str
    since: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Brought:
    """What became of a bucket: sites assessed whole are named, failures have a sentence."""

    rewritten: Rewritten
    whole: tuple[str, ...] = ()
    without_readings: tuple[str, ...] = ()
    failed: Mapping[str, str] = field(default_factory=dict)


@dataclass(slots=True, kw_only=True)
class _Bucket:
    """A bucket on its way from what stood to what stands now."""

    store: Path
    files: Files
    tables: dict[str, pa.Table]
    known_until: date
    told: dict[str, dict[str, pd.DataFrame]]  # by table and site
    nights: dict[str, Night] = field(default_factory=dict)
    whole: dict[str, Staged] = field(default_factory=dict)
    empty: list[str] = field(default_factory=list)
    failed: dict[str, str] = field(default_factory=dict)


def bring(
    store: Path, number: int, due: tuple[Due, ...], known_until: date, as_of: date, *,
    settings: Settings, generation: int, whole: Whole,
) -> Brought:  # fmt: skip
    """Bring the sites of one bucket up to date, and write its files.

    Parameters
    ----------
    store : Path
    number : int
        The bucket's.
    due : tuple of Due
        Its sites of which anything is new, or for which a new day has come.
    known_until, as_of : date
        The day of the results that hold, and the day to bring them to; not earlier.
    settings : Settings
    generation : int
        The one that is being made.
    whole : callable
        Assesses a site whole; None where it has no reading.

    Returns
    -------
    Brought
        A site that fails keeps the rows that it had.
    """
    with sight.unbound():  # as in an assessment: whoever may start one was asked before
        one = _opened(store, number, known_until)
        inputs = _inputs(store, due, known_until, as_of)
        for site in due:
            _bring(one, site, inputs.get(site.site), settings, whole)
    names = set(NIGHTLY)
    if one.whole:
        names = set(staged.IN_BUCKETS)
        lacking = sorted(names - set(one.tables))
        one.tables |= staged.read_bucket(store, one.files, number, lacking)
    tables = {name: _spliced(name, one.tables[name], one) for name in sorted(names)}
    return Brought(
        rewritten=Rewritten(
            number=number, sites=frozenset((*one.nights, *one.whole)),
            files=staged.write_bucket(store, generation, number, tables),
            large={name: made.files for name, made in one.whole.items()},
            small=_for_order(one, tables, as_of, settings),
        ),
        whole=tuple(one.whole), without_readings=tuple(one.empty), failed=one.failed,
    )  # fmt: skip


def _opened(store: Path, number: int, known_until: date) -> _Bucket:
    files = results.held(store)
    tables = staged.read_bucket(store, files, number, {*NIGHTLY, *KNOWN})
    asked = (*KNOWN, latest("daily"), latest("uptake"))
    told = {name: parted(from_arrow(tables[name]), "site") for name in asked}
    return _Bucket(store=store, files=files, tables=tables, known_until=known_until, told=told)


def _inputs(
    store: Path, due: tuple[Due, ...], known_until: date, as_of: date
) -> dict[str, SiteInputs]:
    """Gather what people told of the sites, with their latest readings, in one unit of work."""
    days = {
        one.site: first_read(min(one.since.date(), known_until) - A_DAY)
        for one in due if one.since is not None
    }  # fmt: skip
    records = {}
    for site, day in days.items():
        with suppress(Unreadable):  # said where such a site is then assessed whole
            records[site] = readings.read(store, site, day)
    with connection.reading(store) as db:
        gathering = Gathering(db, list(records), as_of)
        return {site: gathering.of(record) for site, record in records.items()}


def _bring(
    one: _Bucket, due: Due, inputs: SiteInputs | None, settings: Settings, whole: Whole
) -> None:
    """Bring one site up to date; its trouble is no other's."""
    try:
        if inputs is not None and due.since is not None:
            _by_night(one, due.since, inputs, settings)
        if due.site not in one.nights:
            made = whole(due.site)
            if made is None:
                one.empty.append(due.site)
            else:
                one.whole[due.site] = made
    except Exception as why:  # noqa: BLE001 - one site's trouble is no other's
        one.failed[due.site] = kept_sentence(due.site, why)


def kept_sentence(site: str, why: Exception) -> str:
    """Say that a site could not be assessed, and why."""
    told = f"site {site}: could not be assessed ({type(why).__name__}: {why})."
    return f"{why if isinstance(why, OverwinterError) else told} Its earlier results are kept."


def _by_night(one: _Bucket, since: datetime, inputs: SiteInputs, settings: Settings) -> None:
    """Work out a site's latest days, where these lie among those that buckets hold."""
    site = inputs.record.site
    known = _known(one, site)
    if known is None:
        return
    zone = ZoneInfo(inputs.placements[-1].timezone)
    first = min(since.astimezone(zone).date(), known.as_of)
    night = assess_night(inputs, known, first, settings)
    held = one.told[latest("daily")][site]["date"].to_numpy("datetime64[D]")
    if night is not None and held.min() <= night.fresh:
        crops = night_tables(one.store, inputs, night, known, settings)
        one.nights[site] = replace(night, tables={**night.tables, **crops})


def _known(one: _Bucket, site: str) -> Known | None:
    """Put together what the site's last assessment told; None where it has none."""
    recent, path = one.told[latest("daily")].get(site), one.files.get("daily", {}).get(site)
    if recent is None or site not in one.told["limits"]:
        return None
    days = {name: recent[name].to_numpy() for name in DAY_COLUMNS}
    if path:
        with pq.ParquetFile(one.store / path) as part:
            early = part.read(columns=DAY_COLUMNS)
        days = {name: np.concatenate([early.column(name).to_numpy(), late])
                for name, late in days.items()}  # fmt: skip
    return Known(
        daily=days_of(site, days), as_of=one.known_until,
        rooted_cm=_rooted(one, site),
        tables={name: one.told[name].get(site, one.told[name][""]) for name in KNOWN},
    )  # fmt: skip


def _rooted(one: _Bucket, site: str) -> tuple[float, ...]:
    took = one.told[latest("uptake")].get(site)
    if took is None:
        return ()
    late = took["date"] >= pd.Timestamp(one.known_until) - pd.Timedelta(days=ROOTED_D)
    return tuple(took.loc[late & took["rooted"].astype(bool), "depth_cm"].unique())


def _spliced(name: str, before: pa.Table, one: _Bucket) -> pa.Table:
    """Lay a table's new rows behind those that stay."""
    of = name.removesuffix("_latest")
    rows_of = _rows_of(before)
    marks = before.column(MARKS[of]).to_numpy() if of in MARKS else None
    stays = np.ones(before.num_rows, bool)
    for site in one.whole:
        stays[rows_of.get(site, slice(0, 0))] = False
    new = [made.small[name] for made in one.whole.values() if name in made.small]
    frames = []
    for site, night in one.nights.items():
        rows = night.tables.get(of) if name in NIGHTLY else None
        if rows is not None:
            frames += [rows] if len(rows) else []
            mine = rows_of.get(site, slice(0, 0))
            stays[mine] = False if marks is None else _stays(of, marks[mine], rows, night)
    if frames:
        new.append(to_arrow(pd.concat(frames, ignore_index=True), TABLES[of]))
    return pa.concat_tables([before.filter(pa.array(stays)), *new])


def _rows_of(table: pa.Table) -> dict[str, NDArray[np.intp]]:
    """Find each site's rows."""
    if not table.num_rows:
        return {}
    told = table.column("site").combine_chunks().dictionary_encode()
    order, cuts = cut_by(told.indices.to_numpy(), len(told.dictionary))
    return {
        site: order[cut] for site, cut in zip(told.dictionary.to_pylist(), cuts, strict=True)
    }


def _stays(
    of: str, marks: NDArray[np.datetime64], rows: pd.DataFrame, night: Night
) -> NDArray[np.bool_]:
    """Tell which of a site's earlier rows stay beside its new ones."""
    if of == "readiness":
        return (marks < night.fresh) & np.isin(marks, night.kept)
    if MARKS[of] == "date":
        return marks < night.fresh
    return ~np.isin(marks, pd.to_datetime(rows[MARKS[of]]).to_numpy("datetime64[D]"))


def _for_order(
    one: _Bucket, tables: Mapping[str, pa.Table], as_of: date, settings: Settings
) -> dict[str, pa.Table]:
    """Give the new rows that the order of the whole store rests on."""
    small = {}
    for name in ORDER_NEEDS:
        new = (made.small.get(name) for made in one.whole.values())
        some = [rows for rows in new if rows is not None]
        if some:
            small[name] = pa.concat_tables(some)
    name = latest("readiness")
    oldest = np.datetime64(as_of, "D") - int(settings.water_known_days) * DAY
    late = tables[name].filter(pa.array(tables[name].column("date").to_numpy() >= oldest))
    rows_of = _rows_of(late)
    mine = np.concatenate(
        [np.zeros(0, np.intp), *(rows_of[site] for site in one.nights if site in rows_of)]
    )
    night = late.take(pa.array(mine))
    small[name] = pa.concat_tables([small[name], night]) if name in small else night
    return small
