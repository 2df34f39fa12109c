"""Assess the sites that need it, on any executor, published as one whole.

A site of which anything may be new is one task. Where only readings are new, or a new day has
come, the latest days are worked out and the rest stands: a bucket of such sites is one task
(:mod:`analytics.store.nightly`). Points and all else that is learned waits for the first
assessment of a week, which is whole for every site.
"""

import json
import zlib
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, as_completed
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from importlib.metadata import version
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pandas as pd

from analytics.assess import assess_site
from analytics.contract import RESULTS
from analytics.errors import OverwinterError, StoreError
from analytics.model import SiteInputs
from analytics.settings import Settings
from analytics.store import connection, preferences, readings, results, sight, statements
from analytics.store.advice import order_tables, past_forecasts
from analytics.store.crops import crop_tables
from analytics.store.inputs import site_inputs
from analytics.store.nightly import Brought, Due, bring, kept_sentence
from analytics.store.paths import bucket
from analytics.store.shared import weather_of
from analytics.store.staged import BUCKETS, Arrived, Staged, set_down, stage

Work = Callable[[SiteInputs, Settings], dict[str, pd.DataFrame]]
Progress = Callable[[float, str], None]
_ARCHIVED = timedelta(days=30)


@dataclass(frozen=True, slots=True, kw_only=True)
class AssessReport:
    """What an assessment did.

    ``generation`` is None where there was nothing to publish; of the sites ``assessed`` those
    in ``latest_days`` were not assessed whole; ``failed`` holds a sentence for each site whose
    earlier results were kept.
    """

    as_of: date
    generation: int | None = None
    note: str = ""
    assessed: tuple[str, ...] = ()
    latest_days: tuple[str, ...] = ()
    unchanged: tuple[str, ...] = ()
    without_readings: tuple[str, ...] = ()
    failed: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    """Which sites to assess, with what, and the newest touch that this will answer.

    ``buckets`` are the sites whose latest days may do, by bucket, from what ``known_until``
    left; sites that need more stand beside them if they share a bucket, else in ``sites``.
    """

    sites: tuple[str, ...]
    buckets: dict[int, tuple[Due, ...]]
    known_until: date
    unchanged: tuple[str, ...]
    without_readings: tuple[str, ...]
    settings: Settings
    seen: int
    generation: int

    @property
    def count(self) -> int:
        """How many sites are due."""
        return len(self.sites) + sum(len(due) for due in self.buckets.values())


@dataclass(slots=True, kw_only=True)
class _Found:
    """What the tasks gave so far."""

    arrived: list[Arrived] = field(default_factory=list)
    whole: list[str] = field(default_factory=list)
    latest_days: list[str] = field(default_factory=list)
    empty: list[str] = field(default_factory=list)
    failed: dict[str, str] = field(default_factory=dict)


def made_by() -> str:
    """Name the program and the form of its result tables, as results carry them.

    Results of another form cannot stand beside new ones, so they are worked out again.
    """
    form = [
        (one.name, [(column.name, column.kind) for column in one.columns]) for one in RESULTS
    ]
    return f"{version('overwinter')}+{zlib.crc32(repr(form).encode()):08x}"


def assess(
    store: Path,
    as_of: date | None,
    executor: Executor,
    *,
    everything: bool = False,
    progress: Progress | None = None,
    work: Work = assess_site,
) -> AssessReport:
    """Assess every site whose inputs changed, or all when what made the results changed.

    Parameters
    ----------
    store : Path
        The store's folder.
    as_of : date or None
        The last day that counts as known; None: see ``usual_day``.
    executor : Executor
        Runs one task a site; only paths and small values travel to it.
    everything : bool
        Assess all sites even if nothing changed.
    progress : callable or None
        Given the share done (0-1) and the site just finished.
    work : callable
        What is done for one site.

    Returns
    -------
    AssessReport
        A site that fails keeps its earlier results and is named with a sentence.
    """
    day, note = usual_day(store) if as_of is None else (as_of, "")
    with connection.publishing(store):
        plan = _plan(store, day, everything=everything)
        found = _Found()
        futures = _submitted(store, day, plan, executor, work)
        for sites, future in _finished(futures, plan.count, progress):
            _sort(sites, future, found)
        whole, trouble = _order(store, found.arrived, day, plan, executor)
        generation = _publish(store, found.arrived, day, plan, whole)
        trouble |= _remember(store, found.failed)
    return AssessReport(
        as_of=day,
        generation=generation,
        note=note,
        assessed=tuple(sorted((*found.whole, *found.latest_days))),
        latest_days=tuple(sorted(found.latest_days)),
        unchanged=plan.unchanged,
        without_readings=tuple(sorted((*plan.without_readings, *found.empty))),
        failed={**found.failed, **trouble},
    )


