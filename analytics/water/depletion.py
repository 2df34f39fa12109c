"""A crop's root zone by day: what the probe reads, and what a balance makes of it.

The balance runs twice: alone since planting, and set right by the probe every day it reads.
Where the two part company something is not as it was thought: water that is not in the record,
a gauge, a point, a wet spot.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.lib.stride_tricks import sliding_window_view

from analytics.contract import TABLES
from analytics.model import Bools, Floats, Layer, Points, Times
from analytics.settings import Settings
from analytics.soil.profile import thickness_mm
from analytics.water.balance import cascade, root_zone
from analytics.water.demand import Crop
from analytics.water.growth import coefficient, root_depths_cm, root_share, rooted_mm

NAMES = list(TABLES["depletion"].names)
PACE_RANGE = (0.5, 1.5)
SETTLED_MM = 0.5  # of a week's water that no layer holds, less is rounding


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Roots:
    """What a crop's roots reach by day, (D, ...), the first day being that after planting.

    ``inside_mm`` (D, k) is soil within the roots by layer, ``available_mm`` and ``ready_mm``
    (D,) its water down to the lower and to the refill points.
    """

    depth_cm: Floats
    inside_mm: Floats
    available_mm: Floats
    ready_mm: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grown:
    """One crop at one probe, by morning from the day after planting.

    ``state`` (D, k) is m3/m3 before dawn, NaN where a layer was not read or was frozen;
    ``water_mm`` and ``eto_mm`` (D,) are of the day that went before: what reached the ground
    and what the air asked for, NaN where not known. So each morning's reading closes the
    balance of the day before it.
    """

    days: Times
    crop: Crop
    layers: tuple[Layer, ...]
    points: Points
    state: Floats
    water_mm: Floats
    eto_mm: Floats
    deepest_cm: float


def roots_of(grown: Grown, settings: Settings, days: int | None = None) -> Roots:
    """Let a crop's roots down through the layers, day by day.

    Parameters
    ----------
    grown : Grown
        Roots are never followed below the probe.
    settings : Settings
        Uses root_start_cm.
    days : int, optional
        So many days after planting; left out: those of ``grown``.

    Returns
    -------
    Roots
        TAW by Eq. 82, layer by layer; the readily available part down to the site's own
        refill points, which for a texture are p of Table 22.
    """
    layers, points = grown.layers, grown.points
    bottom = min(grown.deepest_cm, layers[-1].bottom_cm)
    depth = root_depths_cm(grown.crop, bottom, days or len(grown.days), settings)
    inside = rooted_mm(layers, depth)
    return Roots(
        depth_cm=depth, inside_mm=inside, available_mm=inside @ (points.full - points.lower),
        ready_mm=inside @ (points.full - points.refill),
    )  # fmt: skip


def measured_mm(state: Floats, full: Floats, inside_mm: Floats) -> Floats:
    """Depletion that a probe reads within the roots, (D,) mm; NaN where a layer is unknown."""
    lacking = np.maximum(full - state, 0.0)
    told = np.where(inside_mm > 0.0, lacking * inside_mm, 0.0)
    return told.sum(axis=-1)


def entering_mm(state: Floats, full: Floats, inside_mm: Floats) -> Floats:
    """Depletion of the soil that roots grow into on each day, by what was measured there.

    FAO-56 Example 38, note 5. A layer not yet read counts as full; the last word of each
    layer stands until there is another.
    """
    known = pd.DataFrame(np.maximum(full - state, 0.0)).ffill().shift(1).to_numpy()
    before = np.nan_to_num(known)
    grown = np.diff(inside_mm, axis=0, prepend=inside_mm[:1])
    return (before * grown).sum(axis=1)


def effective_mm(water_mm: Floats, eto_mm: Floats, settings: Settings) -> Floats:
    """Leave out what evaporates at once: a day's water below light_rain x ETo (p. 170)."""
    return np.where(water_mm < settings.light_rain * eto_mm, 0.0, water_mm)


class _Asked(NamedTuple):
    water: Floats
    crop: Floats
    entering: Floats
    roots: Roots


