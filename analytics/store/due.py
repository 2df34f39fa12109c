"""Which sites are due for an assessment, and as of which day.

Due is a site of which anything is new, and every site once a new day has come. Where what was
learned is of this week and the rules are the same, the latest days may do for it.
"""

import json
import zlib
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime, time, timedelta
from importlib.metadata import version
from pathlib import Path
from zoneinfo import ZoneInfo

import pandas as pd

from analytics.contract import RESULTS
from analytics.settings import Settings
from analytics.store import parts, preferences, readings, results, statements
from analytics.store.nightly import Due
from analytics.store.paths import bucket
from analytics.store.staged import BUCKETS

_ARCHIVED = timedelta(days=30)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
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


def usual_day(store: Path, now: datetime | None = None) -> tuple[date, str]:
    """Give the day to assess as of when none is named, and what to say about it.

    Today by the clock of the probe that is furthest on; but a record whose newest reading is
    older than 30 days is an archive, and is assessed as of its last day.
    """
    instant = now or datetime.now(UTC)
    zones = statements.query(store, "newest_zones")
    clocks = [instant.astimezone(ZoneInfo(zone)) for zone in zones["timezone"].unique()]
    today = max((one.date() for one in clocks), default=instant.date())
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
    with suppress(parts.Unreadable):
        return readings.newest(store, site)
    return None


def plan_of(store: Path, as_of: date, *, everything: bool) -> Plan:
    """Give what has to be assessed as of a day; ``everything`` where nothing may be kept."""
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
    return Plan(
        sites=sites,
        buckets=buckets,
        known_until=until,
        unchanged=tuple(site for site in readable if site not in due),
        without_readings=tuple(site for site in known if site not in have),
        settings=settings,
        seen=int(touched["number"].max()) if len(touched) else 0,
        generation=results.upcoming(store),
    )


def made_by() -> str:
    """Name the program and the form of its result tables, as results carry them.

    Results of another form cannot stand beside new ones, so they are worked out again.
    """
    form = [
        (one.name, [(column.name, column.kind) for column in one.columns]) for one in RESULTS
    ]
    return f"{version('overwinter')}+{zlib.crc32(repr(form).encode()):08x}"


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
