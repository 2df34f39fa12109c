"""What each layer and zone holds on every kept date, against what it could hold."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.model import Bools, Daily, Floats, Layer, OffSeason, Points, Season, Times
from analytics.settings import Settings
from analytics.soil.profile import floor_of
from analytics.water.classes import CLASSES, classify
from analytics.water.headlines import Zones, headlines
from analytics.water.picture import ZONES, Picture, full_together, left_by_crop, picture

_Bounds = tuple[list[float], list[float]]

KEPT_DAILY_DAYS = 30
"""The last days are kept one by one; a choice of what to store, no threshold."""
WEEK = np.timedelta64(7, "D")
FIRST_MONDAY = np.datetime64("1970-01-05", "D")


def kept_dates(daily: Daily, seasons: tuple[Season, ...], as_of: date) -> Times:
    """List the dates whose readiness is kept.

    Every Monday of the record, every planting and harvest within it, each of the last 30
    days, none after ``as_of``; and ``as_of`` itself always, even after the record's end.

    Returns
    -------
    (n,) datetime64[D]
        Ascending, none twice; only ``as_of`` for an empty record.
    """
    today = np.datetime64(as_of, "D")
    if not len(daily.days):
        return np.array([today])
    first, last = daily.days[0], min(daily.days[-1], today)
    mondays = np.arange(first + (FIRST_MONDAY - first) % WEEK, last + 1, 7)
    marks = [day for one in seasons for day in (one.planted_on, one.harvested_on) if day]
    turns = np.array(marks, dtype="datetime64[D]")
    recent = np.arange(max(first, last - KEPT_DAILY_DAYS + 1), last + 1)
    every = np.concatenate([mondays, turns[(turns >= first) & (turns <= last)], recent])
    return np.unique(np.append(every, today))


def readiness(  # noqa: PLR0917 - one argument a table it reads
    daily: Daily,
    layers: tuple[Layer, ...],
    points: Mapping[int, Points],
    seasons: tuple[Season, ...],
    off_seasons: tuple[OffSeason, ...],
    wettings: pd.DataFrame,
    wetting_layers: pd.DataFrame,
    full_days: Times,
    field: str,
    as_of: date,
    settings: Settings,
    since: date | None = None,
    *,
    flags: pd.DataFrame,
    root_limit_cm: float | None = None,
) -> pd.DataFrame:
    """Sum up every kept date: zones upper, deep and profile, then each layer.

    A layer's state is that day's, else its latest good one in the same placement, however
    old: ``read_on`` is the oldest such day in the zone and ``seen`` the share of the zone's
    thickness read within ``stale_days``. A zone's figures cover the layers that have a
    state; ``seen`` tells. ``deficit_mm`` sums each layer's max(full - water, 0): a surplus
    in one layer fills no other. ``fill`` = (water - lower) / (full - lower) on the zone's
    sums, not clipped.

    ``sd_mm`` is the deficit's: sensor noise and the full points' spread in quadrature over
    the layers, but texture values first added straight among themselves, since one texture
    guess errs the same way throughout (methods.md 9). The fill's error adds the lower
    points' likewise, to first order: with A = full - lower, sd^2 A^2 = s_water^2 +
    fill^2 s_full^2 + (1 - fill)^2 s_lower^2 (Taylor, e.g. JCGM 100:2008, eq. 10).
    ``last_full`` of a zone is the last day on which all its layers were full together.
    ``left_mm`` is what the last harvested crop left.

    Parameters
    ----------
    daily : Daily
    layers : k Layer
    points : mapping of placement number to Points
    seasons, off_seasons : tuples
        The field's.
    wettings, wetting_layers : DataFrame
        Contract tables of this site.
    full_days : (D, k) datetime64[D]
        As ``offseason.last_full`` gives them.
    field : str
    as_of : date
    settings : Settings
        Uses zone_split_cm, sensor_sd, stale_days, and what ``headlines`` uses.
    since : date, optional
        Only kept dates from this one on.
    flags : DataFrame
        Contract table of this site; those of settling are told.
    root_limit_cm : float, optional
        Depth of a layer that roots cannot pass: the zones end there, the layers do not.

    Returns
    -------
    DataFrame
        Contract table ``readiness``, (3 + k) rows a kept date; empty for an empty record.
    """
    bounds = _bounds(layers, settings.zone_split_cm, root_limit_cm)
    dates = kept_dates(daily, seasons, as_of)
    dates = dates[dates >= daily.days[0]] if len(daily.days) else dates[:0]
    if since is not None:
        dates = dates[dates >= np.datetime64(since, "D")]
    if not len(dates):
        return _frame({}, (field, daily.site), dates, layers, bounds)
    one = picture(
        daily, layers, points, full_days=full_days, dates=dates, settings=settings,
        root_limit_cm=root_limit_cm,
    )  # fmt: skip
    sums = _sums(one, settings)
    left = _left(one, left_by_crop(one, off_seasons, settings))
    zones = Zones(
        fill=sums["fill"][:, :3], deficit_mm=sums["deficit_mm"][:, :3],
        sd_mm=sums["sd_mm"][:, :3], full_on=full_together(one, full_days),
    )  # fmt: skip
    texts = headlines(
        one, zones, seasons=seasons, off_seasons=off_seasons, wettings=wettings,
        wetting_layers=wetting_layers, flags=flags, settings=settings,
    )  # fmt: skip
    columns: dict[str, NDArray] = {
        **sums,
        "basis": _basis(one),
        "last_full": np.hstack([zones.full_on, one.full_on]),
        "left_mm": left,
        "headlines": _on_profile(texts, len(layers) + len(ZONES)),
    }
    return _frame(columns, (field, daily.site), dates, layers, bounds)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Spread:
    """Adds layers up to rows (zones, then each layer), for values and for errors."""

    weight: Floats  # (3 + k, k)
    known: Bools  # (n, k)

    def total(self, values: Floats) -> Floats:
        """Sum over the known layers of each row, NaN where none is known: (n, 3 + k)."""
        any_known = self.known @ (self.weight > 0).T.astype(float) > 0
        return np.where(any_known, np.where(self.known, values, 0.0) @ self.weight.T, np.nan)

    def error(self, sd: Floats, guessed: Bools) -> Floats:
        """Give the sum's standard deviation: guesses add straight, all else in quadrature."""
        sd = np.where(self.known, sd, 0.0)
        apart = np.where(guessed, 0.0, sd) ** 2 @ (self.weight**2).T
        straight = np.where(guessed, sd, 0.0) @ self.weight.T
        return np.sqrt(apart + straight**2)


