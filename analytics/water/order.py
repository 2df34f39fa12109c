"""Which field first, how much, by when."""

import json
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

import numpy as np
import pandas as pd

from analytics.model import Floats
from analytics.water.deadlines import Shortfall, latest_start_alone, queue_slack, shortfall
from analytics.water.plan import in_blocks
from analytics.water.programme import Programme, Solved, gross_m3_a_mm, optimum
from analytics.water.pumping import M3_PER_MM_HA
from analytics.water.queue import OrderInputs, Source, Thirst, worth_watering

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


def solve(inputs: OrderInputs) -> Order:
    """Work out the order, the calendar and what cannot be met.

    Parameters
    ----------
    inputs : OrderInputs

    Returns
    -------
    Order
        Every field of ``inputs`` has a row in ``order``; only those worth watering a rank.
        ``reason`` is JSON: a ``code`` (water, water_part, not_reached, keeps_too_little,
        no_source, no_capacity, none_needed) and the numbers that its sentence needs.
        ``net_mm`` reaches
        the soil, ``gross_mm`` is pumped, ``stored_mm`` still there at planting,
        ``unfilled_mm`` the target less that. ``queue_slack_days`` is the source's.

    Notes
    -----
    Solved source by source: the fields of one share nothing with those of another. Of many
    equal optima a solver takes any, and a change to one source must not move another's
    calendar.
    """
    alone = [_alone(inputs, one) for one in inputs.sources]
    net, stored = np.zeros((len(inputs.fields), len(inputs.days))), np.zeros(len(inputs.fields))
    for one in alone:
        rows = inputs.rows_of(one.source.source)
        net[rows], stored[rows] = one.solved.net_mm, one.solved.stored_mm
    net = in_blocks(inputs, net)
    net[net < DUST_MM] = 0.0
    frame = _fields(inputs, stored, net)
    sources = _sources(alone)
    slack = dict(zip(sources["source"], sources["queue_slack_days"], strict=True))
    frame["queue_slack_days"] = frame["source"].map(slack).astype(np.float64)
    ranked = _ranked(inputs, frame)
    return Order(
        order=ranked[ORDER_COLUMNS], plan=_plan(inputs, net), sources=sources,
        worth=sum(one.solved.worth for one in alone),
    )  # fmt: skip


class _Alone(NamedTuple):
    """One source with its fields, their programme and its optimum."""

    source: Source
    inputs: OrderInputs
    made: Programme
    solved: Solved


def _alone(inputs: OrderInputs, source: Source) -> _Alone:
    own = inputs.of_source(source.source)
    return _Alone(source, own, *optimum(own))


def _fields(inputs: OrderInputs, stored_mm: Floats, net: Floats) -> pd.DataFrame:
    m3 = gross_m3_a_mm(inputs)
    rows = [
        _field(inputs, at, float(stored_mm[at]), net[at], float(m3[at]))
        for at in range(len(inputs.fields))
    ]
    later = {"rank", "queue_slack_days", "reason"}
    return pd.DataFrame(rows, columns=[one for one in ORDER_COLUMNS if one not in later])


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


def _ranked(inputs: OrderInputs, frame: pd.DataFrame) -> pd.DataFrame:
    """Sort: watered first by first day, then those that lack water, then the rest."""
    wanted = np.array([worth_watering(inputs, one) for one in inputs.fields], bool)
    frame = frame.assign(
        _class=np.where(~wanted, 2, np.where(frame["net_mm"] > 0, 0, 1)),
        _merit=-frame["chance"].fillna(0.0)
        * [one.worth * max(one.stored_spring, one.stored_autumn) for one in inputs.fields],
        **{name: _dates(frame[name]) for name in DATES},
        reason=[
            json.dumps(_reason(inputs, one, own, row))
            for one, own, row in zip(
                inputs.fields, wanted, frame.to_dict("records"), strict=True
            )
        ],
    )
    keys = ["_class", "starts_on", "latest_start_alone", "_merit", "field"]
    frame = frame.sort_values(keys, ignore_index=True, na_position="first")
    rank = pd.Series(np.arange(1, len(frame) + 1), dtype="Int64")
    return frame.assign(rank=rank.where(frame["_class"] < 2))  # noqa: PLR2004 - 2 wants none


