"""One site's new readings in, the rows that they change out; all else stands as it was told.

What is learned (points, drift, roots' reach, the grades of past forecasts) moves with seasons,
not with nights: it waits for the next whole assessment (:mod:`analytics.assess`), and with it
whatever :mod:`analytics.soil.recent` will not judge from the last weeks alone.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.assess import daily_frame
from analytics.model import Daily, Layer, OffSeason, Season, SiteInputs
from analytics.settings import Settings
from analytics.soil.frost import frost_told
from analytics.soil.hours import hours_of
from analytics.soil.offseason import last_full, off_seasons, standing_winters, tally
from analytics.soil.points import points_of
from analytics.soil.profile import resolve_layers
from analytics.soil.recent import Known, Recent, naive, recent, since_day
from analytics.soil.roots import uptake
from analytics.soil.told_spans import flags_now, gaps_now
from analytics.soil.wetting import find_wettings, received_water, told_days
from analytics.water.readiness import kept_dates, readiness

BEFORE = np.timedelta64(60, "D")
"""Days before a record's first whose water may still show in it, and more."""
DATED = ("daily", "frost", "readiness", "uptake")
"""Tables of which only the rows from the night's first day on are given."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Night:
    """What a night's readings change.

    Attributes
    ----------
    fresh : datetime64[D]
        Rows of ``DATED`` tables from this day on give way to those in ``tables``.
    tables : dict of str to DataFrame
        By name of the contract; ``flags``, ``gaps``, ``wettings`` and ``wetting_layers`` only
        where the new days change them.
    daily : Daily
        All days known now, as far as later steps need them.
    layers : tuple of Layer
    received : DataFrame
        Water received: date, kind, mm.
    kept : (n,) datetime64[D]
        Days whose readiness is kept.
    """

    fresh: np.datetime64
    tables: dict[str, pd.DataFrame]
    daily: Daily
    layers: tuple[Layer, ...]
    received: pd.DataFrame
    kept: NDArray[np.datetime64]


def assess_night(
    inputs: SiteInputs, known: Known, since: date, settings: Settings
) -> Night | None:
    """Work out what the readings since a day change at one site.

    Parameters
    ----------
    inputs : SiteInputs
        Its record need not reach back further than ``recent.first_read(since)``.
    known : Known
        What its last assessment told.
    since : date
        The first day that a new reading speaks of, not after the one that follows
        ``known.as_of``.
    settings : Settings

    Returns
    -------
    Night or None
        None where the site has to be assessed whole.
    """
    if not len(known.daily.days) or _turned(inputs.seasons, known.as_of, inputs.as_of):
        return None
    inputs = replace(inputs, weather=_of_record(inputs.weather, known.daily))
    received = received_water(inputs.water, inputs.weather)
    now = recent(inputs, received, known, since, settings)
    if now is None:
        return None
    flags = flags_now(now, known.tables["flags"], settings)
    gaps = gaps_now(now, known.tables["gaps"], inputs.as_of, settings)
    if flags is None or gaps is None:
        return None
    record = inputs.record
    layers = resolve_layers(record.site, record.depths_cm, inputs.layers, inputs.soil)
    wettings, reached = _wettings(now, layers, received, known.tables, settings)
    told = {"flags": flags, "gaps": gaps, "wettings": wettings, "wetting_layers": reached}
    return _night(inputs, known, now, layers, received, told, settings)


def _of_record(weather: pd.DataFrame, daily: Daily) -> pd.DataFrame:
    """Leave out what a station read long before the probe: it has no part in its days."""
    return _some(weather, weather["date"].to_numpy() >= daily.days[0] - BEFORE)


def _night(  # noqa: PLR0917 - each is a record of its own kind
    inputs: SiteInputs, known: Known, now: Recent, layers: tuple[Layer, ...],
    received: pd.DataFrame, told: dict[str, pd.DataFrame], settings: Settings,
) -> Night:  # fmt: skip
    whole, since = now.whole, now.fresh.astype("datetime64[D]").item()
    part = since_day(now.part, now.fresh)
    number = int(whole.placement[-1])
    points = {number: points_of(known.tables["limits"], layers, number)}
    wettings, wetting_layers = told["wettings"], told["wetting_layers"]
    winters = off_seasons(
        inputs.field, inputs.seasons, whole.days[0].astype("datetime64[D]").item(), inputs.as_of
    )
    return Night(
        fresh=now.fresh, daily=whole, layers=layers, received=received,
        kept=kept_dates(whole, inputs.seasons, inputs.as_of),
        tables={
            **{name: rows for name, rows in told.items() if rows is not known.tables[name]},
            "daily": daily_frame(part),
            "frost": frost_told(part, inputs.weather, settings),
            "tally": tally(
                whole, layers, _going_on(inputs, winters, since, settings), points, wettings,
                wetting_layers, received, settings, inputs.seasons,
                told_days(inputs.water, inputs.weather),
            ),
            "readiness": readiness(
                whole, layers, points, inputs.seasons, winters, wettings, wetting_layers,
                last_full(whole, points, settings), inputs.field, inputs.as_of, settings, since,
                flags=told["flags"], root_limit_cm=inputs.root_limit_cm,
            ),
            "uptake": _uptake(inputs, known, now, layers, settings),
        },
    )  # fmt: skip


def _turned(seasons: tuple[Season, ...], known: date, as_of: date) -> bool:
    """Ask whether a crop was planted or harvested since the last assessment."""
    turns = [day for one in seasons for day in (one.planted_on, one.harvested_on) if day]
    return any(known < day <= as_of for day in turns)


def _wettings(
    now: Recent, layers: tuple[Layer, ...], received: pd.DataFrame,
    told: Mapping[str, pd.DataFrame], settings: Settings,
) -> tuple[pd.DataFrame, pd.DataFrame]:  # fmt: skip
    """Lay the wettings that new days may still change behind those that are over.

    Where they are what was told, as on most nights, what was told is given.
    """
    reach = int(settings.follow_days + settings.steady_days) + 1
    since = now.fresh - np.timedelta64(reach, "D")
    hours = hours_of(now.record, now.flags, (now.placement,), settings)
    found, reached = find_wettings(now.whole, layers, received, settings, hours, since=since)
    after = _ended(found, reached, since, late=True)
    known = _ended(told["wettings"], told["wetting_layers"], since, late=True)
    if all(_alike(*pair) for pair in zip(known, after, strict=True)):
        return told["wettings"], told["wetting_layers"]
    before = _ended(told["wettings"], told["wetting_layers"], since, late=False)
    return _both(before[0], after[0]), _both(before[1], after[1])


def _alike(one: pd.DataFrame, other: pd.DataFrame) -> bool:
    """Ask whether two frames of one site tell the same, read back or just made."""
    names = [name for name in other if name != "site"]
    return len(one) == len(other) and all(_same(one[name], other[name]) for name in names)


def _same(one: pd.Series, other: pd.Series) -> bool:
    """Ask whether two columns hold the same, or nothing in the same places."""
    own, its = (naive(c) if c.dtype.kind == "M" else c.to_numpy() for c in (one, other))
    return bool(((own == its) | ((own != own) & (its != its))).all())  # noqa: PLR0124


def _ended(
    wettings: pd.DataFrame, layers: pd.DataFrame, day: np.datetime64, *, late: bool
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Give the wettings, and their layers, that ended before a day, or those that did not."""
    kept = (wettings["end"].to_numpy("datetime64[D]") >= day) == late
    if kept.all():
        return wettings, layers
    starts = wettings["start"].to_numpy()
    own = np.isin(layers["start"].to_numpy(), starts[kept])
    return _some(wettings, kept), _some(layers, own)


