"""Assess the sites that need it, on any executor, published as one whole.

A site of which anything may be new is one task. Where only readings are new, or a new day has
come, the latest days are worked out and the rest stands: a bucket of such sites is one task
(:mod:`analytics.store.nightly`). Points and all else that is learned waits for the first
assessment of a week, which is whole for every site.
"""

from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, as_completed
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd

from analytics.assess import assess_site
from analytics.errors import OverwinterError
from analytics.model import SiteInputs
from analytics.settings import Settings
from analytics.store import connection, results, sight, statements
from analytics.store.advice import order_tables, past_forecasts
from analytics.store.crops import crop_tables
from analytics.store.due import Plan, made_by, plan_of, usual_day
from analytics.store.inputs import site_inputs
from analytics.store.nightly import Brought, Due, bring, kept_sentence
from analytics.store.shared import weather_of
from analytics.store.staged import Arrived, Staged, set_down, stage

Work = Callable[[SiteInputs, Settings], dict[str, pd.DataFrame]]
Progress = Callable[[float, str], None]


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


@dataclass(slots=True, kw_only=True)
class _Found:
    """What the tasks gave so far."""

    arrived: list[Arrived] = field(default_factory=list)
    whole: list[str] = field(default_factory=list)
    latest_days: list[str] = field(default_factory=list)
    empty: list[str] = field(default_factory=list)
    failed: dict[str, str] = field(default_factory=dict)


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
        plan = plan_of(store, day, everything=everything)
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
    store: Path, day: date, plan: Plan, executor: Executor, work: Work
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
    store: Path, arrived: list[Arrived], day: date, plan: Plan, executor: Executor
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
    store: Path, arrived: list[Arrived], day: date, plan: Plan,
    whole: dict[str, pd.DataFrame] | None,
) -> int | None:  # fmt: skip
    if not arrived:
        return None
    return results.switch(
        store, arrived, day, plan.settings, made_by(), seen=plan.seen, whole=whole
    )
