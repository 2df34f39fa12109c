"""The order under other circumstances: planting moves, a well drops out, it rains."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from analytics.errors import InputRefused
from analytics.model import Floats
from analytics.water.queue import OrderInputs, Source, Thirst
from analytics.water.target import (
    lacking_below,
    room_below,
    stored_shares,
    value_steps,
    worth_adding,
)

LEAST_CHANCE = 0.05  # a person's own target is wanted, however seldom past years lacked it


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What is taken to be otherwise; whatever is left as it is stays.

    ``source_off`` shuts a source from one date to another, both in; ``allocation_mm`` sets a
    source's whole season's allocation; ``rain_mm_on`` is rain still to come, beyond what
    past years bring; ``target_mm`` a depth to be stored on every field that lacks so much,
    ``reliability`` the share of past years in which it is to suffice, ``ceiling`` the share of
    what the root zone can hold that is filled at most.
    """

    planting_shift_days: int = 0
    source_off: Mapping[str, tuple[date, date]] | None = None
    capacity_factor: Mapping[str, float] | float = 1.0
    allocation_mm: Mapping[str, float] | None = None
    rain_mm_on: tuple[float, date] | None = None
    target_mm: float | None = None
    reliability: float | None = None
    ceiling: float | None = None


def changed(inputs: OrderInputs, change: Change) -> OrderInputs:
    """Put a change into the order's inputs.

    Parameters
    ----------
    inputs : OrderInputs
    change : Change

    Returns
    -------
    OrderInputs

    Raises
    ------
    InputRefused
        When the change names a source that is not there, or a share out of bounds.

    Notes
    -----
    Quick, for a page that answers at once: the outlook is not run again. Rain to come is
    taken off what each past winter lacked, less what past winters' rain loses too
    (``stored_spring``); it falls on every field. A shifted planting moves the last day of
    watering, not the winters. :func:`analytics.water.advice.advise` runs both through the
    soil itself.
    """
    _check(inputs, change)
    inputs = replace(inputs, fields=tuple(_under(one, change.ceiling) for one in inputs.fields))
    fields = tuple(_field(one, change, inputs) for one in inputs.fields)
    sources = tuple(_source(one, change) for one in inputs.sources)
    return replace(
        inputs, fields=fields, sources=sources,
        days=_days(inputs, max(change.planting_shift_days, 0)),
        settings=inputs.settings if change.reliability is None
        else replace(inputs.settings, reliability=change.reliability),
    )  # fmt: skip


def _under(one: Thirst, ceiling: float | None) -> Thirst:
    """Pair a field's winters and seasons anew under another ceiling."""
    if ceiling is None or one.winters is None:
        return one
    room = float(np.median(room_below(one.winters, ceiling)))
    return replace(one, lacking_mm=worth_adding(one.winters, ceiling), room_mm=room)


def _check(inputs: OrderInputs, change: Change) -> None:
    known = {one.source for one in inputs.sources}
    factors = change.capacity_factor if isinstance(change.capacity_factor, Mapping) else {}
    named = {*(change.source_off or {}), *(change.allocation_mm or {}), *factors}
    if named - known:
        where, found = "the change to the plan", f"there is no source {sorted(named - known)}."
        raise InputRefused(where, found, f"Known: {sorted(known)}.")
    share, ceiling = change.reliability, change.ceiling
    if share is not None and not 0.0 < share < 1.0:
        where, found = "the reliability asked for", f"{share:g} is no share of years."
        raise InputRefused(where, found, "Give a number between 0 and 1.")
    if ceiling is not None and not 0.0 < ceiling <= 1.0:
        where, found = "the ceiling asked for", f"{ceiling:g} is no share of a full root zone."
        raise InputRefused(where, found, "Give a number above 0, and 1 at most.")


def _days(inputs: OrderInputs, more: int) -> np.ndarray:
    if not more or not len(inputs.days):
        return inputs.days
    return np.concatenate([inputs.days, inputs.days[-1] + np.arange(1, more + 1)])


def _source(one: Source, change: Change) -> Source:
    factor = change.capacity_factor
    share = factor.get(one.source, 1.0) if isinstance(factor, Mapping) else factor
    off = (change.source_off or {}).get(one.source)
    return replace(
        one, capacity_l_s=one.capacity_l_s * share, off=(*one.off, off) if off else one.off,
        allocation_mm=(change.allocation_mm or {}).get(one.source, one.allocation_mm),
    )  # fmt: skip


def _field(one: Thirst, change: Change, inputs: OrderInputs) -> Thirst:
    lacking = _after_rain(one, change)
    planting = one.planting + timedelta(days=change.planting_shift_days)
    more = max(change.planting_shift_days, 0)
    frozen = None if one.frozen is None else np.concatenate([one.frozen, np.zeros(more, bool)])
    target = _target(one, lacking, change, inputs)
    same = target == one.target_mm and lacking is one.lacking_mm and change.ceiling is None
    steps = one.steps if same else _steps(lacking, target, change, inputs)
    one = _stored(one, lacking, target, change, inputs)
    return replace(one, planting=planting, frozen=frozen, lacking_mm=lacking, target_mm=target,
                   steps=steps)  # fmt: skip


def _stored(
    one: Thirst, lacking: Floats, target: float, change: Change, inputs: OrderInputs
) -> Thirst:
    """Let another target keep its own share of the water: a fuller soil loses more of it.

    Rain to come moves nothing here: what it brings to the soil it takes off the target.
    """
    asked = (change.target_mm, change.reliability, change.ceiling)
    if one.winters is None or all(each is None for each in asked):
        return one
    brought = float(np.median(one.lacking_mm - lacking))
    spring, autumn = stored_shares(one.winters, target + brought, inputs.settings)
    return replace(one, stored_spring=spring, stored_autumn=autumn)


def _after_rain(one: Thirst, change: Change) -> Floats:
    if change.rain_mm_on is None:
        return one.lacking_mm
    mm, day = change.rain_mm_on
    if day >= one.planting + timedelta(days=change.planting_shift_days):
        return one.lacking_mm
    return np.maximum(one.lacking_mm - mm * one.stored_spring, 0.0)


def _target(one: Thirst, lacking: Floats, change: Change, inputs: OrderInputs) -> float:
    settings = inputs.settings
    share = settings.reliability if change.reliability is None else change.reliability
    if change.target_mm is not None:
        ceiling = settings.ceiling if change.ceiling is None else change.ceiling
        return min(change.target_mm, _most(one, ceiling, share))
    as_it_is = change.reliability is None and change.ceiling is None
    untouched = as_it_is and lacking is one.lacking_mm
    if untouched or not len(lacking):
        return one.target_mm
    return float(np.quantile(lacking, share))


def _most(one: Thirst, ceiling: float, share: float) -> float:
    """Give what a root zone lacks below the ceiling, as surely as its present target."""
    if one.winters is None:
        return max(one.room_mm, one.target_mm)
    return float(np.quantile(lacking_below(one.winters, ceiling), share))


def _steps(
    lacking: Floats, target: float, change: Change, inputs: OrderInputs
) -> tuple[tuple[float, float], ...]:
    steps = value_steps(lacking, target, int(inputs.settings.value_steps))
    if change.target_mm is None:
        return steps
    return tuple((mm, max(chance, LEAST_CHANCE)) for mm, chance in steps)