def _submitted(
    store: Path, day: date, plan: _Plan, executor: Executor, work: Work
) -> dict[Future, tuple[str, ...]]:
    """Hand all tasks out; only paths and small values travel."""
    how: dict[str, Any] = {
        "settings": plan.settings, "generation": plan.generation, "work": work,
    }  # fmt: skip
    tasks: dict[Future, tuple[str, ...]] = {
        executor.submit(assess_apart, store, site, day, **how): (site,) for site in plan.sites
    }
    for number, due in plan.buckets.items():
        known = plan.known_until
        task = executor.submit(assess_bucket, store, number, due, known, day, **how)
        tasks[task] = tuple(one.site for one in due)
    return tasks


def assess_bucket(
    store: Path, number: int, due: tuple[Due, ...], known_until: date, as_of: date, *,
    settings: Settings, generation: int, work: Work = assess_site,
) -> Brought:  # fmt: skip
    """Bring a bucket of sites up to date where their readings lie."""

    def whole(site: str) -> Staged | None:
        return assess_one(
            store, site, as_of, settings=settings, generation=generation, work=work
        )

    return bring(
        store, number, due, known_until, as_of, settings=settings, generation=generation,
        whole=whole,
    )  # fmt: skip


def assess_apart(
    store: Path, site: str, as_of: date, *, settings: Settings, generation: int,
    work: Work = assess_site,
) -> Staged | None:  # fmt: skip
    """Assess one site as a task of its own, whose small tables wait on the disk."""
    made = assess_one(store, site, as_of, settings=settings, generation=generation, work=work)
    return None if made is None else set_down(store, made)


def assess_one(
    store: Path,
    site: str,
    as_of: date,
    *,
    settings: Settings,
    generation: int,
    work: Work = assess_site,
) -> Staged | None:
    """Assess one site where its readings lie; None when it has none by ``as_of``."""
    with (
        sight.unbound()
    ):  # whoever may start an assessment was asked before; workers have no session
        inputs = site_inputs(store, site, as_of)
        if not len(inputs.record.times):
            return None
        tables = work(inputs, settings)
        days = weather_of(store, inputs.placements[-1], as_of, settings)
        forecasts = past_forecasts(inputs, tables, days, settings)
        crops = crop_tables(store, inputs, tables, settings)
    told = {**tables, "forecasts": forecasts, **crops}
    return stage(store, generation, site, told, as_of)


def usual_day(store: Path) -> tuple[date, str]:
    """Give the day to assess as of when none is named, and what to say about it.

    Today; but a record whose newest reading is older than 30 days is an archive, and is
    assessed as of its last day.
    """
    today = datetime.now(UTC).date()
    zones = statements.query(store, "newest_zones")
    days = [
        stamp.tz_convert(ZoneInfo(zone)).date()
        for site, zone in zip(zones["site"], zones["timezone"], strict=True)
        if (stamp := _newest(store, site)) is not None
    ]
    newest = max(days, default=today)
    if newest >= today - _ARCHIVED:
        return today, ""
    return newest, f"The newest reading is of {newest}: assessed as of that day, not of today."


def _newest(store: Path, site: str) -> pd.Timestamp | None:
    """Give a site's newest reading; none of a damaged part, which its assessment tells of."""
    with suppress(StoreError):
        return readings.newest(store, site)
    return None


def _plan(store: Path, as_of: date, *, everything: bool) -> _Plan:
    settings = preferences.thresholds(store)
    known = statements.query(store, "site_names")["site"].tolist()
    touched = statements.query(store, "touched_sites")
    have = set(readings.sites(store))
    readable = [site for site in known if site in have]
    last = statements.query(store, "latest_assessment")
    if everything or not _goes_on(last, as_of, settings):
        sites, buckets, until = tuple(readable), {}, as_of
    else:
        until = last.iloc[0]["as_of"].date()
        sites, buckets = _parted(_due(readable, touched, until, as_of))
    due = {*sites, *(one.site for some in buckets.values() for one in some)}
    return _Plan(
        sites=sites,
        buckets=buckets,
        known_until=until,
        unchanged=tuple(site for site in readable if site not in due),
        without_readings=tuple(site for site in known if site not in have),
        settings=settings,
        seen=int(touched["number"].max()) if len(touched) else 0,
        generation=results.upcoming(store),
    )


