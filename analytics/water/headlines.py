"""What must be said first about a site on a date, each with its evidence, worst first."""

import json
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.model import Bools, Floats, OffSeason, Season, Times
from analytics.settings import Settings
from analytics.soil.account import TRUSTED
from analytics.soil.fullness import NEVER
from analytics.water.emptied import Emptying, emptied_by
from analytics.water.picture import Picture, harvest_before, wettings_above

Evidence = dict[int, dict[str, object]]
"""Of one headline: what proves it, by number of the kept date it stands on."""

UPPER, DEEP, PROFILE = range(3)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Zones:
    """The figures of upper, deep and profile on n kept dates."""

    fill: Floats  # (n, 3)
    deficit_mm: Floats
    sd_mm: Floats
    full_on: Times  # (n, 3)


def headlines(
    one: Picture,
    zones: Zones,
    *,
    seasons: tuple[Season, ...],
    off_seasons: tuple[OffSeason, ...],
    wettings: pd.DataFrame,
    wetting_layers: pd.DataFrame,
    flags: pd.DataFrame,
    settings: Settings,
) -> list[str]:
    """Write each date's headlines as a JSON list of {"code", evidence}, worst first.

    Codes, by consequence: wet_on_top_dry_beneath, deep_not_refilled, draining_below,
    not_yet_seen_full, frozen_held, stale, settling, points_unsure. Numbers are in inside
    units (mm, cm, d, shares), dates ISO.

    Parameters
    ----------
    one : Picture
    zones : Zones
    seasons, off_seasons : tuples
        The field's.
    wettings, wetting_layers, flags : DataFrame
        Contract tables of this site.
    settings : Settings
        Uses zone_split_cm, wet_fill, dry_fill, emptied_least, full_tolerance,
        wetting_memory_days, follow_days, sensor_sd, stale_days.

    Returns
    -------
    list of n str
    """
    short = _short(one, settings)
    dry = _dry(one, settings)
    crop, emptier = emptied_by(one, seasons, short), emptied_by(one, seasons, dry)
    seen = _Seen(one, off_seasons, wettings, wetting_layers, settings)
    found = (
        (
            "wet_on_top_dry_beneath",
            _wet_on_top(one, zones, seen, dry=dry, crop=emptier, settings=settings),
        ),
        ("deep_not_refilled", _not_refilled(one, zones, short, crop)),
        ("draining_below", _draining(one, settings)),
        ("not_yet_seen_full", _not_yet_seen(one)),
        ("frozen_held", _frozen(one)),
        ("stale", _stale(one, settings)),
        ("settling", _settling(one, flags)),
        ("points_unsure", _unsure(one)),
    )
    said: list[list[dict[str, object]]] = [[] for _ in one.dates]
    for code, evidence in found:
        for at, proof in evidence.items():
            said[at].append({"code": code, **proof})
    return [json.dumps(lines) for lines in said]


class _Seen:
    """Wettings that stored water above the split since the last harvest (else of late)."""

    def __init__(
        self,
        one: Picture,
        off_seasons: tuple[OffSeason, ...],
        wettings: pd.DataFrame,
        wetting_layers: pd.DataFrame,
        settings: Settings,
    ) -> None:
        self.when, mm = wettings_above(wettings, wetting_layers, settings.zone_split_cm)
        harvest = harvest_before(one, off_seasons)
        memory = np.timedelta64(int(settings.wetting_memory_days), "D")
        since = np.where(np.isnat(harvest), one.dates - memory, harvest)
        self.first = np.searchsorted(self.when, since, side="left")
        self.last = np.searchsorted(self.when, one.dates, side="right")
        total = np.append(0.0, np.cumsum(mm))
        self.stored_mm = total[self.last] - total[self.first]
        self.any = self.last > self.first


def _short(one: Picture, settings: Settings) -> Bools:
    """Deep layers that are not at their full point now, (n, k)."""
    mark = one.full - settings.full_tolerance * (one.full - one.lower)
    return one.known & one.deep & (one.water < mark)


