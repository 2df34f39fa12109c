"""Tell whether the store is whole, and what is missing or suspect in it."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path
from zoneinfo import available_timezones

import duckdb
import numpy as np
import pandas as pd

from analytics.errors import OverwinterError, some_of
from analytics.store import (
    connection,
    doubts,
    manifest,
    parts,
    preferences,
    readings,
    results,
    statements,
)
from analytics.store.findings import Finding, Level
from analytics.store.paths import DERIVED, READINGS, site_folder
from analytics.store.troubles import troubles_on

NAMED = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rule:
    """A statement whose rows each name something that lacks something.

    A row's values stand where ``what`` has braces; ``settings`` names the thresholds that the
    statement is given.
    """

    statement: str
    what: str
    remedy: str
    level: Level = "missing"
    settings: tuple[str, ...] = ()


_RULES = (
    _Rule(
        statement="check_fields_without_sites",
        what="Field {} has no probe.",
        remedy="Import a sites table that names it, or leave it: it shows without figures.",
    ),
    _Rule(
        statement="check_sites_without_field",
        what="Site {} stands in a field that is not in the store.",
        remedy="Import the field's boundary.",
        level="damaged",
    ),
    _Rule(
        statement="check_sites_without_layers",
        what="Site {} has no layers table: midpoints between its sensors are taken.",
        remedy="Import a layers table if the layers or their texture are known.",
    ),
    _Rule(
        statement="check_missing_sources",
        what="Water source {} feeds fields but is not in the store.",
        remedy="Import it with the sources table.",
    ),
    _Rule(
        statement="check_sources_without_capacity",
        what="Water source {} has no capacity: it can pump nothing in the watering order.",
        remedy="Import the sources table with capacity_l_s, in L/s.",
    ),
    _Rule(
        statement="check_fields_without_seasons",
        what="Field {} has a probe but no crop on record: it has no off-seasons.",
        remedy="Import a seasons table with its planting and harvest dates.",
    ),
    _Rule(
        statement="check_unharvested",
        what="{}: no harvest date, though a later crop was planted or a year is nearly over.",
        settings=("longest_crop_d",),
        remedy="Import the seasons table with the harvest date; a crop that never was is taken "
        "out: overwinter remove STORE seasons field=... planted_on=...",
    ),
    _Rule(
        statement="check_overlapping_seasons",
        what="Field {}.",
        remedy="Import the seasons table with the right harvest; a crop under a wrong planting "
        "date is taken out: overwinter remove STORE seasons field=... planted_on=...",
        level="suspect",
    ),
    _Rule(
        statement="check_dated_ahead",
        what="{} is dated after today, to {}.",
        remedy="Import it with the right year, and take the wrong days out: overwinter remove "
        "STORE water field=... date=...; weather by its station and date.",
        level="suspect",
    ),
    _Rule(
        statement="check_overlapping_placements",
        what="Site {} stands in two holes at once.",
        remedy="Import the sites table with the date on which the first hole was left; a hole "
        "that never was is taken out: overwinter remove STORE sites site=... installed_on=...",
        level="suspect",
    ),
    _Rule(
        statement="moved_sites",
        what="Site {} stood in more fields than one ({}): all its past is told as the last's.",
        remedy="Give it a site id of its own in the later field, and take the row under the "
        "old one out: overwinter remove STORE sites site=... installed_on=...",
        level="suspect",
    ),
    _Rule(
        statement="check_other_depths",
        what="Site {} has read at other depths since its probe was put back; at {} of the "
        "earlier ones nothing reads any more, and what its soil holds there is not known.",
        remedy="Give the new probe a site id of its own, for its files and in the sites table, "
        "and take the row under the old one out: overwinter remove STORE sites site=... "
        "installed_on=...",
        level="suspect",
    ),
    _Rule(
        statement="check_accounts",
        what="Account {} may see grower {}, who farms no field of the store.",
        remedy="Was the name changed? Allow the account the new one: overwinter allow --help.",
        level="suspect",
    ),
    _Rule(
        statement="check_southern",
        what="Every probe stands south of the equator, in a store that keeps the north's year.",
        settings=("frost_month",),
        remedy="Run: overwinter set STORE allocation_month=7 autumn_from_d=32 green_up_d=244 "
        "frost_month=1 years_month=4",
        level="suspect",
    ),
    _Rule(
        statement="check_stations_without_weather",
        what="Station {} has no weather.",
        remedy="Import a weather table for it.",
    ),
    _Rule(
        statement="check_stations_without_height",
        what="Station {} has no height: that of the nearest station that has one is taken, "
        "else the sea's.",
        remedy="Import the stations table with elevation_m.",
    ),
)


def check(store: Path) -> list[Finding]:
    """Look the whole store over.

    Parameters
    ----------
    store : Path
        The store's folder.

    Returns
    -------
    list of Finding
        Damage first; empty when all is well.

    Raises
    ------
    StoreMissing, StoreBusy, StoreNewer, StoreError
    """
    with connection.reading(store) as db:
        generation = manifest.latest(db)
        found = [*_by_rules(db), *_zones(db), *_stale(store, db, generation), *_troubles(db)]
        found += [*doubts.unknown_crops(db), *doubts.misplaced(db)]
        found += [*doubts.before_installed(store, db), *doubts.never_read(store, db)]
    found += [*_readings(store), *_derived(store, generation), *_leftovers(store)]
    found += doubts.twice_at_a_depth(store)
    found += _settings(store)
    order = ("damaged", "suspect", "missing")
    return sorted(found, key=lambda one: order.index(one.level))


def _by_rules(db: duckdb.DuckDBPyConnection) -> Iterator[Finding]:
    thresholds = asdict(preferences.thresholds_in(db))
    for rule in _RULES:
        given = {name: thresholds[name] for name in rule.settings}
        for row in statements.execute(db, rule.statement, **given):
            yield Finding(level=rule.level, what=rule.what.format(*row), remedy=rule.remedy)


def _zones(db: duckdb.DuckDBPyConnection) -> Iterator[Finding]:
    there = available_timezones()
    for site, zone in statements.execute(db, "newest_zones"):
        if zone not in there:
            yield Finding(
                level="damaged",
                what=f"Site {site}: time zone {zone!r} does not exist.",
                remedy="Import the sites table with a zone written like America/Chicago.",
            )


def _stale(store: Path, db: duckdb.DuckDBPyConnection, generation: int) -> Iterator[Finding]:
    have = set(readings.sites(store))
    remedy = f"Run: overwinter assess {store}"
    if not generation:
        if have:
            yield Finding(level="suspect", what="Nothing has been assessed yet.", remedy=remedy)
        return
    touched = [str(site) for site, *_ in statements.execute(db, "touched_sites")]
    due = [site for site in touched if site in have]
    if due:
        named = some_of(due, NAMED)
        what = f"The results of {len(due)} sites are older than their data: {named}."
        yield Finding(level="suspect", what=what, remedy=remedy)


_TROUBLES: dict[str, tuple[Level, str]] = {
    "silent": ("missing", "nothing has come"),
    "gaps": ("missing", "many hours were lost"),
    "failing": ("suspect", "failing"),
    "stuck": ("suspect", "stuck at one value"),
    "range": ("suspect", "out of range"),
    "unit": ("suspect", "in another unit than before"),
    "clock": ("suspect", "the clock is off"),
    "drifting": ("suspect", "the full point drifts from season to season"),
}
"""What the last assessment found at sensors; a new hole that settles needs nobody."""


def _troubles(db: duckdb.DuckDBPyConnection) -> Iterator[Finding]:
    """Name the sensors that were silent, or not to be believed, at the last assessment."""
    last = statements.rows(db, "latest_assessment")
    if last.empty:
        return
    day, rules = last["as_of"].iloc[0].date(), preferences.thresholds_in(db)
    try:
        found = troubles_on(partial(statements.rows, db), day, rules)
    except duckdb.Error:  # a result file that cannot be read is told of as damage
        return
    there = available_timezones()
    told = statements.execute(db, "newest_zones")
    zones = {site: str(zone) for site, zone in told if zone in there}
    for kind, (level, what) in _TROUBLES.items():
        for site, some in found[found["kind"] == kind].groupby("site"):
            yield Finding(
                level=level, remedy="The Record page says what to do.",
                what=f"Site {site}, {_sensors(some['depth_cm'])}: {what}"
                f"{_since(some['since'], zones.get(site, 'UTC'))}.",
            )  # fmt: skip


def _sensors(depths_cm: pd.Series) -> str:
    first, last = depths_cm.min(), depths_cm.max()
    if len(depths_cm) == 1:
        return f"sensor at {first:g} cm"
    return f"{len(depths_cm)} sensors from {first:g} to {last:g} cm"


def _since(instants: pd.Series, zone: str) -> str:
    """Say the first instant's day by the clock at the site, as the pages do."""
    first = instants.min()
    return "" if pd.isna(first) else f" since {first.tz_convert(zone):%Y-%m-%d}"


