"""What the watering order is worked out from: fields that lack water, and their sources."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from dataclasses import field as made_by
from datetime import date

import numpy as np
from numpy.typing import NDArray

from analytics.model import Bools, Floats
from analytics.settings import Settings
from analytics.water.pumping import M3_PER_DAY_PER_L_S, M3_PER_MM_HA
from analytics.water.season import UNDATED, Opening, year_of
from analytics.water.target import Winters


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Thirst:
    """One field's case for water.

    ``target_mm`` is what should be stored by planting; ``steps`` lays it out as (width mm,
    chance that rain would not have brought it). ``stored_spring`` and ``stored_autumn`` are
    the shares of net water that stay, autumn being before ``spring_from``. ``lacking_mm``
    holds the sorted sample the target came from, so that another reliability can be read off.
    ``winters`` is what that sample was paired from, so that another ceiling can be; None where
    it was not told. ``worth`` weighs its crop. ``frozen`` (D,) marks days on which the soil is
    likely frozen. ``why`` names what settled the target: a code and its numbers.
    """

    field: str
    source: str | None
    area_ha: float
    need_mm: float
    target_mm: float
    steps: tuple[tuple[float, float], ...]
    stored_spring: float
    stored_autumn: float
    planting: date
    spring_from: date
    lacking_mm: Floats
    room_mm: float
    winters: Winters | None = None
    worth: float = 1.0
    frozen: Bools | None = None
    why: dict[str, object] = made_by(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One water source; ``group_ha`` is the irrigated area it serves, watered now or not.

    ``allocation_mm`` (NaN: none) is a year's depth over ``group_ha`` and ``used_m3`` what is
    already spent of this year's. ``off`` lists stretches, both ends in, without water.
    ``month`` is the one in which its year begins, and with it the allocation.
    """

    source: str
    capacity_l_s: float
    group_ha: float
    efficiency: float
    max_pass_mm: float
    allocation_mm: float = float("nan")
    used_m3: float = 0.0
    available_from: date | None = None
    available_until: date | None = None
    off: tuple[tuple[date, date], ...] = ()
    month: int = 1

    @property
    def m3_a_day(self) -> float:
        """What it can pump in a day."""
        return self.capacity_l_s * M3_PER_DAY_PER_L_S

    @property
    def left_m3(self) -> float:
        """What is left of this year's allocation; infinite where it has none."""
        return max(self.whole_m3 - self.used_m3, 0.0)

    @property
    def used_share(self) -> float:
        """What is spent of its allocation, as a share; NaN where it has none."""
        whole = self.whole_m3
        return self.used_m3 / whole if 0 < whole < float("inf") else float("nan")

    @property
    def over_m3(self) -> float:
        """What was spent beyond its allocation."""
        return max(self.used_m3 - self.whole_m3, 0.0)

    @property
    def whole_m3(self) -> float:
        """What its allocation gives in a year; infinite where it has none."""
        if np.isnan(self.allocation_mm):
            return float("inf")
        return self.allocation_mm * self.group_ha * M3_PER_MM_HA


def allocation_begins(as_of: date, settings: Settings) -> date:
    """Give the day on which the allocation of a day's season began."""
    month = int(settings.allocation_month)
    return date(as_of.year - (as_of.month < month), month, 1)


def source_named(sources: Sequence[Source], name: str | None) -> Source | None:
    """Find a source by its name; None where none bears it."""
    return next((one for one in sources if one.source == name), None)


def opening_of(source: Source | None) -> Opening:
    """Tell between which dates a source has water; undated where it is not known."""
    if source is None:
        return UNDATED
    return Opening(source.available_from, source.available_until, source.month)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OrderInputs:
    """Everything the order depends on. ``days`` are (D,) datetime64[D] without holes."""

    fields: tuple[Thirst, ...]
    sources: tuple[Source, ...]
    days: NDArray[np.datetime64]
    settings: Settings

    def source_of(self, one: Thirst) -> Source | None:
        """Find a field's source; None where it has none that can pump."""
        found = source_named(self.sources, one.source)
        return found if found is not None and found.capacity_l_s > 0 else None

    def by_source(self) -> "list[OrderInputs]":
        """Part the fields by their source, each with that source alone; those without last."""
        of: dict[str, list[Thirst]] = {one.source: [] for one in self.sources}
        without = []
        for one in self.fields:
            of.get(one.source or "", without).append(one)
        parts: list[OrderInputs] = [
            replace(self, fields=tuple(of[one.source]), sources=(one,)) for one in self.sources
        ]
        return [*parts, replace(self, fields=tuple(without), sources=())] if without else parts


def open_days(inputs: OrderInputs, one: Thirst, source: Source) -> Bools:
    """Days on which a field may be watered, (D,).

    Its source has water, the soil is not frozen, and planting is further off than
    ``dry_off_days``.
    """
    last = np.datetime64(one.planting, "D") - int(inputs.settings.dry_off_days)
    fit = (inputs.days < last) & has_water(source, inputs.days)
    if one.frozen is not None:
        fit &= ~one.frozen
    return fit


def has_water(source: Source, days: NDArray[np.datetime64]) -> Bools:
    """Days of some (D,) datetime64[D] on which a source has water, (D,).

    As its :class:`Opening` has it, and none at all before ``available_from``: the end of this
    autumn's water says nothing of next spring's, but a well is not pumped before it is there.
    """
    fit = opening_of(source).on(days)
    if source.available_from is not None:
        fit &= days >= np.datetime64(source.available_from, "D")
    for begin, end in source.off:
        fit &= (days < np.datetime64(begin, "D")) | (days > np.datetime64(end, "D"))
    return fit


def yearly_m3(inputs: OrderInputs, source: Source) -> tuple[NDArray[np.int64], Floats]:
    """Part the days by the years of a source's allocation, and give what each year leaves.

    What is not spent of a year lapses with it, and what was spent is no longer missed.

    Parameters
    ----------
    inputs : OrderInputs
    source : Source

    Returns
    -------
    year : (D,) int
        0 is the year of the day before the first, of which ``used_m3`` tells. Without an
        allocation nothing parts the days.
    left_m3 : (Y,) float
        Infinite without an allocation; Y is at least 1.
    """
    if not len(inputs.days) or np.isinf(source.whole_m3):
        return np.zeros(len(inputs.days), np.int64), np.array([source.left_m3])
    now = year_of(inputs.days[:1] - 1, source.month)
    year = (year_of(inputs.days, source.month) - now).astype(np.int64)
    left_m3 = np.full(int(year[-1]) + 1, source.whole_m3)
    left_m3[0] = source.left_m3
    return year, left_m3


def stored_share(inputs: OrderInputs, one: Thirst) -> Floats:
    """Share of net water that stays until planting, by day of watering, (D,)."""
    autumn = inputs.days < np.datetime64(one.spring_from, "D")
    return np.where(autumn, one.stored_autumn, one.stored_spring)


def worth_watering(inputs: OrderInputs, one: Thirst) -> bool:
    """Tell whether a field lacks a pass, can be given one, and would keep enough of it."""
    keeps = max(one.stored_spring, one.stored_autumn) >= inputs.settings.least_stored
    lacks = one.target_mm > inputs.settings.least_water_mm
    return lacks and keeps and inputs.source_of(one) is not None
