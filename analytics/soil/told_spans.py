"""Flagged spans and gaps as told before, carried on through a site's new days."""

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from analytics.model import Floats
from analytics.settings import Settings
from analytics.soil.days import DAY, HOUR, local_midnight
from analytics.soil.flags import Flag
from analytics.soil.gaps import find_gaps, flag_spans, in_utc
from analytics.soil.recent import CARRIED, ENDING, Recent, instant_of, naive


def flags_now(one: Recent, told: pd.DataFrame, settings: Settings) -> pd.DataFrame | None:
    """Lay the window's flagged spans behind those that ended before its new days.

    Parameters
    ----------
    one : Recent
    told : DataFrame
        The site's rows of the contract's ``flags``.
    settings : Settings

    Returns
    -------
    DataFrame or None
        All rows of the site. What was told of the new days and is not found in them any more,
        since other readings took the place of those that bore it, is gone. None where a lasting
        flag begins before the new days, of which the earlier assessment knew nothing, or where
        one that began before them no longer reaches them.
    """
    if not len(one.record.times):
        return told
    begins, opens = one.record.times[0], instant_of(one.fresh, one.placement)
    told_from, told_to = naive(told["from"]), naive(told["to"])
    if not one.flags[one.record.times >= opens].any() and not (told_to >= opens).any():
        return told
    reach = np.timedelta64(round(24 * settings.bridge_days), "h")
    found = flag_spans(one.record, one.flags, settings, since=opens)
    told_count = told["readings"].to_numpy(np.int64)
    late = np.flatnonzero(told_to >= begins)
    names = zip(told["depth_cm"].array[late], told["flag"].array[late], strict=True)
    earlier: dict[tuple[float, str], list[int]] = {}
    for row, key in zip(late.tolist(), names, strict=True):
        earlier.setdefault(key, []).append(row)
    begun, ended = naive(found["from"]), naive(found["to"])
    since, count = begun.copy(), found["readings"].to_numpy(np.int64).copy()
    gone = np.zeros(len(told), bool)
    for at, key in enumerate(zip(found["depth_cm"], found["flag"], strict=True)):
        same = [row for row in earlier.get(key, [])
                if told_from[row] <= ended[at] and told_to[row] >= begun[at]]  # fmt: skip
        gone[same] = True
        if not same and key[1] in (*CARRIED, *ENDING) and begun[at] < opens:
            return None
        if same and begun[at] <= begins + reach:
            first = min(same, key=lambda row: told_from[row])
            since[at] = told_from[first]
            count[at] = told_count[first] + _after(one, *key, told_to[first])
    over = ~gone & (told_to >= opens)
    if (over & (told_from < opens)).any():
        return None
    gone |= over
    found["from"], found["readings"] = in_utc(since), count
    return pd.concat([told[~gone], found], ignore_index=True)


def _after(one: Recent, depth_cm: float, name: str, until: np.datetime64) -> int:
    """Count a sensor's readings that carry a flag, after an instant."""
    sensor = int(np.argmin(np.abs(one.record.depths_cm - depth_cm)))
    carries = (one.flags[:, sensor] & np.uint16(Flag[name.upper()])) != 0
    return int((carries & (one.record.times > until)).sum())


def gaps_now(
    one: Recent, told: pd.DataFrame, as_of: date, settings: Settings
) -> pd.DataFrame | None:
    """Lay the window's gaps behind those that ended before its new days.

    Parameters
    ----------
    one : Recent
    told : DataFrame
        The site's rows of the contract's ``gaps``.
    as_of : date
    settings : Settings

    Returns
    -------
    DataFrame or None
        All rows of the site; None where a gap that began before the window has ended.
    """
    opens = instant_of(one.fresh, one.placement)
    end = local_midnight(as_of, one.placement.timezone)
    if not len(one.record.times):
        return _still_silent(told, opens, end)
    begins = one.record.times[0]
    inside = replace(one.placement, installed_on=_day_before(begins))
    found = find_gaps(one.record, one.flags, (inside,), as_of, settings, since=opens)
    over = naive(told["to"]) < opens
    if not len(found) and over.all():
        return told
    stays = told[over]
    long = naive(found["from"]) <= begins
    if not long.any():
        return pd.concat([stays, found], ignore_index=True)
    closed = long & (naive(found["to"]) != end)
    before = told[~over].drop_duplicates("depth_cm", keep="last")
    before = before.set_index("depth_cm")
    depths = found.loc[long, "depth_cm"]
    if closed.any() or not depths.isin(before.index).all():
        return None
    found.loc[long, "from"] = before.loc[depths, "from"].array
    found.loc[long, "reason"] = before.loc[depths, "reason"].to_numpy()
    found["hours"] = _hours(found)
    return pd.concat([stays, found], ignore_index=True)


def _day_before(instant: np.datetime64) -> date:
    return (instant - DAY).astype("datetime64[D]").item()


def _still_silent(told: pd.DataFrame, opens: np.datetime64, end: np.datetime64) -> pd.DataFrame:
    """Let a silent probe's gaps go on to the day of now."""
    now = told.copy()
    going = naive(now["to"]) >= opens
    now.loc[going, "to"] = pd.to_datetime(str(end), utc=True)
    now["hours"] = _hours(now)
    return now


def _hours(gaps: pd.DataFrame) -> Floats:
    wait: Any = naive(gaps["to"]) - naive(gaps["from"])
    return np.asarray(wait / HOUR, np.float64)
