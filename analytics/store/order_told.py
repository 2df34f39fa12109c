"""What the order rests on, written as JSON into a result table and read back for what-if."""

import json
from dataclasses import asdict, fields
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd

from analytics.settings import Settings
from analytics.water.queue import OrderInputs, Source, Thirst
from analytics.water.target import Winters

_DATES = ("planting", "spring_from", "available_from", "available_until")


def field_told(one: Thirst) -> str:
    """Write a field's case for water down."""
    told = _named(one)
    told["lacking_mm"] = np.round(one.lacking_mm, 4).tolist()
    told["winters"] = None if one.winters is None else _winters_told(one.winters)
    told["frozen"] = None if one.frozen is None else np.flatnonzero(one.frozen).tolist()
    return json.dumps({**told, **_dates(told)})


def _winters_told(one: Winters) -> dict[str, Any]:
    return {name: np.round(mm, 4).tolist() for name, mm in _named(one).items()}


def _named(one: Thirst | Winters) -> dict[str, Any]:
    """Name its parts, of which ``asdict`` would copy every array."""
    return {part.name: getattr(one, part.name) for part in fields(one)}


def source_told(one: Source) -> str:
    """Write a source down; an allocation that there is not becomes null."""
    told = asdict(one)
    if np.isnan(one.allocation_mm):
        told["allocation_mm"] = None
    told["off"] = [[begin.isoformat(), end.isoformat()] for begin, end in one.off]
    return json.dumps({**told, **_dates(told)})


def _dates(told: dict[str, Any]) -> dict[str, str | None]:
    return {
        name: None if told[name] is None else told[name].isoformat()
        for name in _DATES
        if name in told
    }


def inputs_read(table: pd.DataFrame, as_of: date, settings: Settings) -> OrderInputs:
    """Read the order's inputs back out of the ``order_inputs`` table.

    Parameters
    ----------
    table : DataFrame
        Columns kind, name, told.
    as_of : date
        The days of the order begin on the next one.
    settings : Settings

    Returns
    -------
    OrderInputs
        As they were told, so that solving them gives the published order again.
    """
    rows = [(row["kind"], json.loads(row["told"])) for row in table.to_dict("records")]
    told = [one for kind, one in rows if kind == "field"]
    last = max((date.fromisoformat(one["planting"]) for one in told), default=as_of)
    count = max((last - as_of).days - 1, 0)
    start = np.datetime64(as_of + timedelta(days=1), "D")
    return OrderInputs(
        fields=tuple(_field(one, count) for one in told),
        sources=tuple(_source(one) for kind, one in rows if kind == "source"),
        days=start + np.arange(count), settings=settings,
    )  # fmt: skip


def _days(told: dict[str, Any]) -> dict[str, date | None]:
    return {
        name: None if told[name] is None else date.fromisoformat(told[name])
        for name in _DATES
        if name in told
    }


def _field(told: dict[str, Any], count: int) -> Thirst:
    frozen = None
    if told["frozen"] is not None:
        frozen = np.isin(np.arange(count), told["frozen"])
    steps = tuple((mm, chance) for mm, chance in told["steps"])
    lacking = np.array(told["lacking_mm"], np.float64)
    read = {"steps": steps, "lacking_mm": lacking, "frozen": frozen}
    return Thirst(**{**told, **_days(told), **read, "winters": _winters(told["winters"])})


def _winters(told: dict[str, Any] | None) -> Winters | None:
    if told is None:
        return None
    years: dict[str, Any] = {
        name: np.array(mm, np.float64) if isinstance(mm, list) else mm
        for name, mm in told.items()
    }
    return Winters(**years)


def _source(told: dict[str, Any]) -> Source:
    given = told["allocation_mm"]
    off = tuple((date.fromisoformat(one), date.fromisoformat(two)) for one, two in told["off"])
    allocation = float("nan") if given is None else given
    return Source(**{**told, **_days(told), "off": off, "allocation_mm": allocation})