def _sums(one: Picture, settings: Settings) -> dict[str, NDArray]:
    """Water, points, deficit, fill, class and age of every row, each (n, 3 + k)."""
    weight = np.vstack([one.share, np.eye(len(one.layers))])
    valued = one.known & np.isfinite(one.full + one.lower)
    spread = _Spread(weight=weight, known=valued)
    water, full, lower = (spread.total(values) for values in (one.water, one.full, one.lower))
    noise = np.broadcast_to(settings.sensor_sd * one.thick, one.water.shape)
    s_water = spread.error(noise, np.zeros_like(valued))
    s_full = spread.error(one.full_sd, one.guessed)
    s_lower = spread.error(one.lower_sd, one.lower_guessed)
    holds = np.where(full > lower, full - lower, np.nan)
    fill = (water - lower) / holds
    sd_fill = np.sqrt(s_water**2 + (fill * s_full) ** 2 + ((1 - fill) * s_lower) ** 2) / holds
    fresh = one.known & (one.age <= settings.stale_days)
    return {
        "water_mm": _Spread(weight=weight, known=one.known).total(one.water),
        "full_mm": full,
        "lower_mm": lower,
        "deficit_mm": spread.total(np.maximum(one.full - one.water, 0.0)),
        "sd_mm": np.where(np.isnan(full), np.nan, np.hypot(s_water, s_full)),
        "fill": fill,
        "seen": _share(weight * one.thick, fresh),
        **_classes(fill, sd_fill),
        **_age(one, weight),
    }


def _share(part: Floats, marked: Bools) -> Floats:
    """Share of each row's thickness in the marked layers; NaN for a zone without layers."""
    whole = part.sum(axis=1)
    return marked @ part.T / np.where(whole > 0, whole, np.nan)


def _classes(fill: Floats, sd: Floats) -> dict[str, NDArray]:
    name, probability = classify(fill, sd)
    own = np.select(
        [name == one for one in CLASSES], list(np.moveaxis(probability, -1, 0)), np.nan
    )
    return {
        "class": name,
        "class_probability": own,
        **{f"p_{one}": probability[..., at] for at, one in enumerate(CLASSES)},
    }


def _age(one: Picture, weight: Floats) -> dict[str, NDArray]:
    """Oldest day read among each row's known layers, and whether any value is held."""
    member = weight > 0
    read = np.where(one.known, one.at, np.iinfo(np.int64).max)
    oldest = np.stack([read[:, own].min(axis=1, initial=np.iinfo(np.int64).max)
                       for own in member], axis=1)  # fmt: skip
    some = oldest < len(one.daily.days)
    days = one.daily.days[np.where(some, oldest, 0)]
    return {
        "read_on": np.where(some, days, np.datetime64("NaT", "D")),
        "held": one.held @ member.T.astype(float) > 0,
    }