def account(
    grown: Grown, site: str, planted_on: np.datetime64, settings: Settings
) -> pd.DataFrame:
    """Follow one crop's root zone by day.

    Parameters
    ----------
    grown : Grown
    site : str
    planted_on : datetime64[D]
    settings : Settings
        Uses light_rain, part_days, root_start_cm.

    Returns
    -------
    DataFrame
        Rows of the contract's ``depletion``. ``balance_mm`` starts each day from what the
        probe read the day before; ``alone_mm`` was set right only once, at its first reading.
        ``apart_mm``: the probe's depletion less that of a balance set right ``part_days`` ago
        (above nought: drier than water and weather explain).
    """
    days = len(grown.days)
    roots = roots_of(grown, settings)
    kc = coefficient(grown.crop, days)
    eto = _whole(grown.eto_mm)
    asked = _Asked(
        effective_mm(grown.water_mm, eto, settings), kc * eto,
        entering_mm(grown.state, grown.points.full, roots.inside_mm), roots,
    )  # fmt: skip
    probe = measured_mm(grown.state, grown.points.full, roots.inside_mm)
    corrected, drained, stress = _corrected(probe, asked)
    pace = paces(probe, corrected, stress * asked.crop, settings)
    return pd.DataFrame({
        "site": site, "planted_on": pd.Timestamp(planted_on),
        "date": grown.days.astype("datetime64[us]"), "root_cm": roots.depth_cm, "kc": kc,
        "eto_mm": eto, "demand_mm": asked.crop, "water_mm": grown.water_mm,
        "probe_mm": probe, "balance_mm": corrected, "alone_mm": _alone(probe, asked),
        "drained_mm": drained, "stress": stress, "available_mm": roots.available_mm,
        "ready_mm": roots.ready_mm, "pace": pace,
        "apart_mm": _apart(probe, asked, pace, int(settings.part_days)),
    })[NAMES]  # fmt: skip


def _whole(eto_mm: Floats) -> Floats:
    """Put the season's own mean where a day's demand is not known."""
    known = np.isfinite(eto_mm)
    return np.where(known, eto_mm, eto_mm[known].mean() if known.any() else 0.0)


def _step(
    depletion: float, asked: _Asked, day: int, last: int
) -> tuple[Floats, Floats, Floats]:
    part = slice(day, last)
    run = root_zone(
        depletion, asked.water[part], asked.crop[part],
        available_mm=asked.roots.available_mm[part], ready_mm=asked.roots.ready_mm[part],
        entering_mm=asked.entering[part],
    )  # fmt: skip
    return run.end_mm, run.drained_mm, run.stress


def _corrected(probe: Floats, asked: _Asked) -> tuple[Floats, Floats, Floats]:
    """Run from reading to reading: each stretch starts from the latest one before it.

    Up to the first one, which knows all that came before it, nothing is added or taken.
    """
    asked, roots = _from_first(probe, asked), asked.roots
    before = np.concatenate([[_opening(probe)], probe[:-1]])
    one = [mm[:, None] for mm in (asked.water, asked.crop, roots.available_mm,
                                  roots.ready_mm, asked.entering)]  # fmt: skip
    run = root_zone(np.nan_to_num(before), one[0], one[1], available_mm=one[2],
                    ready_mm=one[3], entering_mm=one[4])  # fmt: skip
    out = np.stack([run.end_mm[:, 0], run.drained_mm[:, 0], run.stress[:, 0]])
    blind = np.isnan(before)
    for day in np.flatnonzero(blind).tolist():  # no reading the day before: on from the balance
        went = _step(out[0, day - 1], asked, day, day + 1)
        out[:, day] = [part[0] for part in went]
    return out[0], out[1], out[2]


def _from_first(probe: Floats, asked: _Asked) -> _Asked:
    known = np.flatnonzero(np.isfinite(probe))
    counts = np.arange(len(probe)) > (known[0] if len(known) else -1)
    return asked._replace(
        water=asked.water * counts, crop=asked.crop * counts, entering=asked.entering * counts
    )


def _opening(probe: Floats) -> float:
    """Depletion before the first day: as first read, nought where nothing ever was."""
    known = probe[np.isfinite(probe)]
    return float(known[0]) if len(known) else 0.0


