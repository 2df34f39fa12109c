"""Dates not to be missed, and what a source would need to do it all."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import coo_array, hstack

from analytics.model import Bools, Floats
from analytics.water.programme import Programme, Solved, gross_m3_a_mm, optimum
from analytics.water.pumping import M3_PER_DAY_PER_L_S, M3_PER_MM_HA
from analytics.water.queue import (
    OrderInputs,
    Source,
    Thirst,
    open_days,
    stored_share,
    worth_watering,
    yearly_m3,
)

SAME = 1e-7  # two optima closer than this share of their worth are one: rounding


def latest_start_alone(inputs: OrderInputs, one: Thirst) -> date | None:
    """Find the last day on which a field may begin, its source to itself, and reach target.

    Parameters
    ----------
    inputs : OrderInputs
    one : Thirst

    Returns
    -------
    date or None
        None where nothing is to be put on, or where even all days from the first would not
        do (or the allocations of their years would not).

    Notes
    -----
    Walks back from the last open day, each day taking as much as source and pass allow.
    """
    source = inputs.source_of(one)
    if source is None or not worth_watering(inputs, one):
        return None
    m3_a_mm = one.area_ha * M3_PER_MM_HA / source.efficiency
    rate, span = source.m3_a_day / m3_a_mm, int(inputs.settings.pass_days)
    share = stored_share(inputs, one)
    fit = open_days(inputs, one, source)
    put = np.zeros(len(fit) + span)
    year, left_m3 = yearly_m3(inputs, source)
    left, allowed = one.target_mm, left_m3 / m3_a_mm
    for day in np.flatnonzero(fit & (share > 0))[::-1].tolist():
        room = min(source.max_pass_mm - put[day : day + span].sum(), allowed[year[day]])
        put[day] = max(min(rate, room, left / share[day]), 0.0)
        allowed[year[day]] -= put[day]
        left -= put[day] * share[day]
        if left <= one.target_mm * SAME:
            return inputs.days[day].astype("datetime64[D]").item()
    return None


def queue_slack(inputs: OrderInputs, solved: Solved) -> int | None:
    """Tell how many days later a source as a whole may begin before more stays unfilled.

    Parameters
    ----------
    inputs : OrderInputs
        Of this source alone.
    solved : Solved
        Its optimum, whose first day of water is where the search begins.

    Returns
    -------
    int or None
        Days from the first of ``inputs.days``; None where the source has nothing to do.

    Notes
    -----
    The programme is solved again with its first days shut. Its worth never rises with the
    number of days shut, so the last number that keeps it is found by bisection.
    """
    used = np.flatnonzero((solved.net_mm > 0.0).any(axis=0))
    if not len(used):
        return None

    def keeps(first_day: int) -> bool:
        return optimum(inputs, first_day)[1].worth >= solved.worth * (1.0 - SAME)

    low, high = int(used[0]), len(inputs.days)
    if low + 1 < high and not keeps(low + 1):
        return low
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if keeps(middle) else (low, middle)
    return low


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortfall:
    """What one source can and cannot do, over ``area_ha`` of fields that want its water.

    ``wanted_mm`` and ``given_mm`` are net depths over that area. ``limits`` names what holds
    it back: capacity, allocation, pass or days. ``extra_l_s`` and ``extra_allocation_mm``
    (over the group) each would put it right alone; None where that would not do.
    """

    area_ha: float
    wanted_mm: float
    given_mm: float
    by: date | None
    limits: tuple[str, ...]
    extra_l_s: float | None
    extra_allocation_mm: float | None


def shortfall(inputs: OrderInputs, made: Programme, solved: Solved) -> Shortfall:
    """Say what a source can do of what is wanted, and what would be needed for the rest.

    Parameters
    ----------
    inputs : OrderInputs
        Of this source alone, as are the programme and its optimum.
    made : Programme
    solved : Solved

    Returns
    -------
    Shortfall
        Extra capacity or allocation: the least of either that reaches every target, by a
        second programme. None where the other, or the days, would still hold it back.

    Notes
    -----
    An earlier start is no remedy. The programme has every day from tomorrow on which the
    source has water, so where it falls short no such day could have given more.
    """
    given = inputs.sources[0]
    kept = [worth_watering(inputs, one) for one in inputs.fields]
    m3 = np.where(kept, np.nan_to_num(gross_m3_a_mm(inputs)), 0.0)
    most = np.array([max(one.stored_spring, one.stored_autumn) for one in inputs.fields])
    target = np.array([one.target_mm for one in inputs.fields])
    lacking = np.where(kept, np.maximum(target - solved.stored_mm, 0.0), 0.0)
    net = np.where(kept, solved.net_mm.sum(axis=1), 0.0)
    more = np.where(kept, lacking / np.where(most > 0, most, np.inf), 0.0)
    area = float(sum(one.area_ha for one, own in zip(inputs.fields, kept, strict=True) if own))
    short = bool((lacking > inputs.settings.least_water_mm).any())
    m3_a_mm = area * M3_PER_MM_HA / given.efficiency
    eased, over_m3 = _eased(made, given)
    extra_m3 = _extra(inputs, made, eased, 1.0) if short else None
    return Shortfall(
        area_ha=area,
        wanted_mm=float((net + more) @ m3) / m3_a_mm if area else 0.0,
        given_mm=float(net @ m3) / m3_a_mm if area else 0.0,
        by=_last_open(inputs, kept), limits=_limits(made, solved) if short else (),
        extra_l_s=_extra(inputs, made, made.kind == "capacity", M3_PER_DAY_PER_L_S)
        if short else None,
        extra_allocation_mm=None if extra_m3 is None
        else (extra_m3 + over_m3) / (given.group_ha * M3_PER_MM_HA),
    )  # fmt: skip


def _last_open(inputs: OrderInputs, kept: list[bool]) -> date | None:
    fit = [
        open_days(inputs, one, source)
        for one, own in zip(inputs.fields, kept, strict=True)
        if own and (source := inputs.source_of(one)) is not None
    ]
    days = np.flatnonzero(np.any(fit, axis=0)) if fit else np.empty(0, np.int64)
    return inputs.days[days[-1]].astype("datetime64[D]").item() if len(days) else None


def _limits(made: Programme, solved: Solved) -> tuple[str, ...]:
    """Name the limits whose easing would gain something, by their dual values."""
    felt = -solved.duals * made.limits
    holds = felt > SAME * max(abs(solved.objective), 1.0)
    holds |= (made.limits <= 0.0) & (solved.duals < 0.0)  # nothing is left of it: worth by unit
    held = {str(kind) for kind in made.kind[holds]}
    return tuple(one for one in ("allocation", "capacity", "pass") if one in held) or ("days",)


def _eased(made: Programme, source: Source) -> tuple[Bools, float]:
    """Tell in which rows a larger allocation is felt, and what of it is spent already.

    Of a year that was overdrawn and another one the other is eased: its water is due first.
    """
    eased = made.kind == "allocation"
    later = eased & (made.limits > 0.0)
    return (later, 0.0) if source.over_m3 > 0.0 and later.any() else (eased, source.over_m3)


def _extra(inputs: OrderInputs, made: Programme, eased: Bools, m3: float) -> float | None:
    """Find how many times ``m3`` more in some rows reach every target; None if none does."""
    if not eased.any() or not _all_asked(inputs, made):
        return None
    relief = np.where(eased, -m3, 0.0)[:, None]
    rows = hstack([made.rows, coo_array(relief)]).tocsr()
    low = np.concatenate([np.zeros(len(made.field)), made.upper[len(made.field) :], [0.0]])
    high = np.concatenate([made.upper, [np.inf]])
    cost: Floats = np.concatenate([np.zeros(len(made.cost)), [1.0]])
    found = linprog(cost, A_ub=rows, b_ub=made.limits, bounds=np.stack([low, high], axis=1),
                    method="highs")  # fmt: skip
    return float(found.fun) if found.status == 0 else None


def _all_asked(inputs: OrderInputs, made: Programme) -> bool:
    """Check that no field worth watering is without an open day."""
    asked = {at for at, one in enumerate(inputs.fields) if worth_watering(inputs, one)}
    return asked == set(made.field.tolist())
