"""What the watering order's page reads and writes."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pandas as pd
import streamlit as st

from analytics.store import people, preferences, scenarios
from analytics.store.order_told import inputs_read
from analytics.store.statements import query
from analytics.water.order import Order, solve
from analytics.water.pumping import M3_PER_MM_HA
from analytics.water.queue import OrderInputs
from analytics.water.whatif import Change, changed
from dashboard.data import Store, _day, _table, names_apart
from dashboard.data import fields as field_shapes

Told = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """An order with what it was worked out from: as published, or under a change.

    ``order`` tells ``net_mm`` and ``unfilled_mm`` as volumes beside, to be summed.
    """

    order: pd.DataFrame
    plan: pd.DataFrame
    sources: pd.DataFrame
    inputs: OrderInputs


def _whole(store: Store, name: str) -> pd.DataFrame:
    return _table(str(store.path), store.generation, name)


def present(store: Store) -> Laid:
    """Give the published order, ranked first, with the names of fields and sources."""
    order = _whole(store, "order").sort_values("rank", na_position="last", kind="stable")
    return _named(store, order.reset_index(drop=True), _whole(store, "plan"),
                  _whole(store, "order_sources"), inputs(store))  # fmt: skip


def _named(
    store: Store, order: pd.DataFrame, plan: pd.DataFrame, sources: pd.DataFrame,
    given: OrderInputs,
) -> Laid:  # fmt: skip
    names, of = field_names(store), source_names(store)
    hectares = {one.field: one.area_ha for one in given.fields}
    m3_a_mm = order["field"].map(hectares).to_numpy(float) * M3_PER_MM_HA
    return Laid(
        order=order.assign(name=_said(order["field"], names),
                           source_name=_said(order["source"], of),
                           net_m3=order["net_mm"] * m3_a_mm,
                           unfilled_m3=order["unfilled_mm"] * m3_a_mm),
        plan=plan.assign(name=_said(plan["field"], names),
                         source_name=_said(plan["source"], of)),
        sources=sources.assign(name=_said(sources["source"], of)),
        inputs=given,
    )  # fmt: skip


def _said(ids: pd.Series, names: Mapping[str, str]) -> list[str]:
    return [names.get(one, one) if isinstance(one, str) else "" for one in ids]


def field_names(store: Store) -> dict[str, str]:
    """Name every field; where two share a name, the id stands behind it."""
    rows = field_shapes(store)
    return names_apart(rows["field"], rows["name"])


def source_names(store: Store) -> dict[str, str]:
    """Name every source, in the order of their names; where two share one, as fields do."""
    rows = _whole(store, "sources")
    names = rows["name"].replace("", None).fillna(rows["source"])
    return dict(sorted(names_apart(rows["source"], names).items(), key=lambda one: one[1]))


def left_out(store: Store) -> pd.DataFrame:
    """Give what the order cannot judge: field, site, why, name."""
    rows = _whole(store, "order_left_out")
    return rows.assign(name=_said(rows["field"], field_names(store)))


def season_windows(store: Store) -> pd.DataFrame:
    """Give every field's coming season, with the names of fields and sources, by name."""
    rows = _whole(store, "season_windows")
    named = rows.assign(name=_said(rows["field"], field_names(store)),
                        source_name=_said(rows["source"], source_names(store)))  # fmt: skip
    return named.sort_values("name", ignore_index=True)


def season_demand(store: Store, field: str) -> pd.DataFrame:
    """Give what one field's coming crop asks for, by day."""
    rows = _whole(store, "season_demand")
    return rows[rows["field"] == field].sort_values("date", ignore_index=True)


def outlook(store: Store) -> pd.DataFrame:
    """Give the outlook to planting of every site, zones and layers."""
    return _whole(store, "outlook")


def grade(store: Store) -> pd.DataFrame:
    """Give the outlook's grade on its own past."""
    return _whole(store, "outlook_grade")


def recharge(store: Store) -> dict[str, float] | None:
    """Give the farm's own recharge relation (a, b, n, r2, error_mm), None where too thin."""
    rows = _whole(store, "order_inputs")
    told = rows.loc[rows["kind"] == "recharge", "told"]
    return json.loads(told.iloc[0]) if len(told) else None