def _alone(probe: Floats, asked: _Asked) -> Floats:
    known = np.flatnonzero(np.isfinite(probe))
    out = np.full(len(probe), np.nan)
    if len(known):
        first = int(known[0])
        out[first] = probe[first]
        out[first + 1 :] = _step(float(probe[first]), asked, first + 1, len(probe))[0]
    return out


def _apart(probe: Floats, asked: _Asked, pace: Floats, span: int) -> Floats:
    """Set each day's reading beside a balance that was set right ``span`` days before.

    It goes on at the crop's pace of then: a coefficient that is a little off parts nothing.
    """
    out = np.full(len(probe), np.nan)
    if len(probe) <= span:
        return out
    roots = asked.roots
    cut = [sliding_window_view(one, span)[1:]
           for one in (asked.water, asked.crop, roots.available_mm, roots.ready_mm,
                       asked.entering)]  # fmt: skip
    begins = len(cut[0])
    crop = cut[1] * pace[:begins, None]
    run = root_zone(np.nan_to_num(probe[:begins]), cut[0], crop, available_mm=cut[2],
                    ready_mm=cut[3], entering_mm=cut[4])  # fmt: skip
    told = np.isfinite(probe[: len(cut[0])])
    out[span:] = np.where(told, probe[span:] - run.end_mm[:, -1], np.nan)
    return out


def paces(probe_mm: Floats, balance_mm: Floats, taken_mm: Floats, settings: Settings) -> Floats:
    """Tell how fast a crop has lately drawn on its roots beside what was reckoned.

    Parameters
    ----------
    probe_mm, balance_mm, taken_mm : (D,) float
        Depletion read, depletion reckoned from the reading before, and what was taken in it.
    settings : Settings
        Uses pace_days, pace_prior_mm.

    Returns
    -------
    (D,) float
        What the probe saw go over what the balance took, in the days up to each morning;
        drawn towards 1 by ``pace_prior_mm`` that went as reckoned, and kept within a half and
        one and a half. The way is ours.
    """
    off = probe_mm - balance_mm
    known = np.isfinite(off)
    parts = pd.DataFrame({"off": np.where(known, off, 0.0),
                          "taken": np.where(known, taken_mm, 0.0)})  # fmt: skip
    lately = parts.rolling(int(settings.pace_days), min_periods=1).sum()
    reckoned = lately["taken"].to_numpy() + settings.pace_prior_mm
    return np.clip((reckoned + lately["off"].to_numpy()) / reckoned, *PACE_RANGE)


class Parted(NamedTuple):
    """The layer that differs most, and by how much it is drier than was to be expected."""

    depth_cm: float
    drier_mm: float


def parted_layer(grown: Grown, day: int, settings: Settings) -> Parted | None:
    """Tell in which layer balance and probe parted over the days up to one.

    Parameters
    ----------
    grown : Grown
    day : int
        Row of the last day.
    settings : Settings
        Uses part_days, light_rain.

    Returns
    -------
    Parted or None
        None where a rooted layer was not read at either end. What is expected of each layer:
        water from the top down, each filled first, and the crop's share by quarter of its
        roots (40-30-20-10). The way is ours; it names a layer, it does not weigh one.
    """
    first = day - int(settings.part_days)
    if first < 0:
        return None
    roots = roots_of(grown, settings)
    reached: Bools = roots.inside_mm[day] > 0.0
    if not np.isfinite(grown.state[[first, day]][:, reached]).all():
        return None
    thick = thickness_mm(grown.layers)
    full, lower = grown.points.full * thick, grown.points.lower * thick
    water = np.nan_to_num(grown.state[first] * thick, nan=0.0)
    water = np.where(reached, water, full)
    eto = _whole(grown.eto_mm)
    rain = effective_mm(grown.water_mm, eto, settings)
    kc = coefficient(grown.crop, len(eto))
    for one in range(first + 1, day + 1):
        water = cascade(water[None], full, rain[one : one + 1])[0][0]
        share = root_share(grown.layers, float(roots.depth_cm[one]))
        water = np.maximum(water - share * kc[one] * eto[one], np.minimum(water, lower))
    drier = np.where(reached, water - grown.state[day] * thick, 0.0)
    at = int(np.argmax(np.abs(drier)))
    if abs(drier[at]) < SETTLED_MM:
        return None
    return Parted(grown.layers[at].depth_cm, float(drier[at]))
