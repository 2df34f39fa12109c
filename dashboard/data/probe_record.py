"""What the Record page reads and writes."""

import tempfile
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path
from typing import Any

import pandas as pd
import streamlit as st

from analytics.intake import Known, preview_of, read
from analytics.model import Delivery, Season
from analytics.store import edits, importing
from analytics.store.assessment import AssessReport, assess
from analytics.store.counts import Outcome
from analytics.store.troubles import troubles_on
from analytics.water.window import Window, installation_window
from dashboard.data import Store, _ask, _frame, _read, timezone, wall_times

Tell = Callable[[float, str], None]
WEEK_DAYS, YEAR_DAYS = 7, 366
YEAR_D, HALF_YEAR_D = 365, 182
LEAST_DAYS = 2
"""A week's cell shows what holds on at least so many of its days, the gravest first; ours."""


def probes(store: Store) -> pd.DataFrame:
    """Give one row a probe in the ground: stay, place, age, and how far its record reaches."""
    found = _read(store, "show_record_sites", date=_day(store))
    age = (pd.Timestamp(_day(store)) - found["installed_on"]).dt.days / 365.25
    return found.assign(age_years=age)


def troubles(store: Store) -> pd.DataFrame:
    """Give what is wrong, a row a sensor: site, kind, depth_cm, since (wall time), hours.

    A sensor that is silent while others of its probe report is ``mute``.
    """
    found = troubles_on(partial(_read, store), _day(store), store.settings)
    known = probes(store).set_index("site")
    silent = found["kind"] == "silent"
    quiet = found.loc[silent, "site"].map(found.loc[silent, "site"].value_counts())
    some = quiet < found.loc[silent, "site"].map(known["sensors"])
    kind = found["kind"].mask(some.reindex(found.index, fill_value=False), "mute")
    zones = known["timezone"]
    walls = pd.Series(pd.NaT, index=found.index, dtype="datetime64[us]")
    for zone, own in found["since"].groupby(found["site"].map(zones).fillna("UTC")):
        walls[own.index] = own.dt.tz_convert(str(zone)).dt.tz_localize(None)
    return found.assign(kind=kind, since=walls)


@st.cache_data(max_entries=8, show_spinner=False)
def _windows(
    path: str, generation: str, day: date, frost_month: int
) -> dict[str, Window | None]:
    sites = _frame(path, generation, "show_record_sites", date=day)
    frost = _frame(path, generation, "show_record_frost", date=day, month=frost_month)
    crops = _frame(path, generation, "show_record_seasons")
    usual = _usual_harvests(crops)
    grown: dict[str, list[Season]] = {}
    for one in _seasons(crops):
        grown.setdefault(one.field, []).append(one)
    frozen: dict[str, list[tuple[date, date]]] = {}
    winters = (frost["site"], frost["first_day"].dt.date, frost["last_day"].dt.date)
    for site, first, last in zip(*winters, strict=True):
        frozen.setdefault(str(site), []).append((first, last))
    return {
        site: installation_window(
            day, grown.get(field, []), frozen.get(site, []), usual, month=frost_month
        )
        for site, field in zip(sites["site"], sites["field"], strict=True)
    }


def windows(store: Store) -> dict[str, Window | None]:
    """Give each probe's next days without crop and frost, from its latest day on."""
    month = int(store.settings.frost_month)
    return _windows(str(store.path), store.generation, _day(store), month)


def _usual_harvests(crops: pd.DataFrame) -> dict[str, tuple[int, int]]:
    """Give each crop's middle day of harvest; December and January are neighbours."""
    known = crops[crops["harvested_on"].notna()]
    day = known["harvested_on"].dt.day_of_year
    first = day.groupby(known["crop"]).transform("first")
    near = first + (day - first + HALF_YEAR_D) % YEAR_D - HALF_YEAR_D
    middle = near.groupby(known["crop"]).median().round()
    days = pd.Timestamp("2001-01-01") + pd.to_timedelta((middle - 1) % YEAR_D, unit="D")
    return {str(crop): (one.month, one.day) for crop, one in days.items()}


def _seasons(crops: pd.DataFrame) -> list[Season]:
    return [
        Season(
            field=str(row["field"]), crop=str(row["crop"]), planted_on=row["planted_on"].date(),
            harvested_on=None if pd.isna(row["harvested_on"]) else row["harvested_on"].date(),
        )
        for row in crops.to_dict("records")
    ]  # fmt: skip


