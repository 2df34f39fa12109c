"""One off-season of one site, measured: what each layer and the profile gained and lost."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.model import Daily, Floats, Layer, OffSeason, Points, Season, Times
from analytics.settings import Settings
from analytics.soil.causes import CAUSES, Stretches, day_numbers, gains
from analytics.soil.emptying import emptied_by
from analytics.soil.fullness import NEVER, at_full, by_day, latest, latest_good
from analytics.soil.losses import moved_down, through_bottom, upward
from analytics.soil.profile import thickness_mm
from analytics.soil.spans import Ends, ends, read_until

Whole = NDArray[np.int64]
TRUSTED = ("learned", "provisional", "set")
"""States of a full point above which water may be said to drain."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Site:
    """What every off-season of one site is tallied from."""

    daily: Daily
    layers: tuple[Layer, ...]
    points: Mapping[int, Points]
    water: Floats  # (D, k) mm, the latest good state so far; NaN before the first
    full: Floats  # (D, k) mm
    full_at: Whole  # (D, k) day index last full; NEVER
    all_full_at: Whole  # (D,)
    cut: Stretches
    received: tuple[Whole, Floats]  # day numbers, mm
    told: Whole | None  # day numbers of which water is known; None: of all
    seasons: tuple[Season, ...]


def prepare(
    daily: Daily,
    layers: tuple[Layer, ...],
    points: Mapping[int, Points],
    *,
    cut: Stretches,
    received: pd.DataFrame,
    told_days: Times | None,
    seasons: tuple[Season, ...],
    settings: Settings,
) -> Site:
    """Lay out once what all off-seasons of a site are measured on.

    Parameters
    ----------
    daily : Daily
    layers : k Layer
    points : mapping of placement number to Points
    cut : Stretches
        Time cut at the site's wettings.
    received : DataFrame
        Columns date and mm.
    told_days : (n,) datetime64[D] or None
        As ``wetting.told_days`` lists them.
    seasons : tuple of Season
        The field's.
    settings : Settings
        Uses ``full_tolerance``.
    """
    good = latest_good(daily)
    thick = thickness_mm(layers)
    theta = np.take_along_axis(daily.state, np.maximum(good, 0), axis=0) if len(good) else good
    full_now = at_full(daily, points, settings)
    return Site(
        daily=daily,
        layers=layers,
        points=points,
        water=np.where(good == NEVER, np.nan, theta) * thick,
        full=by_day(daily, points, "full") * thick,
        full_at=latest(full_now, daily.placement),
        all_full_at=latest(np.all(full_now, axis=1)[:, None], daily.placement)[:, 0],
        cut=cut,
        received=(day_numbers(received["date"]), received["mm"].to_numpy(float)),
        told=None if told_days is None else told_days.astype(np.int64),
        seasons=seasons,
    )


def account(site: Site, off: OffSeason, settings: Settings) -> dict[str, NDArray]:
    """Measure one off-season: k layers, then the profile.

    Returns
    -------
    dict of str to (k + 1,) array
        The measured columns of the contract table ``tally``; mm, days and shares. ``to`` is
        the day up to which it was measured: the off-season's end, or of an open one whose
        probe fell silent the last day that was read.
    """
    until = read_until(site.daily, off, settings)
    span = ends(site.daily, off.start, until, settings)
    along = _along(site, span)
    steps, credit, credit_profile = (
        np.diff(along, axis=0),
        site.cut.credit,
        site.cut.credit_profile,
    )
    by_cause = gains(steps, np.column_stack([credit, credit_profile]))
    begun, ended = along[0], along[-1]
    got = _received(site, span, settings)
    loss = np.maximum(-steps, 0.0).sum(axis=0)
    down = np.append(moved_down(steps[:, :-1]), 0.0)
    drained = _drainage(site, span, along, settings)
    shown = {
        "start_mm": begun,
        "end_mm": ended,
        "change_mm": ended - begun,
        "loss_mm": loss,
        "loss_up_mm": upward(loss, down, drained),
        "loss_down_mm": down,
        "drainage_mm": drained,
        "received_mm": got,
        "storage_efficiency": _efficiency(ended - begun, got, settings),
        "largest_deficit_mm": _largest_deficit(site, span),
        **{f"gain_{cause}_mm": by_cause[number] for number, cause in enumerate(CAUSES)},
    }
    unseen = ~np.append(span.seen, span.seen.any())
    return {
        **{name: np.where(unseen, np.nan, values) for name, values in shown.items()},
        **_trust(site, off),
        "last_full": _last_full(site, span),
        **_emptied(site, span, settings),
        "to": np.repeat(np.datetime64(until, "us"), len(unseen)),
    }


def _along(site: Site, span: Ends) -> Floats:
    """Water (mm) at every cut of the off-season: (m + 1, k + 1), the profile last.

    Each layer's own start and end bound its cuts, so its steps add up to its change; the
    profile sums the layers seen at both ends, so its change is the sum of theirs.
    """
    k = len(site.layers)
    if not span.seen.any():
        return np.full((len(site.cut.edges) + 2, k + 1), np.nan)
    zero = site.daily.days[0].astype(np.int64)
    outer = (span.start[span.seen].min(), span.end[span.seen].max())
    edges = np.r_[outer[0], site.cut.edges - zero, outer[1]]
    at = np.clip(edges[:, None], span.start, span.end)
    water = site.water[at, np.arange(k)]
    whole = np.where(span.seen, water, 0.0).sum(axis=1)
    return np.column_stack([water, whole])