def inputs(store: Store) -> OrderInputs:
    """Give what the published order was worked out from."""
    return _inputs(str(store.path), store.generation, _day(store), _key(store))


def _key(store: Store) -> str:
    return f"{store.settings}"


@st.cache_resource(max_entries=4, show_spinner=False)
def _inputs(path: str, generation: str, day: date, key: str) -> OrderInputs:
    del key
    table = _table(path, generation, "order_inputs")
    return inputs_read(table, day, preferences.thresholds(Path(path)))


def what_if(store: Store, told: Told) -> Laid:
    """Work the order out under a change; the same change is worked out once.

    Raises
    ------
    InputRefused
        When the change names a source that is not there, or a share out of bounds.
    """
    solved, given = _solved(str(store.path), store.generation, _day(store), _key(store),
                            json.dumps(told, sort_keys=True))  # fmt: skip
    return _named(store, solved.order, solved.plan, solved.sources, given)


@st.cache_resource(max_entries=32, show_spinner=False)
def _solved(
    path: str, generation: str, day: date, key: str, told: str
) -> tuple[Order, OrderInputs]:
    begins = _table(path, generation, "plan").groupby("source")["date"].min().dt.date
    given = _inputs(path, generation, day, key)
    given = changed_by(given, json.loads(told), begins.to_dict())
    return solve(given), given


def changed_by(given: OrderInputs, told: Told, begins: Mapping[str, date]) -> OrderInputs:
    """Put a change as it is saved into the order's inputs.

    Parameters
    ----------
    given : OrderInputs
    told : dict
        Any of ``planting_days``, ``wait_days``, ``off`` (source, from, to), ``capacity``
        (source or "", share), ``allocation`` (source, mm), ``rain`` (mm, day), ``target_mm``,
        ``reliability``, ``ceiling``.
    begins : mapping of source to date
        The present plan's first day of each, from which ``wait_days`` counts.
    """
    every = [one.source for one in given.sources]
    if told.get("wait_days") and len(given.days):
        first = given.days[0].astype("datetime64[D]").item()
        wait = timedelta(days=int(told["wait_days"]) - 1)
        off = {one: (first, day + wait) for one, day in begins.items() if one in every}
        given = changed(given, Change(source_off=off))
    off, rain = told.get("off"), told.get("rain")
    capacity, allocation = told.get("capacity"), told.get("allocation")
    change = Change(
        planting_shift_days=int(told.get("planting_days", 0)),
        source_off={off["source"]: (_iso(off["from"]), _iso(off["to"]))} if off else None,
        capacity_factor=_factors(capacity, every),
        allocation_mm={allocation["source"]: allocation["mm"]} if allocation else None,
        rain_mm_on=(rain["mm"], _iso(rain["day"])) if rain else None,
        target_mm=told.get("target_mm"), reliability=told.get("reliability"),
        ceiling=told.get("ceiling"),
    )  # fmt: skip
    return changed(given, change)


def _iso(day: str) -> date:
    return date.fromisoformat(day)


def _factors(capacity: Told | None, every: list[str]) -> dict[str, float]:
    if not capacity:
        return {}
    named: list[str] = [capacity["source"]] if capacity["source"] else every
    return dict.fromkeys(named, float(capacity["share"]))


def saved(store: Store) -> dict[str, tuple[Told, str, pd.Timestamp]]:
    """Give every named scenario, latest first: what changes, who saved it, when."""
    rows = query(store.path, "show_scenarios")
    return {
        row["name"]: (json.loads(row["told"]), row["author"], row["made_at"])
        for row in rows.to_dict("records")
    }


def save(store: Store, name: str, told: Told, author: str) -> None:
    """Keep a scenario under a name.

    Raises
    ------
    InputRefused
        Without a name or an author.
    """
    scenarios.save(store.path, name, told, author)


def drop(store: Store, name: str) -> None:
    """Forget a scenario."""
    scenarios.remove(store.path, name)


def boundaries(store: Store) -> tuple[Any, pd.DataFrame]:
    """Give the fields' boundaries and the sites, for an export with places."""
    return people.fields(store.path), _whole(store, "sites")