def _dry(one: Picture, settings: Settings) -> Bools:
    """Deep layers that stand dry and once really held more, (n, k).

    Dry by its points alone is not enough: a clay whose texture promises more than the layer
    ever holds, or sand at its usual level, is no news. What it held was read in this
    placement, however far back.
    """
    holds = np.where(one.full > one.lower, one.full - one.lower, np.nan)
    low = (one.water - one.lower) / holds < settings.dry_fill
    emptied = one.most - one.water >= settings.emptied_least * one.thick
    return one.known & one.deep & low & emptied


def _wet_on_top(
    one: Picture, zones: Zones, seen: _Seen, *, dry: Bools, crop: Emptying, settings: Settings
) -> Evidence:
    """Upper soil wet after water was seen moving through it, a deep layer still empty.

    A deep layer counts as empty if it stands dry though it once held more: no water has
    refilled it since the crop that emptied it, however many seasons ago. One at its usual
    level is no news, however wet the top.
    """
    lacking = np.where(dry, one.full - one.water, 0.0) * one.share[DEEP]
    fires = (zones.fill[:, UPPER] >= settings.wet_fill) & seen.any & dry.any(axis=1)
    fires &= lacking.sum(axis=1) > np.nan_to_num(zones.sd_mm[:, DEEP])
    return {
        at: {
            "upper_fill": _round(zones.fill[at, UPPER]),
            "deep_fill": _round(zones.fill[at, DEEP]),
            "short_mm": _round(zones.deficit_mm[at, DEEP]),
            "sd_mm": _round(zones.sd_mm[at, DEEP]),
            "wettings": int(seen.last[at] - seen.first[at]),
            "stored_above_mm": _round(seen.stored_mm[at]),
            "last_wetting": str(seen.when[seen.last[at] - 1]),
            **_since(one, dry, at),
            **_crop(crop, at),
        }
        for at in _where(fires)
    }


def _not_refilled(one: Picture, zones: Zones, short: Bools, crop: Emptying) -> Evidence:
    """Deep layers that were full once on record and are short by more than the error."""
    once = short & ~np.isnat(one.full_on)
    by_layer = np.where(once, one.full - one.water, 0.0) * one.share[1]
    lacking = by_layer.sum(axis=1)
    fires = once.any(axis=1) & (lacking > zones.sd_mm[:, DEEP])
    return {
        at: {"short_mm": _round(lacking[at]), "sd_mm": _round(zones.sd_mm[at, DEEP]),
             **_since(one, once, at), **_crop(crop, at)}
        for at in _where(fires)
    }  # fmt: skip


def _since(one: Picture, layers: Bools, at: int) -> dict[str, object]:
    """Depths of the layers and the oldest day one of them was last full (null: never seen)."""
    own = layers[at]
    full_on = one.full_on[at][own]
    never = np.isnat(full_on)
    return {
        "depths_cm": _depths(one, own),
        "since": None if never.all() else str(full_on[~never].min()),
        "never_full_cm": _depths(one, own & np.isnat(one.full_on[at])),
    }


def _crop(crop: Emptying, at: int) -> dict[str, object]:
    season = crop.season[at]
    if season is None:
        return {"crop": None}
    harvested = season.harvested_on
    return {
        "crop": season.crop,
        "planted_on": season.planted_on.isoformat(),
        "harvested_on": harvested.isoformat() if harvested is not None else None,
        "taken_mm": _round(crop.fall_mm[at]),
    }


