"""The watering order as a linear programme: maximise worth, within every limit."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.sparse import coo_array, csr_array

from analytics.model import Floats
from analytics.water.pumping import M3_PER_MM_HA
from analytics.water.queue import (
    OrderInputs,
    open_days,
    stored_share,
    worth_watering,
    yearly_m3,
)

Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Programme:
    """Minimise ``cost`` @ v with ``rows`` @ v <= ``limits`` and 0 <= v <= ``upper``.

    Variables: first net mm put on ``field[i]`` on day ``day[i]``, then mm stored of each
    step. ``cost`` is negative worth, in mm of deficit closed times hectares. All nought is
    always within the limits, so the programme is never without an answer.
    """

    cost: Floats
    rows: csr_array
    limits: Floats
    upper: Floats
    field: Whole
    day: Whole
    step_field: Whole
    kind: NDArray[np.str_]  # what each row limits: capacity, allocation, pass, stored
    penalty: Floats


def build(inputs: OrderInputs, first_day: int = 0) -> Programme:
    """Write the programme down.

    Parameters
    ----------
    inputs : OrderInputs
    first_day : int
        No water on days before this one: how late may the queue begin?

    Returns
    -------
    Programme

    Notes
    -----
    Rows: each source's pumping on each day; each source's allocation of a year; each field's
    depth within any ``pass_days`` days in a row, no more than one pass; what is stored, no more
    than what the days' water leaves. A small cost for water that lies long in the soil
    (``lateness``) settles ties: no earlier than it must be, the later the better known.
    """
    chosen = [at for at, one in enumerate(inputs.fields) if worth_watering(inputs, one)]
    field, day = _cells(inputs, chosen, first_day)
    steps = [(at, mm, p) for at in chosen for mm, p in inputs.fields[at].steps]
    step_field = np.array([at for at, _, _ in steps], np.int64)
    weight = np.array([one.area_ha * one.worth for one in inputs.fields])
    early = _days_before_planting(inputs)[field, day] if len(field) else np.empty(0)
    penalty = inputs.settings.lateness * early * weight[field]
    chance = np.array([p for *_, p in steps])
    blocks = [
        _capacity(inputs, field, day), _allocation(inputs, field, day),
        _passes(inputs, field, day), _stored(inputs, field, day, step_field),
    ]  # fmt: skip
    rows, limits, kind = _stack(blocks, len(field) + len(steps))
    return Programme(
        cost=np.concatenate([penalty, -chance * weight[step_field]]),
        rows=rows, limits=limits,
        upper=np.concatenate([_pass_mm(inputs)[field], [mm for _, mm, _ in steps]]),
        field=field, day=day, step_field=step_field, kind=kind, penalty=penalty,
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solved:
    """An optimum: net mm by field and day (F, D), stored mm by field, worth and the duals."""

    net_mm: Floats
    stored_mm: Floats
    worth: float  # without the cost of lateness
    duals: Floats  # a row of the programme, not above nought
    objective: float


def optimum(inputs: OrderInputs, first_day: int = 0) -> tuple[Programme, Solved]:
    """Solve the programme with HiGHS."""
    made = build(inputs, first_day)
    net = np.zeros((len(inputs.fields), len(inputs.days)))
    stored = np.zeros(len(inputs.fields))
    if not len(made.cost):
        none = Solved(net_mm=net, stored_mm=stored, worth=0.0, duals=np.empty(0), objective=0.0)
        return made, none
    found = linprog(
        made.cost, A_ub=made.rows, b_ub=made.limits,
        bounds=np.stack([np.zeros(len(made.upper)), made.upper], axis=1), method="highs",
    )  # fmt: skip
    values = np.maximum(found.x, 0.0)
    cells = len(made.field)
    net[made.field, made.day] = values[:cells]
    np.add.at(stored, made.step_field, values[cells:])
    worth = float(-made.cost[cells:] @ values[cells:])
    return made, Solved(net_mm=net, stored_mm=stored, worth=worth,
                        duals=found.ineqlin.marginals, objective=float(found.fun))  # fmt: skip


def _cells(inputs: OrderInputs, chosen: list[int], first_day: int) -> tuple[Whole, Whole]:
    """Fields and days that may have water."""
    fit = np.zeros((len(inputs.fields), len(inputs.days)), bool)
    for at in chosen:
        one = inputs.fields[at]
        source = inputs.source_of(one)
        if source is not None:
            fit[at] = open_days(inputs, one, source)
    fit[:, :first_day] = False
    field, day = np.nonzero(fit)
    return field.astype(np.int64), day.astype(np.int64)


def _days_before_planting(inputs: OrderInputs) -> Floats:
    planting = np.array([one.planting for one in inputs.fields], "datetime64[D]")
    return (planting[:, None] - inputs.days).astype(np.int64).astype(np.float64)


def _pass_mm(inputs: OrderInputs) -> Floats:
    sources = [inputs.source_of(one) for one in inputs.fields]
    return np.array([it.max_pass_mm if it is not None else 0.0 for it in sources])


def gross_m3_a_mm(inputs: OrderInputs) -> Floats:
    """Cubic metres to be pumped for a net mm on each field, (F,); NaN without a source."""
    sources = [inputs.source_of(one) for one in inputs.fields]
    efficiency = np.array([it.efficiency if it is not None else np.nan for it in sources])
    return np.array([one.area_ha for one in inputs.fields]) * M3_PER_MM_HA / efficiency


def source_numbers(inputs: OrderInputs) -> Whole:
    """Each field's place in the list of sources, (F,); -1 without one."""
    place = {one.source: at for at, one in enumerate(inputs.sources)}
    return np.array([place.get(one.source or "", -1) for one in inputs.fields], np.int64)