def _left(one: Picture, left: Floats) -> Floats:
    """Zone sums of what the crop left; NaN unless every layer that counts today has it."""
    weight = np.vstack([one.share, np.eye(len(one.layers))])
    total = _Spread(weight=weight, known=one.known).total(np.where(np.isnan(left), 0.0, left))
    lacking = (one.known & np.isnan(left)) @ (weight > 0).T.astype(float) > 0
    return np.where(lacking, np.nan, total)


def _basis(one: Picture) -> NDArray[np.object_]:
    """Say what the full points of each row rest on: ``learned``, or ``learned:4;texture:2``."""
    texts: dict[tuple[str, ...] | None, list[str | None]] = {
        None: [None] * (3 + len(one.layers))
    }
    for states in one.known_states:
        zones = [_count(states, own > 0) for own in one.share]
        texts[states] = [*zones, *states]
    return np.array([texts[states] for states in one.states], dtype=object)


def _count(states: tuple[str, ...], own: Bools) -> str | None:
    inside = [state for state, counts in zip(states, own, strict=True) if counts]
    kinds = sorted({*inside}, key=lambda kind: (-inside.count(kind), kind))
    return ";".join(f"{kind}:{inside.count(kind)}" for kind in kinds) or None


def _on_profile(texts: list[str], rows: int) -> NDArray[np.object_]:
    """Put each date's headlines on its profile row; no other row carries any."""
    column = np.full((len(texts), rows), None, dtype=object)
    column[:, ZONES.index("profile")] = texts
    return column


_NUMBERS = (
    "water_mm", "full_mm", "lower_mm", "deficit_mm", "sd_mm", "fill", "class_probability",
    *(f"p_{one}" for one in CLASSES), "seen", "left_mm",
)  # fmt: skip
_ORDER = [
    "field", "site", "date", "zone", "depth_cm", "top_cm", "bottom_cm", "water_mm", "full_mm",
    "lower_mm", "deficit_mm", "sd_mm", "fill", "class", "class_probability",
    *(f"p_{one}" for one in CLASSES), "basis", "headlines", "seen", "held", "last_full",
    "read_on", "left_mm",
]  # fmt: skip


def _frame(
    columns: Mapping[str, NDArray],
    names: tuple[str, str],
    dates: Times,
    layers: tuple[Layer, ...],
    bounds: _Bounds,
) -> pd.DataFrame:
    """Lay (n, 3 + k) columns out as rows, with names, depths and types of the contract."""
    n, rows = len(dates), len(ZONES) + len(layers)
    blank = np.full((n, rows), np.nan)
    top, bottom = bounds
    laid: dict[str, object] = {
        "field": _words([names[0]] * (n * rows)),
        "site": _words([names[1]] * (n * rows)),
        "date": np.repeat(dates.astype("datetime64[us]"), rows),
        "zone": _words([*ZONES, *["layer"] * len(layers)] * n),
        "depth_cm": np.tile([*[np.nan] * len(ZONES), *(one.depth_cm for one in layers)], n),
        "top_cm": np.tile(top, n),
        "bottom_cm": np.tile(bottom, n),
        "held": columns.get("held", blank > 0).ravel(),
    }
    for name in _NUMBERS:
        laid[name] = columns.get(name, blank).ravel()
    for name in ("class", "basis", "headlines"):
        laid[name] = _words(columns.get(name, blank.astype(object)).ravel())
    for name in ("last_full", "read_on"):
        laid[name] = (
            columns.get(name, blank.astype("datetime64[D]")).astype("datetime64[us]").ravel()
        )
    return pd.DataFrame({name: laid[name] for name in _ORDER})


def _words(words: list[str] | NDArray) -> Any:
    return pd.array(words, dtype="str")


def _bounds(layers: tuple[Layer, ...], split_cm: float, root_limit_cm: float | None) -> _Bounds:
    """Top and bottom of each row, cm; NaN for a zone that the probe, or no root, reaches."""
    tops, bottoms = [one.top_cm for one in layers], [one.bottom_cm for one in layers]
    first, last = min(tops, default=np.nan), floor_of(layers, root_limit_cm)
    zones = [(first, min(split_cm, last)), (max(split_cm, first), last), (first, last)]
    inside = [zone if zone[0] < zone[1] else (np.nan, np.nan) for zone in zones]
    return [*(top for top, _ in inside), *tops], [*(end for _, end in inside), *bottoms]
