"""Which field first, how much, by when."""

import json
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from analytics.model import Floats
from analytics.water.deadlines import latest_start_alone, queue_slack, shortfall
from analytics.water.plan import in_blocks
from analytics.water.programme import Programme, Solved, gross_m3_a_mm, optimum
from analytics.water.pumping import M3_PER_MM_HA
from analytics.water.queue import (
    OrderInputs,
    Source,
    Thirst,
    open_days,
    worth_watering,
    yearly_m3,
)

ORDER_COLUMNS = [
    "field", "source", "rank", "need_mm", "target_mm", "net_mm", "gross_mm",
    "share_of_allocation", "unfilled_mm", "latest_start_alone", "queue_slack_days", "reason",
    "stored_mm", "hours", "starts_on", "ends_on", "chance",
]  # fmt: skip
DATES = ("starts_on", "ends_on", "latest_start_alone")
DUST_MM = 1e-9  # rounding of the solver
PLAN_COLUMNS = ["field", "source", "date", "net_mm", "gross_mm"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Order:
    """The watering order.

    ``order`` and ``plan`` are the contract's tables (more columns beside), ``sources`` a row
    a source: what is wanted and can be given, what holds it back, what would put it right.
    ``worth`` is the value closed: mm of deficit x chance x crop x hectares.
    """

    order: pd.DataFrame
    plan: pd.DataFrame
    sources: pd.DataFrame
    worth: float


def solve(inputs: OrderInputs, executor: Executor | None = None) -> Order:
    """Work out the order, the calendar and what cannot be met.

    Parameters
    ----------
    inputs : OrderInputs
    executor : Executor, optional
        Solves each source as a task of its own; else it is done here.

    Returns
    -------
    Order
        Every field of ``inputs`` has a row in ``order``; only those worth watering a rank.
        ``reason`` is JSON: a ``code`` (water, water_part, not_reached, allocation_spent,
        keeps_too_little, no_source, no_capacity, none_needed) and the numbers that its
        sentence needs. ``net_mm`` reaches the soil, ``gross_mm`` is pumped, ``stored_mm`` is
        still there at planting, ``unfilled_mm`` the target less that. ``queue_slack_days`` is
        the source's.

    Notes
    -----
    Solved source by source: the fields of one share nothing with those of another. Of many
    equal optima a solver takes any, and a change to one source must not move another's
    calendar.
    """
    parts = inputs.by_source()
    alone = list((map if executor is None else executor.map)(_alone, parts))
    rows = [row for one in alone for row in one.rows]
    sources = [row for one in alone for row in one.sources]
    net = np.concatenate([np.zeros((0, len(inputs.days))), *(one.net_mm for one in alone)])
    fields = tuple(field for one in parts for field in one.fields)
    return Order(
        order=_ranked(rows)[ORDER_COLUMNS], plan=_plan(replace(inputs, fields=fields), net),
        sources=pd.DataFrame(sources, columns=SOURCE_COLUMNS),
        worth=sum(one.worth for one in alone),
    )  # fmt: skip


class _Alone(NamedTuple):
    """One source with its fields, or all fields without one: rows of tables, and the days."""

    rows: list[dict[str, object]]
    sources: list[dict[str, object]]
    net_mm: Floats
    worth: float


def _alone(inputs: OrderInputs) -> _Alone:
    """Solve one source with its fields, or tell of fields that have none."""
    made, solved = optimum(inputs)
    net = in_blocks(inputs, solved.net_mm)
    net[net < DUST_MM] = 0.0
    sources = [_source(inputs, one, made, solved) for one in inputs.sources]
    slack = sources[0]["queue_slack_days"] if sources else np.nan
    m3 = gross_m3_a_mm(inputs)
    fields = [
        _field(inputs, at, float(solved.stored_mm[at]), net[at], float(m3[at]))
        for at in range(len(inputs.fields))
    ]
    told = [
        {**row, "queue_slack_days": slack, **_standing(inputs, one, row)}
        for one, row in zip(inputs.fields, fields, strict=True)
    ]
    return _Alone(told, sources, net, solved.worth)


def _field(
    inputs: OrderInputs, at: int, stored_mm: float, net: Floats, m3_a_mm: float
) -> dict[str, object]:
    one = inputs.fields[at]
    source = inputs.source_of(one)
    total = float(net.sum())
    days = np.flatnonzero(net)
    gross = total / source.efficiency if source is not None else 0.0
    pumped = total * m3_a_mm if source is not None else 0.0
    allocation = source.allocation_mm if source is not None else np.nan
    share = gross / allocation if allocation > 0 else np.nan
    return {
        "field": one.field, "source": one.source, "need_mm": one.need_mm,
        "target_mm": one.target_mm, "net_mm": total, "gross_mm": gross,
        "share_of_allocation": share, "stored_mm": stored_mm,
        "unfilled_mm": max(one.target_mm - stored_mm, 0.0),
        "latest_start_alone": latest_start_alone(inputs, one),
        "hours": pumped / source.m3_a_day * 24.0 if source is not None else 0.0,
        "starts_on": _day(inputs, days[0]) if len(days) else None,
        "ends_on": _day(inputs, days[-1]) if len(days) else None,
        "chance": _chance(one),
    }  # fmt: skip


def _day(inputs: OrderInputs, at: np.intp) -> date:
    return inputs.days[at].astype("datetime64[D]").item()


def _chance(one: Thirst) -> float:
    """Chance, over the whole target, that rain would not have brought it."""
    return float(np.mean([p for _, p in one.steps])) if one.steps else np.nan


def _standing(inputs: OrderInputs, one: Thirst, row: dict[str, Any]) -> dict[str, object]:
    """Tell why a field stands where it does, and what it is ranked by."""
    wanted = worth_watering(inputs, one)
    chance = 0.0 if np.isnan(row["chance"]) else row["chance"]
    return {
        "reason": json.dumps(_reason(inputs, one, row, wanted=wanted)),
        "_class": (0 if row["net_mm"] > 0 else 1) if wanted else 2,
        "_merit": -chance * one.worth * max(one.stored_spring, one.stored_autumn),
    }


def _ranked(rows: list[dict[str, object]]) -> pd.DataFrame:
    """Sort: watered first by first day, then those that lack water, then the rest."""
    frame = pd.DataFrame(rows, columns=[*(one for one in ORDER_COLUMNS if one != "rank"),
                                        "_class", "_merit"])  # fmt: skip
    frame = frame.assign(**{name: _dates(frame[name]) for name in DATES})
    keys = ["_class", "starts_on", "latest_start_alone", "_merit", "field"]
    frame = frame.sort_values(keys, ignore_index=True, na_position="first")
    rank = pd.Series(np.arange(1, len(frame) + 1), dtype="Int64")
    return frame.assign(rank=rank.where(frame["_class"] < 2))  # noqa: PLR2004 - 2 wants none


def _dates(days: pd.Series) -> pd.Series:
    return pd.to_datetime(days).astype("datetime64[us]")


def _reason(
    inputs: OrderInputs, one: Thirst, row: dict[str, Any], *, wanted: bool
) -> dict[str, object]:
    facts = {
        name: round(float(row[name]), 3)
        for name in ("need_mm", "target_mm", "net_mm", "gross_mm", "stored_mm", "unfilled_mm",
                     "chance")
        if np.isfinite(row[name])
    }  # fmt: skip
    dates = {name: row[name].isoformat() for name in DATES if row[name] is not None}
    return {
        "code": _code(inputs, one, row, wanted=wanted), **facts, **dates,
        "planting": one.planting.isoformat(), "why": one.why,
    }  # fmt: skip


def _code(inputs: OrderInputs, one: Thirst, row: dict, *, wanted: bool) -> str:
    if one.target_mm <= inputs.settings.least_water_mm:
        return "none_needed"
    if (source := inputs.source_of(one)) is None:
        return "no_capacity" if one.source else "no_source"
    if not wanted:
        return "keeps_too_little"
    if row["net_mm"] <= 0:
        return "allocation_spent" if _spent(inputs, one, source) else "not_reached"
    enough = row["unfilled_mm"] <= inputs.settings.least_water_mm
    return "water" if enough else "water_part"


def _spent(inputs: OrderInputs, one: Thirst, source: Source) -> bool:
    """Tell whether nothing is left to a field: this year, nor in one that begins in time."""
    year, left_m3 = yearly_m3(inputs, source)
    return source.left_m3 <= 0 and not left_m3[year[open_days(inputs, one, source)]].any()


def _plan(inputs: OrderInputs, net: Floats) -> pd.DataFrame:
    field, day = np.nonzero(net)
    given = {one.source: one.efficiency for one in inputs.sources}
    efficiency = np.array([given.get(one.source or "", np.nan) for one in inputs.fields])
    frame = pd.DataFrame({
        "field": [inputs.fields[at].field for at in field],
        "source": [inputs.fields[at].source for at in field],
        "date": inputs.days[day].astype("datetime64[us]"),
        "net_mm": net[field, day],
        "gross_mm": net[field, day] / efficiency[field] if len(field) else np.empty(0),
    })  # fmt: skip
    return frame.sort_values(["date", "source", "field"], ignore_index=True)[PLAN_COLUMNS]


SOURCE_COLUMNS = [
    "source", "area_ha", "wanted_mm", "given_mm", "by", "limits", "extra_l_s",
    "extra_allocation_mm", "given_m3", "hours", "share_of_allocation", "queue_slack_days",
    "begin_by",
]  # fmt: skip


def _source(
    inputs: OrderInputs, source: Source, made: Programme, solved: Solved
) -> dict[str, object]:
    said, slack = shortfall(inputs, made, solved), queue_slack(inputs, solved)
    gross = said.given_mm * said.area_ha * M3_PER_MM_HA / source.efficiency
    whole = source.allocation_mm * source.group_ha * M3_PER_MM_HA
    return {
        "source": source.source, "area_ha": said.area_ha, "wanted_mm": said.wanted_mm,
        "given_mm": said.given_mm, "by": said.by, "limits": ",".join(said.limits),
        "extra_l_s": said.extra_l_s, "extra_allocation_mm": said.extra_allocation_mm,
        "given_m3": gross,
        "hours": gross / source.m3_a_day * 24.0 if source.m3_a_day > 0 else 0.0,
        "share_of_allocation": gross / whole if whole > 0 else np.nan,
        "queue_slack_days": np.nan if slack is None else float(slack),
        "begin_by": None if slack is None else _day(inputs, np.intp(slack)),
    }  # fmt: skip
