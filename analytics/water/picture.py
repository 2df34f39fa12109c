"""What is known of every layer on each kept date, before it is summed into zones."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.model import Bools, Daily, Floats, Layer, OffSeason, Points, Times
from analytics.settings import Settings
from analytics.soil.fullness import NEVER, latest, latest_good
from analytics.soil.profile import thickness_mm, zone_weights
from analytics.soil.spans import standing

ZONES = ("upper", "deep", "profile")
GUESSED = ("texture", "not_yet_seen")
"""States whose value is a texture's: one guess errs the same way in every layer."""
MOSTLY = 0.5
"""A layer belongs to a zone, where it must be one or the other, with more than this share."""

Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Picture:
    """What stands for each of k layers on each of n kept dates.

    ``day`` indexes the record (its last day once it has ended); ``at`` is the day whose
    state stands, NEVER where the placement has none yet.
    """

    daily: Daily
    layers: tuple[Layer, ...]
    dates: Times  # (n,) datetime64[D]
    day: Whole  # (n,)
    good: Whole  # (D, k) latest good day so far
    at: Whole  # (n, k)
    thick: Floats  # (k,) mm
    share: Floats  # (3, k) of each layer in each of ZONES
    placement: NDArray[np.int16]  # (n,)
    states: tuple[tuple[str, ...] | None, ...]  # (n,) full points' states
    known: Bools  # (n, k)
    age: Floats  # (n, k) days since the state was read; NaN
    water: Floats  # (n, k) mm
    full: Floats
    lower: Floats
    full_sd: Floats  # (n, k) mm
    lower_sd: Floats
    guessed: Bools  # (n, k) full point
    lower_guessed: Bools
    held: Bools
    full_on: Times  # (n, k) last full
    most: Floats  # (n, k) mm, the most it has held in this placement so far

    @property
    def known_states(self) -> set[tuple[str, ...]]:
        """States of the full points of every placement that the dates fall into."""
        return {states for states in self.states if states is not None}

    @property
    def deep(self) -> Bools:
        """Layers that belong to the deep zone, (k,)."""
        return self.share[1] > MOSTLY


def picture(
    daily: Daily,
    layers: tuple[Layer, ...],
    points: Mapping[int, Points],
    *,
    full_days: Times,
    dates: Times,
    settings: Settings,
    root_limit_cm: float | None = None,
) -> Picture:
    """Look up each layer's standing state and its placement's points on each kept date.

    Parameters
    ----------
    daily : Daily
        The site's days, D > 0.
    layers : k Layer
    points : mapping of placement number to Points
    full_days : (D, k) datetime64[D]
        As ``offseason.last_full`` gives them.
    dates : (n,) datetime64[D]
        None before the record.
    settings : Settings
        Uses ``zone_split_cm``.
    root_limit_cm : float, optional
        Depth of a layer that roots cannot pass: the zones end there.
    """
    day = np.minimum((dates - daily.days[0]).astype(np.int64), len(daily.days) - 1)
    good = latest_good(daily)
    at = good[day]
    known, columns, thick = at != NEVER, np.arange(len(layers)), thickness_mm(layers)
    placement = daily.placement[day]
    own = [points.get(int(number)) for number in placement]
    weights = zone_weights(layers, settings.zone_split_cm, root_limit_cm=root_limit_cm)
    read = daily.days[np.maximum(at, 0)]
    return Picture(
        daily=daily, layers=layers, dates=dates, day=day, good=good, at=at, thick=thick,
        share=np.array([weights[zone] for zone in ZONES]),
        placement=placement,
        states=tuple(one.state if one is not None else None for one in own),
        known=known,
        age=np.where(known, (dates[:, None] - read).astype(np.float64), np.nan),
        water=np.where(known, daily.state[at, columns], np.nan) * thick,
        full=_point(own, "full", thick), lower=_point(own, "lower", thick),
        full_sd=_point(own, "full_sd", thick), lower_sd=_point(own, "lower_sd", thick),
        guessed=_guessed(own, "state", len(layers)),
        lower_guessed=_guessed(own, "lower_state", len(layers)),
        held=daily.held[at, columns] & known,
        full_on=full_days[day],
        most=most_held(daily)[day] * thick,
    )  # fmt: skip