def _dates(days: pd.Series) -> pd.Series:
    return pd.to_datetime(days).astype("datetime64[us]")


def _reason(inputs: OrderInputs, one: Thirst, wanted: np.bool_, row: dict) -> dict[str, object]:
    facts = {
        name: round(float(row[name]), 3)
        for name in ("need_mm", "target_mm", "net_mm", "gross_mm", "stored_mm", "unfilled_mm",
                     "chance")
        if np.isfinite(row[name])
    }  # fmt: skip
    dates = {
        name: row[name].isoformat()
        for name in DATES
        if row[name] is not None and not pd.isna(row[name])
    }
    return {
        "code": _code(inputs, one, row, wanted=bool(wanted)), **facts, **dates,
        "planting": one.planting.isoformat(), "why": one.why,
    }  # fmt: skip


def _code(inputs: OrderInputs, one: Thirst, row: dict, *, wanted: bool) -> str:
    if one.target_mm <= inputs.settings.least_water_mm:
        return "none_needed"
    if inputs.source_of(one) is None:
        return "no_capacity" if one.source else "no_source"
    if not wanted:
        return "keeps_too_little"
    if row["net_mm"] <= 0:
        return "not_reached"
    enough = row["unfilled_mm"] <= inputs.settings.least_water_mm
    return "water" if enough else "water_part"


def _plan(inputs: OrderInputs, net: Floats) -> pd.DataFrame:
    field, day = np.nonzero(net)
    given = [inputs.source_of(one) for one in inputs.fields]
    efficiency = np.array([it.efficiency if it is not None else np.nan for it in given])
    frame = pd.DataFrame({
        "field": [inputs.fields[at].field for at in field],
        "source": [inputs.fields[at].source for at in field],
        "date": inputs.days[day].astype("datetime64[us]"),
        "net_mm": net[field, day],
        "gross_mm": net[field, day] / efficiency[field] if len(field) else np.empty(0),
    })  # fmt: skip
    return frame.sort_values(["date", "source", "field"], ignore_index=True)[PLAN_COLUMNS]


def _sources(alone: list[_Alone]) -> pd.DataFrame:
    rows: list[dict[str, object]] = []
    for source, own, made, solved in alone:
        said = shortfall(own, made, solved)
        slack = queue_slack(own, solved)
        gross = said.given_mm * said.area_ha * M3_PER_MM_HA / source.efficiency
        whole = source.allocation_mm * source.group_ha * M3_PER_MM_HA
        rows.append({
            "source": source.source, **_columns(said), "given_m3": gross,
            "hours": gross / source.m3_a_day * 24.0 if source.m3_a_day > 0 else 0.0,
            "share_of_allocation": gross / whole if whole > 0 else np.nan,
            "queue_slack_days": np.nan if slack is None else float(slack),
            "begin_by": None if slack is None else _day(own, np.intp(slack)),
        })  # fmt: skip
    columns = [*_columns(_NOTHING), "given_m3", "hours", "share_of_allocation",
               "queue_slack_days", "begin_by"]  # fmt: skip
    return pd.DataFrame(rows, columns=["source", *columns])


_NOTHING = Shortfall(area_ha=0.0, wanted_mm=0.0, given_mm=0.0, by=None, limits=(),
                     extra_l_s=None, extra_allocation_mm=None)  # fmt: skip


def _columns(said: Shortfall) -> dict[str, object]:
    return {
        "area_ha": said.area_ha, "wanted_mm": said.wanted_mm, "given_mm": said.given_mm,
        "by": said.by, "limits": ",".join(said.limits), "extra_l_s": said.extra_l_s,
        "extra_allocation_mm": said.extra_allocation_mm,
    }  # fmt: skip