def _some(frame: pd.DataFrame, kept: NDArray[np.bool_]) -> pd.DataFrame:
    """Give some rows, without a copy where they lie side by side, as rows by date mostly do."""
    rows = np.flatnonzero(kept)
    if not len(rows):
        return frame.iloc[:0]
    whole = slice(int(rows[0]), int(rows[-1]) + 1)
    return frame.iloc[whole] if whole.stop - whole.start == len(rows) else frame[kept]


def _both(before: pd.DataFrame, after: pd.DataFrame) -> pd.DataFrame:
    parts = [one for one in (before, after) if len(one)]
    if len(parts) > 1:
        return pd.concat(parts, ignore_index=True)
    return (parts or [after])[0].reset_index(drop=True)


def _going_on(
    inputs: SiteInputs, winters: tuple[OffSeason, ...], since: date, settings: Settings
) -> tuple[OffSeason, ...]:
    """Give the off-seasons, and winters under a crop, that reach into the new days."""
    first: date = since - timedelta(days=365)
    standing = standing_winters(inputs.field, inputs.seasons, first, inputs.as_of, settings)
    reach = timedelta(days=int(settings.tally_reach_days))
    return tuple(one for one in (*winters, *standing) if one.end + reach >= since)


def _uptake(
    inputs: SiteInputs, known: Known, now: Recent, layers: tuple[Layer, ...], settings: Settings
) -> pd.DataFrame:
    """Tell what roots took on the new days; which layers they reach is known from before."""
    begin, end = now.fresh.astype("datetime64[D]").item(), inputs.as_of
    standing = tuple(
        one for one in inputs.seasons
        if one.planted_on <= end and (one.harvested_on is None or one.harvested_on >= begin)
    )  # fmt: skip
    zone = now.placement.timezone
    took = uptake(now.record, now.flags, now.part, layers, standing, zone, settings)
    if took.empty:
        return took
    took = took[took["date"].to_numpy("datetime64[D]") >= now.fresh].reset_index(drop=True)
    return took.assign(rooted=took["depth_cm"].isin(known.rooted_cm))
