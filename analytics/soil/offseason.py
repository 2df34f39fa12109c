"""The off-season: from harvest to the next planting, and what it did to each layer."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.model import Daily, Floats, Layer, OffSeason, Points, Season
from analytics.settings import Settings
from analytics.soil.causes import CAUSES, Stretches, day_numbers, gains, stretches
from analytics.soil.fullness import NEVER, at_full, by_day, last_full, latest, latest_good
from analytics.soil.profile import thickness_mm
from analytics.soil.spans import Ends, ends

__all__ = ["last_full", "off_seasons", "tally"]

Whole = NDArray[np.int64]
TRUSTED = ("learned", "provisional", "set")
"""States of a full point above which water may be said to drain."""


def off_seasons(
    field: str, seasons: tuple[Season, ...], first_day: date, as_of: date
) -> tuple[OffSeason, ...]:
    """List a field's off-seasons that some of the record can speak for.

    Each runs from a harvest to the next planting, or to ``as_of`` while that planting is
    still to come or unknown (``open``). None starts under a crop that still stands (a crop
    planted before its forerunner's harvest). A season without a harvest date is taken to
    stand until the next planting, and none is invented after it.

    Parameters
    ----------
    field : str
        Which field; seasons of others are passed over.
    seasons : tuple of Season
        In any order.
    first_day, as_of : date
        First day of the record, and today.
    """
    own = sorted((one for one in seasons if one.field == field), key=lambda one: one.planted_on)
    found: dict[date, OffSeason] = {}
    for one in own:
        start = one.harvested_on
        if start is None or start >= as_of or _under_crop(start, own):
            continue
        coming = next((other for other in own if other.planted_on > start), None)
        planted = coming.planted_on if coming is not None else None
        still = planted is None or planted > as_of
        end = as_of if planted is None or still else planted
        if end > first_day:
            found[start] = OffSeason(
                field=field, start=start, end=end, crop_before=one.crop,
                crop_next=coming.crop if coming is not None else None, open=still,
            )  # fmt: skip
    return tuple(found[start] for start in sorted(found))


def _under_crop(day: date, own: list[Season]) -> bool:
    """Say whether a crop stands on a day once that day's harvest is in."""
    for one, following in zip(own, [*own[1:], None], strict=True):
        until = one.harvested_on or (
            following.planted_on if following is not None else date.max
        )
        if one.planted_on <= day < until:
            return True
    return False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Site:
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


def tally(  # noqa: PLR0917 - one argument a table it reads
    daily: Daily,
    layers: tuple[Layer, ...],
    off_seasons: tuple[OffSeason, ...],
    points: Mapping[int, Points],
    wettings: pd.DataFrame,
    wetting_layers: pd.DataFrame,
    received: pd.DataFrame,
    settings: Settings,
) -> pd.DataFrame:
    """Tally each off-season: one row a layer, and one for the profile (depth_cm NaN).

    Each row's net change over every stretch of time (see ``causes.stretches``) is a gain of
    that stretch's cause if it rises and a loss if it falls, so gains less loss are the
    change exactly. The profile is judged on its own water, the sum over the layers seen at
    both ends: what moves from layer to layer within it is neither gained nor lost there.
    ``drainage_mm`` is the part of the loss by which the bottom layer declined while above
    its full point, outside wetting windows: a lower estimate, NaN unless that point was
    learned, provisional or set. ``received_mm`` sums water over (start, end]; NaN where no
    water is on record at all. ``storage_efficiency`` = change / received, the precipitation
    storage efficiency of fallow studies (e.g. Tanaka & Aase 1987), profile row only.

    Parameters
    ----------
    daily : Daily
        The site's days.
    layers : tuple of Layer, length k
        Shallowest first.
    off_seasons : tuple of OffSeason
        As ``off_seasons`` lists them.
    points : mapping of placement number to Points
        Points in force.
    wettings, wetting_layers : DataFrame
        Contract tables of this site.
    received : DataFrame
        Columns date and mm: water that reached the field.
    settings : Settings
        Uses tally_reach_days, follow_days, trickle_days, received_least_mm, full_tolerance.

    Returns
    -------
    DataFrame
        Contract table ``tally``; mm NaN and coverage 0 (or what was seen) where the ends of
        an off-season were not read, or lie in different placements.
    """
    cut = stretches(wettings, wetting_layers, daily.depths_cm, settings)
    site = _prepare(daily, layers, points, cut=cut, received=received, settings=settings)
    parts = [_rows(site, off, settings) for off in off_seasons]
    count = len(layers) + 1
    crops = np.array([off.crop_before for off in off_seasons], dtype=object)
    frame = {
        "field": np.repeat(np.array([off.field for off in off_seasons], dtype=object), count),
        "site": daily.site,
        "from": _dates([off.start for off in off_seasons], count),
        "to": _dates([off.end for off in off_seasons], count),
        "depth_cm": np.tile([*(one.depth_cm for one in layers), np.nan], len(parts)),
        **{name: np.concatenate([part[name] for part in parts] or [empty])
           for name, empty in _EMPTY.items()},
        "crop": np.repeat(crops, count),
        "open": np.repeat(np.array([off.open for off in off_seasons], dtype=bool), count),
        "top_cm": np.tile([*(one.top_cm for one in layers), layers[0].top_cm], len(parts)),
        "bottom_cm": np.tile([*(one.bottom_cm for one in layers), layers[-1].bottom_cm],
                             len(parts)),
    }  # fmt: skip
    table = pd.DataFrame(frame).astype({"field": "str", "site": "str", "crop": "str"})
    return table[_ORDER]


_NUMBERS = (
    "start_mm", "end_mm", "change_mm", *(f"gain_{cause}_mm" for cause in CAUSES), "loss_mm",
    "drainage_mm", "received_mm", "storage_efficiency", "coverage", "largest_deficit_mm",
)  # fmt: skip
_EMPTY: dict[str, NDArray] = {
    **{name: np.zeros(0) for name in _NUMBERS},
    "frozen_days": np.zeros(0, dtype=np.int64),
    "last_full": np.zeros(0, dtype="datetime64[us]"),
}
_ORDER = [
    "field", "site", "from", "to", "depth_cm", *_NUMBERS[:-2], "frozen_days", "coverage",
    "last_full", "crop", "open", "top_cm", "bottom_cm", "largest_deficit_mm",
]  # fmt: skip


def _dates(days: list[date], count: int) -> NDArray:
    return np.repeat(np.array(days, dtype="datetime64[D]").astype("datetime64[us]"), count)


def _prepare(
    daily: Daily,
    layers: tuple[Layer, ...],
    points: Mapping[int, Points],
    *,
    cut: Stretches,
    received: pd.DataFrame,
    settings: Settings,
) -> _Site:
    good = latest_good(daily)
    thick = thickness_mm(layers)
    theta = np.take_along_axis(daily.state, np.maximum(good, 0), axis=0) if len(good) else good
    full_now = at_full(daily, points, settings)
    return _Site(
        daily=daily,
        layers=layers,
        points=points,
        water=np.where(good == NEVER, np.nan, theta) * thick,
        full=by_day(daily, points, "full") * thick,
        full_at=latest(full_now, daily.placement),
        all_full_at=latest(np.all(full_now, axis=1)[:, None], daily.placement)[:, 0],
        cut=cut,
        received=(day_numbers(received["date"]), received["mm"].to_numpy(float)),
    )


def _rows(site: _Site, off: OffSeason, settings: Settings) -> dict[str, NDArray]:
    """All columns that are measured, for one off-season: k layers, then the profile."""
    span = ends(site.daily, off.start, off.end, settings)
    along = _along(site, span)
    steps, credit, credit_profile = (
        np.diff(along, axis=0),
        site.cut.credit,
        site.cut.credit_profile,
    )
    by_cause = gains(steps, np.column_stack([credit, credit_profile]))
    begun, ended = along[0], along[-1]
    got = _received(site, span)
    shown = {
        "start_mm": begun,
        "end_mm": ended,
        "change_mm": ended - begun,
        "loss_mm": np.maximum(-steps, 0.0).sum(axis=0),
        "drainage_mm": _drainage(site, span, along),
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
    }


def _along(site: _Site, span: Ends) -> Floats:
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


def _drainage(site: _Site, span: Ends, along: Floats) -> Floats:
    """Decline of the bottom layer above its full point, outside wetting windows, mm."""
    k = len(site.layers)
    lost = np.full(k + 1, np.nan)
    if not span.seen[-1]:
        return lost
    points = site.points.get(int(site.daily.placement[span.start[-1]]))
    if points is None or points.state[-1] not in TRUSTED:
        return lost
    above = np.maximum(along[:, k - 1], site.full[span.start[-1], -1])
    fell = np.where(site.cut.wetting, 0.0, np.maximum(-np.diff(above), 0.0))
    lost[k - 1] = fell.sum()
    lost[k] = np.minimum(fell, np.maximum(-np.diff(along[:, k]), 0.0)).sum()
    return lost


def _received(site: _Site, span: Ends) -> Floats:
    """Water received over (start, end] of each row, mm; NaN without any water on record."""
    k = len(site.layers)
    day, mm = site.received
    if not len(day) or not span.seen.any():
        return np.full(k + 1, np.nan)
    zero = site.daily.days[0].astype(np.int64)
    begun = np.append(span.start, span.start[span.seen].min())[:, None] + zero
    ended = np.append(span.end, span.end[span.seen].max())[:, None] + zero
    return np.where((day > begun) & (day <= ended), mm, 0.0).sum(axis=1)


def _efficiency(change: Floats, got: Floats, settings: Settings) -> Floats:
    share = np.full(change.shape, np.nan)
    if got[-1] >= settings.received_least_mm:
        share[-1] = change[-1] / got[-1]
    return share


def _largest_deficit(site: _Site, span: Ends) -> Floats:
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


def _most(site: _Site, short: Floats, since: int, end: int) -> float:
    part = slice(max(since, 0), end + 1)
    same = site.daily.placement[part] == site.daily.placement[end]
    return float(np.fmax.reduce(short[part][same]))


def _last_full(site: _Site, span: Ends) -> NDArray:
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


def _trust(site: _Site, off: OffSeason) -> dict[str, NDArray]:
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