def _goes_on(last: pd.DataFrame, as_of: date, settings: Settings) -> bool:
    """Tell whether an assessment may rest on the last one: same rules, same week, no earlier.

    The first of a week assesses every site whole: what is learned is a week old at most.
    """
    if last.empty:
        return False
    made = last.iloc[0]
    until = made["as_of"].date()
    same_rules = json.loads(made["settings"]) == asdict(settings)
    same_week = until.isocalendar()[:2] == as_of.isocalendar()[:2]
    return same_rules and made["version"] == made_by() and same_week and until <= as_of


def _due(
    readable: list[str], touched: pd.DataFrame, until: date, as_of: date
) -> tuple[Due, ...]:
    """List the sites of which anything is new, and all of them if a new day has come."""
    since = dict(zip(touched["site"], touched["since"], strict=True))
    new_day = as_of > until
    midday = datetime.combine(until, time(12), UTC)
    return tuple(
        Due(site=site, since=_instant(since[site]) if site in since else midday)
        for site in readable
        if new_day or site in since
    )


def _instant(since: pd.Timestamp) -> datetime | None:
    return None if pd.isna(since) else since.to_pydatetime()


def _parted(due: tuple[Due, ...]) -> tuple[tuple[str, ...], dict[int, tuple[Due, ...]]]:
    """Give the sites that are a task each, and the buckets that are one."""
    by_number: dict[int, list[Due]] = {}
    for one in due:
        by_number.setdefault(bucket(one.site, BUCKETS), []).append(one)
    late = {
        number: tuple(some)
        for number, some in by_number.items()
        if any(one.since is not None for one in some)
    }
    apart = (one.site for number, some in by_number.items() if number not in late
             for one in some)  # fmt: skip
    return tuple(sorted(apart)), late


def _finished(
    futures: dict[Future, tuple[str, ...]], count: int, progress: Progress | None
) -> Iterator[tuple[tuple[str, ...], Future]]:
    done = 0
    for future in as_completed(futures):
        sites = futures[future]
        yield sites, future
        done += len(sites)
        if progress:
            progress(done / count, sites[-1])


def _sort(sites: tuple[str, ...], future: Future, found: _Found) -> None:
    why = future.exception()
    if why is None:
        _take(sites, future.result(), found)
    elif isinstance(why, Exception):
        found.failed |= {site: kept_sentence(site, why) for site in sites}
    else:
        raise why


def _take(sites: tuple[str, ...], outcome: Staged | Brought | None, found: _Found) -> None:
    if outcome is None:
        found.empty += sites
    elif isinstance(outcome, Staged):
        found.arrived.append(outcome)
        found.whole += sites
    else:
        if outcome.rewritten.sites:
            found.arrived.append(outcome.rewritten)
        found.whole += outcome.whole
        found.latest_days += sorted(outcome.rewritten.sites - set(outcome.whole))
        found.empty += outcome.without_readings
        found.failed |= outcome.failed


def _remember(store: Path, failed: dict[str, str]) -> dict[str, str]:
    """Let sites that failed be due at the next assessment, whatever its day.

    A sentence where that cannot be put down, which must not hide why they failed.
    """
    if not failed:
        return {}
    try:
        with connection.writing(store) as db:
            statements.execute(db, "touch_sites", sites=sorted(failed))
    except (OverwinterError, OSError) as why:
        told = f"Which sites failed could not be put down ({why}). Assess with --all next time."
        return {"store": told}
    return {}


def _order(
    store: Path, arrived: list[Arrived], day: date, plan: _Plan, executor: Executor
) -> tuple[dict[str, pd.DataFrame] | None, dict[str, str]]:
    """Work out the store's watering order, or say in a sentence why it could not be.

    Whatever happens to the order, what was found at each site is not lost with it.
    """
    if not arrived:
        return None, {}
    try:
        return order_tables(store, arrived, day, plan.settings, executor), {}
    except Exception as why:  # noqa: BLE001 - one odd source must not hold back every field
        what = str(why) if isinstance(why, OverwinterError) else f"{type(why).__name__}: {why}"
        sentence = (
            f"The watering order could not be worked out ({what}). The earlier one is kept."
        )
        return None, {"watering order": sentence}


def _publish(
    store: Path, arrived: list[Arrived], day: date, plan: _Plan,
    whole: dict[str, pd.DataFrame] | None,
) -> int | None:  # fmt: skip
    if not arrived:
        return None
    return results.switch(
        store, arrived, day, plan.settings, made_by(), seen=plan.seen, whole=whole
    )
