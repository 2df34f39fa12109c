"""Assess the sites that need it: one task a site, on any executor, published as one whole."""

import json
import zlib
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, as_completed
from dataclasses import asdict, dataclass, field
from datetime import UTC, date, datetime, timedelta
from importlib.metadata import version
from pathlib import Path
from zoneinfo import ZoneInfo

import pandas as pd

from analytics.assess import assess_site
from analytics.contract import RESULTS
from analytics.errors import OverwinterError
from analytics.model import SiteInputs
from analytics.settings import Settings
from analytics.store import connection, preferences, readings, results, sight, statements
from analytics.store.advice import order_tables, past_forecasts
from analytics.store.crops import crop_tables
from analytics.store.inputs import site_inputs
from analytics.store.shared import weather_of

Work = Callable[[SiteInputs, Settings], dict[str, pd.DataFrame]]
Progress = Callable[[float, str], None]
_ARCHIVED = timedelta(days=30)


@dataclass(frozen=True, slots=True, kw_only=True)
class AssessReport:
    """What an assessment did.

    ``generation`` is None where there was nothing to publish; ``failed`` holds a sentence
    for each site whose earlier results were kept.
    """

    as_of: date
    generation: int | None = None
    note: str = ""
    assessed: tuple[str, ...] = ()
    unchanged: tuple[str, ...] = ()
    without_readings: tuple[str, ...] = ()
    failed: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    """Which sites to assess, with what, and the newest touch that this will answer."""

    sites: tuple[str, ...]
    unchanged: tuple[str, ...]
    without_readings: tuple[str, ...]
    settings: Settings
    seen: int
    generation: int


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
        futures = {
            executor.submit(
                assess_one,
                store,
                site,
                day,
                settings=plan.settings,
                generation=plan.generation,
                work=work,
            ): site
            for site in plan.sites
        }
        staged: list[results.Staged] = []
        empty: list[str] = []
        failed: dict[str, str] = {}
        for site, future in _finished(futures, progress):
            _sort(site, future, staged, empty, failed)
        whole, trouble = _order(store, staged, day, plan)
        generation = _publish(store, staged, day, plan, whole)
        _remember(store, failed)
    return AssessReport(
        as_of=day,
        generation=generation,
        note=note,
        assessed=tuple(sorted(one.site for one in staged)),
        unchanged=plan.unchanged,
        without_readings=tuple(sorted((*plan.without_readings, *empty))),
        failed={**failed, **trouble},
    )


def assess_one(
    store: Path,
    site: str,
    as_of: date,
    *,
    settings: Settings,
    generation: int,
    work: Work = assess_site,
) -> results.Staged | None:
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
    return results.stage(store, generation, site, told)


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
        if (stamp := readings.newest(store, site)) is not None
    ]
    newest = max(days, default=today)
    if newest >= today - _ARCHIVED:
        return today, ""
    return newest, f"The newest reading is of {newest}: assessed as of that day, not of today."


def _plan(store: Path, as_of: date, *, everything: bool) -> _Plan:
    settings = preferences.thresholds(store)
    known = statements.query(store, "site_names")["site"].tolist()
    touched = statements.query(store, "touched_sites")
    have = set(readings.sites(store))
    readable = [site for site in known if site in have]
    if everything or _made_otherwise(store, as_of, settings):
        due = readable
    else:
        due = [site for site in readable if site in set(touched["site"])]
    return _Plan(
        sites=tuple(due),
        unchanged=tuple(site for site in readable if site not in set(due)),
        without_readings=tuple(site for site in known if site not in have),
        settings=settings,
        seen=int(touched["number"].max()) if len(touched) else 0,
        generation=results.upcoming(store),
    )


def _made_otherwise(store: Path, as_of: date, settings: Settings) -> bool:
    """Tell whether the results that hold were made as of another day or by other rules."""
    last = statements.query(store, "latest_assessment")
    if last.empty:
        return True
    made = last.iloc[0]
    same_rules = json.loads(made["settings"]) == asdict(settings)
    return made["as_of"].date() != as_of or made["version"] != made_by() or not same_rules


def _finished(
    futures: dict[Future, str], progress: Progress | None
) -> Iterator[tuple[str, Future]]:
    for done, future in enumerate(as_completed(futures), start=1):
        site = futures[future]
        yield site, future
        if progress:
            progress(done / len(futures), site)


def _sort(
    site: str,
    future: Future,
    staged: list[results.Staged],
    empty: list[str],
    failed: dict[str, str],
) -> None:
    why = future.exception()
    if why is None:
        outcome = future.result()
        staged.append(outcome) if outcome is not None else empty.append(site)
    elif isinstance(why, OverwinterError):
        failed[site] = f"{why} Its earlier results are kept."
    elif isinstance(why, Exception):
        what = f"{type(why).__name__}: {why}"
        failed[site] = (
            f"site {site}: could not be assessed ({what}). Its earlier results are kept."
        )
    else:
        raise why


def _remember(store: Path, failed: dict[str, str]) -> None:
    """Let sites that failed be due at the next assessment, whatever its day."""
    if failed:
        with connection.writing(store) as db:
            statements.execute(db, "touch_sites", sites=sorted(failed))


def _order(
    store: Path, staged: list[results.Staged], day: date, plan: _Plan
) -> tuple[dict[str, pd.DataFrame] | None, dict[str, str]]:
    """Work out the store's watering order, or say in a sentence why it could not be.

    Whatever happens to the order, what was found at each site is not lost with it.
    """
    if not staged:
        return None, {}
    try:
        return order_tables(store, staged, day, plan.settings), {}
    except Exception as why:  # noqa: BLE001 - one odd source must not hold back every field
        what = str(why) if isinstance(why, OverwinterError) else f"{type(why).__name__}: {why}"
        sentence = (
            f"The watering order could not be worked out ({what}). The earlier one is kept."
        )
        return None, {"watering order": sentence}


def _publish(
    store: Path, staged: list[results.Staged], day: date, plan: _Plan,
    whole: dict[str, pd.DataFrame] | None,
) -> int | None:  # fmt: skip
    if not staged:
        return None
    return results.switch(
        store, staged, day, plan.settings, made_by(), seen=plan.seen, whole=whole
    )