def coverage(store: Store, site: str, start: date, end: date) -> pd.DataFrame:
    """Give each sensor's record as runs: depth_cm, state, from, to.

    By the week, or by the day where the stretch is at most a year long.
    """
    daily = (end - start).days <= YEAR_DAYS
    return _ask(
        store, "show_record_coverage", site, start=start, date=end,
        bucket_days=1 if daily else WEEK_DAYS, least_days=1 if daily else LEAST_DAYS,
    )  # fmt: skip


def gaps(store: Store, site: str) -> pd.DataFrame:
    """Give the long gaps of one site in its wall time, newest first; brief ones counted."""
    found = _ask(store, "show_record_gaps", site, least_hours=store.settings.gap_shown_h)
    return wall_times(store, site, found)


def filled(store: Store, site: str) -> pd.DataFrame:
    """Give the gaps of one site that later files filled, in its wall time."""
    return wall_times(store, site, _read(store, "show_record_filled", site=site))


def spans(store: Store, site: str) -> pd.DataFrame:
    """Give the flagged spans of one site: ``from``, ``to`` UTC, and their wall time beside."""
    found = _ask(store, "show_record_flags", site)
    walls = wall_times(store, site, found)
    return found.assign(wall_from=walls["from"], wall_to=walls["to"])


def history(store: Store, site: str) -> pd.DataFrame:
    """Give every edit of one site's flags in its wall time, newest first; never kept over."""
    return wall_times(store, site, edits.history(store.path, site))


def depths(store: Store, site: str) -> list[float]:
    """Give the depths of one site's sensors, cm, shallowest first."""
    return list(_ask(store, "show_record_depths", site)["depth_cm"])


def edit(
    store: Store, site: str, depths_cm: list[float | None], tell: Tell, **said: Any
) -> dict[str, str]:
    """Keep an edit, then assess what it touches; give a sentence for each site that failed.

    ``depths_cm`` names the sensors it speaks of; None is every sensor.
    """
    edits.make(store.path, site, depths_cm=depths_cm, **said)
    return _again(store, store.as_of, tell).failed


def undo(store: Store, number: int, author: str, tell: Tell) -> dict[str, str]:
    """Take an edit back, then assess what it touches."""
    edits.undo(store.path, number, author)
    return _again(store, store.as_of, tell).failed


def instant(store: Store, site: str, wall: datetime) -> datetime:
    """Read a site's wall time; of an hour that comes twice the first is meant."""
    stamp = pd.Timestamp(wall).tz_localize(
        timezone(store, site), ambiguous=True, nonexistent="shift_forward"
    )
    return stamp.to_pydatetime()


def _again(store: Store, as_of: date | None, tell: Tell) -> AssessReport:
    with ThreadPoolExecutor(1) as pool:
        return assess(store.path, as_of, pool, progress=tell)


def received(name: str, content: bytes) -> Path:
    """Lay an uploaded file into a folder of its own, under its own name."""
    folder = Path(tempfile.mkdtemp(prefix="overwinter-"))
    path = folder / (Path(name).name or "file")
    path.write_bytes(content)
    return path


def known(store: Store) -> Known:
    """Give what the store knows that a file may refer to."""
    return importing.known(store.path)


def opening(
    store: Store, path: Path, known: Known, mapping: dict[str, Any] | None
) -> tuple[Delivery, pd.DataFrame]:
    """Read a file without taking it; with its first rows.

    Raises
    ------
    InputRefused
        When it cannot be taken.
    """
    delivery = importing.foreseen(store.path, read(path, known, mapping=mapping))
    if delivery.readings:
        return delivery, preview_of(delivery, known)
    return delivery, pd.DataFrame(next(iter(delivery.tables.values()))).head(10)


def take(store: Store, delivery: Delivery) -> Outcome:
    """Take a delivery into the store."""
    return importing.take(store.path, delivery)


def bring_up(store: Store, tell: Tell) -> AssessReport:
    """Assess what an import touched, as of today or the end of an archive."""
    return _again(store, None, tell)


def _day(store: Store) -> date:
    return store.as_of or datetime.now(UTC).date()