Block = tuple[Whole, Whole, Floats, Floats, str]  # row, column, value, limit of each row, kind


def _capacity(inputs: OrderInputs, field: Whole, day: Whole) -> Block:
    pumped = gross_m3_a_mm(inputs)
    key = source_numbers(inputs)[field] * len(inputs.days) + day
    used, row = np.unique(key, return_inverse=True)
    a_day = np.array([one.m3_a_day for one in inputs.sources])
    limit = a_day[used // len(inputs.days)] if len(used) else np.empty(0)
    return row, np.arange(len(field)), pumped[field], limit, "capacity"


def _allocation(inputs: OrderInputs, field: Whole, day: Whole) -> Block:
    """One row for each year of a source's allocation."""
    told = [yearly_m3(inputs, one) for one in inputs.sources]
    begun = np.cumsum([0, *(len(left) for _, left in told)])
    left_m3 = np.concatenate([np.empty(0), *(left for _, left in told)])
    year = np.array([one for one, _ in told], np.int64).reshape(len(told), len(inputs.days))
    number = source_numbers(inputs)[field]
    at = begun[number] + year[number, day] if len(field) else np.empty(0, np.int64)
    bound = np.flatnonzero(np.isfinite(left_m3[at]))
    used, row = np.unique(at[bound], return_inverse=True)
    return row, bound, gross_m3_a_mm(inputs)[field[bound]], left_m3[used], "allocation"


def _passes(inputs: OrderInputs, field: Whole, day: Whole) -> Block:
    """One row for each open day: that day and the open ones of the pass that it ends."""
    back = np.arange(int(inputs.settings.pass_days))
    place = np.full((len(inputs.fields), len(inputs.days)), -1)
    place[field, day] = np.arange(len(field))
    earlier = day[:, None] - back
    column = np.where(earlier >= 0, place[field[:, None], earlier], -1)
    row = np.broadcast_to(np.arange(len(field))[:, None], column.shape)
    there = column >= 0
    limit = _pass_mm(inputs)[field]
    return row[there], column[there], np.ones(int(there.sum())), limit, "pass"


def _stored(inputs: OrderInputs, field: Whole, day: Whole, step_field: Whole) -> Block:
    """Keep the steps filled within what the water leaves."""
    used, step_row = np.unique(step_field, return_inverse=True)
    shares = np.array([stored_share(inputs, one) for one in inputs.fields])
    row = np.searchsorted(used, field)
    values = -shares[field, day] if len(field) else np.empty(0)
    return (
        np.concatenate([row, step_row]),
        np.arange(len(field) + len(step_field)),
        np.concatenate([values, np.ones(len(step_field))]),
        np.zeros(len(used)),
        "stored",
    )


def _stack(blocks: list[Block], columns: int) -> tuple[csr_array, Floats, NDArray[np.str_]]:
    start = np.cumsum([0, *(len(limit) for *_, limit, _ in blocks)])
    row = np.concatenate([part[0] + at for part, at in zip(blocks, start, strict=False)])
    column = np.concatenate([part[1] for part in blocks])
    value = np.concatenate([part[2] for part in blocks])
    limits = np.concatenate([part[3] for part in blocks])
    kind = np.repeat([part[4] for part in blocks], [len(part[3]) for part in blocks])
    shape = (len(limits), columns)
    return csr_array(coo_array((value, (row, column)), shape=shape)), limits, kind