def _draining(one: Picture, settings: Settings) -> Evidence:
    """Tell where the bottom layer stands above its full point and falls: water is leaving."""
    above = (one.water - one.full)[:, -1]
    least = settings.full_tolerance * (one.full - one.lower)[:, -1]
    back = int(settings.follow_days)
    before = one.good[np.maximum(one.day - back, 0), -1]
    earlier = np.where(before == NEVER, np.nan, one.daily.state[before, -1]) * one.thick[-1]
    earlier = np.where(one.daily.placement[before] == one.placement, earlier, np.nan)
    fell = earlier - one.water[:, -1]
    trusted = np.array([states is not None and states[-1] in TRUSTED for states in one.states])
    fresh = one.age[:, -1] <= settings.stale_days
    noise = settings.sensor_sd * one.thick[-1]
    fires = trusted & fresh & (above > least) & (fell > noise)
    depth = one.layers[-1].depth_cm
    return {
        at: {"depth_cm": depth, "above_mm": _round(above[at]), "fell_mm": _round(fell[at]),
             "days": back}
        for at in _where(fires)
    }  # fmt: skip


def _not_yet_seen(one: Picture) -> Evidence:
    """Deep layers whose full point was never seen: a texture stands in for it."""
    depths = {
        states: _depths(one, one.deep & np.array([state == "not_yet_seen" for state in states]))
        for states in one.known_states
    }
    return {
        at: {"depths_cm": depths[states]}
        for at, states in enumerate(one.states)
        if states is not None and depths[states]
    }


def _frozen(one: Picture) -> Evidence:
    """Layers whose water is held at its last unfrozen value, and since when any was."""
    days = np.arange(len(one.daily.days))
    free = np.maximum.accumulate(np.where(one.daily.held.any(axis=1), -1, days))
    begun = one.daily.days[np.minimum(free + 1, len(days) - 1)]
    return {
        at: {"top_cm": min(layer.top_cm for layer in _members(one, one.held[at])),
             "bottom_cm": max(layer.bottom_cm for layer in _members(one, one.held[at])),
             "since": str(begun[one.day[at]])}
        for at in _where(np.any(one.held, axis=1))
    }  # fmt: skip


def _stale(one: Picture, settings: Settings) -> Evidence:
    """Layers not read for longer than stale_days; ``whole`` when all of them are."""
    old = np.nan_to_num(one.age, nan=np.inf) > settings.stale_days
    out: Evidence = {}
    for at in _where(np.any(old, axis=1)):
        ages = one.age[at][old[at] & one.known[at]]
        out[at] = {
            "days": int(ages.max()) if len(ages) else None,
            "depths_cm": _depths(one, old[at]),
            "whole": bool(old[at].all()),
        }
    return out


def _settling(one: Picture, flags: pd.DataFrame) -> Evidence:
    """Layers that still settle in their hole, by the flags; ``whole`` when all of them do."""
    spans = flags[flags["flag"] == "settling"]
    begun, ended = (spans[name].to_numpy("datetime64[D]") for name in ("from", "to"))
    day = one.daily.days[one.day][:, None]
    now = (begun <= day) & (day <= ended)  # (n, spans)
    depths = np.array([layer.depth_cm for layer in one.layers])
    layers = depths == spans["depth_cm"].to_numpy(np.float64)[:, None]  # (spans, k)
    settling = now @ layers
    return {
        at: {"depths_cm": _depths(one, settling[at]), "whole": bool(settling[at].all())}
        for at in _where(settling.any(axis=1))
    }


def _unsure(one: Picture) -> Evidence:
    """More than half of the deep soil is judged against points neither learned nor set."""
    part = one.share[DEEP] * one.thick
    whole = float(part.sum())
    if not whole:
        return {}
    unsure = {
        states: float(part[[state not in {"learned", "set"} for state in states]].sum()) / whole
        for states in one.known_states
    }
    most = 0.5  # "more than half" is the headline's meaning, not a threshold to set
    return {
        at: {"share": _round(unsure[states])}
        for at, states in enumerate(one.states)
        if states is not None and unsure[states] > most
    }


def _members(one: Picture, own: Bools) -> list:
    return [layer for layer, inside in zip(one.layers, own, strict=True) if inside]


def _depths(one: Picture, own: Bools) -> list[float]:
    return [layer.depth_cm for layer in _members(one, own)]


def _where(fires: Bools) -> Iterator[int]:
    return iter(np.flatnonzero(fires).tolist())


def _round(value: float) -> float | None:
    return round(float(value), 2) if np.isfinite(value) else None