def _readings(store: Path) -> Iterator[Finding]:
    have = readings.sites(store)
    known = statements.query(store, "site_names")["site"].tolist()
    for site in sorted(set(known) - set(have)):
        yield Finding(
            level="missing",
            what=f"Site {site} has no readings.",
            remedy="Import its logger's files.",
        )
    for site in sorted(set(have) - set(known)):
        yield Finding(
            level="suspect",
            what=f"There are readings of site {site}, which is not in the store.",
            remedy="Import a sites table that names it.",
        )
    for site in have:
        for path in readings.year_parts(site_folder(store, site)):
            yield from _part(store, path, site)


def _part(store: Path, path: Path, site: str) -> Iterator[Finding]:
    name, remedy = path.relative_to(store), parts.AGAIN
    try:
        times = parts.read(path, site).times
    except parts.Unreadable as why:
        _, reason, what_to_do = why.args
        what = f"{name} cannot be read ({reason})."
        yield Finding(level="damaged", what=what, remedy=what_to_do)
        return
    years = np.unique(times.astype("datetime64[Y]").astype(int) + 1970)
    if years.tolist() != [int(path.stem)]:
        yield Finding(level="damaged", what=f"{name} holds other years.", remedy=remedy)
    if not (np.diff(times) > np.timedelta64(0, "us")).all():
        yield Finding(level="damaged", what=f"{name} is not in order of time.", remedy=remedy)


def _derived(store: Path, generation: int) -> Iterator[Finding]:
    remedy = f"Run: overwinter assess {store} --all"
    try:
        files = manifest.read(store, generation)
    except (OSError, ValueError):
        what = f"The list of result files of generation {generation} cannot be read."
        yield Finding(level="damaged", what=what, remedy=remedy)
        return
    for path in sorted(path for listed in files.values() for path in listed.values()):
        if not results.readable(store / path):
            what = f"{path} is listed but cannot be read."
            yield Finding(level="damaged", what=what, remedy=remedy)


def _leftovers(store: Path) -> Iterator[Finding]:
    for folder in (READINGS, DERIVED):
        for path in sorted((store / folder).rglob(".*.tmp")):
            yield Finding(
                level="suspect",
                what=f"{path.relative_to(store)} was left by a write that was cut short.",
                remedy="It is not read. Delete it when no import is running.",
            )


def _settings(store: Path) -> list[Finding]:
    try:
        preferences.thresholds(store)
    except (OverwinterError, ValueError) as why:
        remedy = "Remove or correct it in the table settings."
        return [Finding(level="damaged", what=str(why), remedy=remedy)]
    return []