def _point(own: list[Points | None], name: str, thick: Floats) -> Floats:
    """One of the points on each date, in mm of its layer; NaN without points."""
    nothing = np.full(len(thick), np.nan)
    return np.array([getattr(one, name) if one is not None else nothing for one in own]) * thick


def _guessed(own: list[Points | None], name: str, k: int) -> Bools:
    """Which points are a texture's, on each date."""
    cache: dict[int, list[bool]] = {}
    for one in own:
        if one is not None and one.placement not in cache:
            cache[one.placement] = [state in GUESSED for state in getattr(one, name)]
    nothing = [True] * k
    return np.array([cache[one.placement] if one is not None else nothing for one in own])


def most_held(daily: Daily) -> Floats:
    """Give for each day the highest state so far in its placement that stood for three days.

    Returns
    -------
    (D, k) float
        m3/m3; NaN before the third day.
    """
    state = np.where(daily.held, np.nan, daily.state)
    most = np.full(state.shape, np.nan)
    for number in np.unique(daily.placement):
        own = state[daily.placement == number]
        stood = np.full(own.shape, np.nan)
        stood[2:] = np.fmin(np.fmin(own[2:], own[1:-1]), own[:-2])
        most[daily.placement == number] = np.fmax.accumulate(stood, axis=0)
    return most


def full_together(one: Picture, full_days: Times) -> Times:
    """Give the last day on which all layers of a zone were full together.

    A layer counts to a zone with more than half its thickness.

    Returns
    -------
    (n, 3) datetime64[D]
        In the order of ``ZONES``; NaT where the placement has no such day, or the zone no
        layer.
    """
    daily = one.daily
    now = full_days == daily.days[:, None]
    member = one.share > MOSTLY
    together = np.stack([now[:, own].all(axis=1) & own.any() for own in member], axis=1)
    found = latest(together, daily.placement)[one.day]
    return np.where(found == NEVER, np.datetime64("NaT", "D"), daily.days[found])


def left_by_crop(
    one: Picture, off_seasons: tuple[OffSeason, ...], settings: Settings
) -> Floats:
    """Water of each layer at the last harvest up to each date: what that crop left.

    The same state stands for the harvest as in the tally, so both tell one number.

    Returns
    -------
    (n, k) float
        mm; NaN where no harvest is known or it lies in another placement.
    """
    left = np.full(one.water.shape, np.nan)
    columns = np.arange(len(one.layers))
    for off in off_seasons:
        at = standing(one.daily, off.start, off.end, settings)
        since = one.dates >= np.datetime64(off.start, "D")
        state = np.where(at == NEVER, np.nan, one.daily.state[at, columns])
        same = one.daily.placement[at] == one.placement[:, None]
        left[since] = np.where(same, state * one.thick, np.nan)[since]
    return left


def harvest_before(one: Picture, off_seasons: tuple[OffSeason, ...]) -> Times:
    """Give the last harvest up to each date, (n,) datetime64[D]; NaT where none is known."""
    starts = np.array(sorted(off.start for off in off_seasons), dtype="datetime64[D]")
    at = np.searchsorted(starts, one.dates, side="right")
    return np.append(np.datetime64("NaT", "D"), starts)[at]


def wettings_above(
    wettings: pd.DataFrame, wetting_layers: pd.DataFrame, split_cm: float
) -> tuple[Times, Floats]:
    """List wettings that stored water above a depth: their start, and the mm stored there."""
    begun = wetting_layers["start"].to_numpy().astype("datetime64[D]")
    known = np.isin(begun, wettings["start"].to_numpy().astype("datetime64[D]"))
    upper = known & (wetting_layers["depth_cm"].to_numpy() < split_cm)
    when, which = np.unique(begun[upper], return_inverse=True)
    mm = np.nan_to_num(wetting_layers["stored_mm"].to_numpy(np.float64)[upper])
    stored: Floats = np.bincount(which, weights=mm, minlength=len(when)).astype(np.float64)
    return when[stored > 0], stored[stored > 0]