def _drainage(site: Site, span: Ends, along: Floats, settings: Settings) -> Floats:
    """Lower estimate of what drained from the bottom layer and the profile, mm; else NaN."""
    k = len(site.layers)
    lost = np.full(k + 1, np.nan)
    if not span.seen[-1]:
        return lost
    points = site.points.get(int(site.daily.placement[span.start[-1]]))
    if points is None or points.state[-1] not in TRUSTED:
        return lost
    deep = np.array([one.top_cm >= settings.drying_cm for one in site.layers]) & span.seen
    full_mm = float(site.full[span.start[-1], -1])
    lost[k - 1], lost[k] = through_bottom(along, full_mm, deep, ~site.cut.wetting)
    return lost


def _received(site: Site, span: Ends, settings: Settings) -> Floats:
    """Water received over each row, mm; NaN where too little of it is told.

    From the day of its start up to that before its end: both states are of before dawn.
    """
    k = len(site.layers)
    day, mm = site.received
    if not len(day) or not span.seen.any():
        return np.full(k + 1, np.nan)
    zero = site.daily.days[0].astype(np.int64)
    begun = np.append(span.start, span.start[span.seen].min())[:, None] + zero
    ended = np.append(span.end, span.end[span.seen].max())[:, None] + zero
    total = np.where((day >= begun) & (day < ended), mm, 0.0).sum(axis=1)
    outside = (ended[:, 0] <= day.min()) | (begun[:, 0] > day.max())
    if site.told is not None:
        first, last = (np.searchsorted(site.told, one[:, 0], "left") for one in (begun, ended))
        outside |= last - first < settings.received_seen * (ended - begun)[:, 0]
    return np.where(outside, np.nan, total)


def _efficiency(change: Floats, got: Floats, settings: Settings) -> Floats:
    share = np.full(change.shape, np.nan)
    if got[-1] >= settings.received_least_mm:
        share[-1] = change[-1] / got[-1]
    return share


def _largest_deficit(site: Site, span: Ends) -> Floats:
    """Largest shortfall since last full (else over the placement) to the row's end, mm."""
    k = len(site.layers)
    most = np.full(k + 1, np.nan)
    short = np.maximum(site.full - site.water, 0.0)
    for j in np.flatnonzero(span.seen):
        most[j] = _most(site, short[:, j], int(site.full_at[span.end[j], j]), int(span.end[j]))
    if span.seen.any():
        end = int(span.end[span.seen].max())
        whole = short[:, span.seen].sum(axis=1)
        most[k] = _most(site, whole, int(site.all_full_at[end]), end)
    return most


def _most(site: Site, short: Floats, since: int, end: int) -> float:
    part = slice(max(since, 0), end + 1)
    same = site.daily.placement[part] == site.daily.placement[end]
    return float(np.fmax.reduce(short[part][same]))


def _last_full(site: Site, span: Ends) -> NDArray:
    """Day each layer was last full as of its end; the profile's: all layers on one day."""
    k = len(site.layers)
    day = np.full(k + 1, np.datetime64("NaT"), dtype="datetime64[us]")
    for j in np.flatnonzero(span.seen):
        if site.full_at[span.end[j], j] != NEVER:
            day[j] = site.daily.days[site.full_at[span.end[j], j]]
    if span.seen.any():
        at = site.all_full_at[span.end[span.seen].max()]
        day[k] = site.daily.days[at] if at != NEVER else np.datetime64("NaT")
    return day


def _emptied(site: Site, span: Ends, settings: Settings) -> dict[str, NDArray]:
    """Name for each row the crop that took most since it was last full, and its harvest."""
    k = len(site.layers)
    crop = np.full(k + 1, None, dtype=object)
    day = np.full(k + 1, np.datetime64("NaT"), dtype="datetime64[us]")
    if not span.seen.any():
        return {"emptied_by": crop, "emptied_on": day}
    own, thick = np.flatnonzero(span.seen), thickness_mm(site.layers)
    last = span.end[own].max()
    found = emptied_by(
        np.column_stack([site.water[:, own], site.water[:, own].sum(axis=1)]),
        site.daily.placement, site.daily.days[0],
        since=np.append(site.full_at[span.end[own], own], site.all_full_at[last]),
        until=np.append(span.end[own], last), seasons=site.seasons,
        least_mm=settings.sensor_sd * np.append(thick[own], thick.sum()),
    )  # fmt: skip
    for j, one in zip([*own, k], found, strict=True):
        if one is not None:
            crop[j] = one.crop
            day[j] = np.datetime64(one.harvested_on or "NaT", "us")
    return {"emptied_by": crop, "emptied_on": day}


def _trust(site: Site, off: OffSeason) -> dict[str, NDArray]:
    """Frozen days, and the share of the off-season's layer-days with a good or held state."""
    daily = site.daily
    low, high = np.datetime64(off.start, "D"), np.datetime64(off.end, "D")
    part = (daily.days >= low) & (daily.days <= high)
    cold = (daily.frozen | daily.held)[part]
    known = (np.isfinite(daily.state) | daily.held)[part].sum(axis=0)
    share = known / ((off.end - off.start).days + 1)
    return {
        "frozen_days": np.append(cold.sum(axis=0), cold.any(axis=1).sum()).astype(np.int64),
        "coverage": np.append(share, share.mean()),
    }
