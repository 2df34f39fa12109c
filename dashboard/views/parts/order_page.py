"""What the watering order's page shows, gathered once, and the rows of its pictures."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.units import System
from analytics.water.queue import OrderInputs, Source, Thirst, has_water
from dashboard import data, words
from dashboard.charts.core_strip import CoreLayer
from dashboard.charts.order import OrderRow
from dashboard.charts.order_compared import Pair
from dashboard.charts.palette import Palette
from dashboard.data import watering
from dashboard.data.watering import Laid
from dashboard.views.parts.answers import crop_of
from dashboard.views.parts.rows import cores
from dashboard.words import order as order_words

Spans = tuple[tuple[date, date], ...]
Core = tuple[CoreLayer, ...]

DRAWN = 60
"""Fields in the picture: of a thousand it would be thirty screens long, and seven megabytes."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shown:
    """The order of the chosen source (``chosen`` empty: all), and what is known of its fields.

    ``fields`` has a row a field by id, as ``data.going_in`` gives it for the whole profile.
    """

    store: data.Store
    palette: Palette
    system: System
    chosen: str
    laid: Laid
    fields: pd.DataFrame
    day: str
    today: date

    @property
    def key(self) -> tuple[str, ...]:
        """What the page's pictures and tables depend on beside the store."""
        return (self.chosen, self.system, self.palette.theme)


def gathered(store: data.Store, palette: Palette, system: System, chosen: str) -> Shown:
    """Gather the page; the store has been assessed."""
    day = data.dates(store)[0]
    rows = data.going_in(store, day, "profile").set_index("field")
    return Shown(
        store=store, palette=palette, system=system, chosen=chosen, fields=rows, day=day,
        laid=of_source(watering.present(store), chosen),
        today=store.as_of or date.fromisoformat(day),
    )  # fmt: skip


def of_source(laid: Laid, chosen: str) -> Laid:
    """Keep what one source waters; its fields are ranked anew from 1."""
    if not chosen:
        return laid
    order, plan, sources = (
        one[one["source"] == chosen].reset_index(drop=True)
        for one in (laid.order, laid.plan, laid.sources)
    )
    rank = pd.Series(np.arange(1, len(order) + 1), index=order.index, dtype="Int64")
    return Laid(order=order.assign(rank=rank.where(order["rank"].notna())), plan=plan,
                sources=sources, inputs=laid.inputs)  # fmt: skip


def ranked(laid: Laid) -> pd.DataFrame:
    """Give the rows of the order that have a rank: fields worth watering."""
    return laid.order[laid.order["rank"].notna()]


def picture_rows(shown: Shown) -> list[OrderRow]:
    """Give a row a field that is drawn, in rank."""
    drawn, plan = ranked(shown.laid).head(DRAWN), shown.laid.plan
    cases = {one.field: one for one in shown.laid.inputs.fields}
    waters = blocks(plan[plan["field"].isin(drawn["field"])])
    inside = _cores(shown, drawn["field"])
    return [_row(row, cases[row["field"]], waters.get(row["field"], ()),
                 inside.get(row["field"], ()), shown)
            for row in drawn.to_dict("records")]  # fmt: skip


def _cores(shown: Shown, drawn: pd.Series) -> dict[str, Core]:
    sites = shown.fields["site"].reindex(drawn).dropna()
    own = cores(shown.store, shown.day, set(sites))
    return {str(field): own.get(str(site), ()) for field, site in sites.items()}


def _row(row: dict[Any, Any], one: Thirst, own: Spans, core: Core, shown: Shown) -> OrderRow:
    given = shown.laid.inputs
    source = given.source_of(one)
    dry = one.planting - timedelta(days=int(given.settings.dry_off_days))
    crop = crop_of(dict(shown.fields.loc[one.field])) if one.field in shown.fields.index else ""
    short = words.short_words(row["need_mm"], shown.system)
    return OrderRow(
        rank=str(row["rank"]), name=row["name"], core=core,
        detail=" · ".join(part for part in (crop, short) if part), net_mm=row["net_mm"],
        stays_mm=row["stored_mm"], target_mm=row["target_mm"], short_mm=row["need_mm"],
        latest=words.as_day(row["latest_start_alone"]), blocks=own, planting=one.planting,
        dry_off=dry, share=row["share_of_allocation"],
        unfilled_mm=order_words.lacking_mm(row), frozen=_frozen(one, given),
        shut=() if source is None else _shut(source, shown.today, dry),
    )  # fmt: skip


def _frozen(one: Thirst, given: OrderInputs) -> Spans:
    return () if one.frozen is None else runs(given.days[one.frozen])


def _shut(source: Source, today: date, until: date) -> Spans:
    """Stretches up to a day in which a source gives no water."""
    days = np.arange(np.datetime64(today, "D"), np.datetime64(until, "D") + 1)
    return runs(days[~has_water(source, days)])


def blocks(plan: pd.DataFrame) -> dict[str, Spans]:
    """Give each field's stretches of watering days without a break."""
    return {
        str(field): runs(rows["date"].to_numpy("datetime64[D]"))
        for field, rows in plan.groupby("field")
    }


def runs(days: NDArray[np.datetime64]) -> Spans:
    """Gather days into stretches without a break, both ends in."""
    ordered = np.sort(days.astype("datetime64[D]"))
    if not len(ordered):
        return ()
    parts = np.split(ordered, np.flatnonzero(np.diff(ordered).astype(int) > 1) + 1)
    return tuple((part[0].item(), part[-1].item()) for part in parts)


def pairs(now: Laid, then: Laid) -> list[Pair]:
    """Set two plans beside each other: fields that either waters or leaves short."""
    old, new = (one.order.set_index("field") for one in (now, then))
    before, after = blocks(now.plan), blocks(then.plan)
    out = []
    for field in dict.fromkeys([*old.index, *new.index]):
        one, two = old.loc[field], new.loc[field]
        if pd.isna(one["rank"]) and pd.isna(two["rank"]):
            continue
        a, b = before.get(str(field), ()), after.get(str(field), ())
        close = np.isclose(one["net_mm"], two["net_mm"], atol=0.1)
        was, is_now = (order_words.lacking_mm(row) for row in (one, two))
        same = a == b and close and np.isclose(was, is_now, atol=0.1)
        out.append(Pair(name=one["name"], now=a, then=b, now_unfilled_mm=was,
                        then_unfilled_mm=is_now, differs=not same))  # fmt: skip
    return out
