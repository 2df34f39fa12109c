"""One field on one page: what it holds, what winter brought, what to do, what it rests on."""

from typing import Any

import pandas as pd

from analytics.report.typeset import Block, beside, picture, table, words
from analytics.units import WATER, System, text
from dashboard import data
from dashboard import words as said
from dashboard.charts import paper
from dashboard.charts.core import core_figure
from dashboard.charts.core_strip import core_layers
from dashboard.charts.depth_time import depth_by_time
from dashboard.charts.palette import LIGHT
from dashboard.charts.spec import spec
from dashboard.charts.tally import tally_waterfall
from dashboard.data import watering
from dashboard.views.parts import answers, field_facts, field_tally, rows, spans
from dashboard.views.parts.controls import OneField, by_need
from dashboard.views.parts.notes import notes
from dashboard.views.parts.tables import zones_rows
from dashboard.words import order as order_words

PICTURE_PX, CORE_PX, TALLY_PX = 250, 210.0, 190


def field_page(store: data.Store, field: str, name: str, system: System) -> list[Block]:
    """Set one field's page.

    Parameters
    ----------
    store : Store
        Assessed.
    field, name : str
        The field's id, and what people call it.
    system : {"in", "mm"}
    """
    day = data.dates(store)[0]
    sites = by_need(data.zones(store, field, day))
    if not sites:
        return [words("title", name), words("text", said.EMPTY_FIELD), *cautions()]
    chosen = OneField(field=field, name=name, day=day, system=system, site=sites[0])
    shown = field_facts.gathered(store, LIGHT, chosen, sites[0])
    title, second, rests = field_facts.answered(shown)
    grower = shown.row["grower"]
    placed = " · ".join(one for one in (grower, shown.placed) if isinstance(one, str) and one)
    return [
        words("title", title), words("lead", second), words("note", f"{placed}. {rests}"),
        *_record(shown), beside([_core(shown), _ledger(shown)], [2, 3]),
        words("head", "What to do"), *_todo(store, field, system),
        words("head", "What this rests on"), words("text", _rests(shown)), *cautions(),
    ]  # fmt: skip


def cautions() -> list[Block]:
    """Close a page with what a reader must keep in mind."""
    return [words("note", " ".join(said.CAUTIONS))]


def _record(shown: field_facts.Shown) -> list[Block]:
    """Draw the whole record, layer by layer and week by week."""
    start = shown.first_day
    weekly = data.weekly(shown.store, shown.site, start, shown.day)
    if weekly.empty:
        return []
    noted = notes(shown, start, float(weekly["bottom_cm"].max()))
    seasons = spans.strip(shown.seasons, start, shown.day)
    drawn = depth_by_time(weekly, seasons, noted, LIGHT, shown.system, width=paper.WIDTH_PX,
                          height=PICTURE_PX, split_cm=shown.split_cm,
                          root_limit_cm=shown.root_limit_cm)  # fmt: skip
    told = f"Class of fill of each layer by week since {said.day_text(start)}"
    return [words("head", "Each layer, week by week, to scale"),
            picture(paper.svg_of(spec(drawn)), told)]  # fmt: skip


def _core(shown: field_facts.Shown) -> list[Block]:
    label = rows.label_of(shown.row, shown.system, shown.split_cm)
    upper, deep = shown.row["upper_deficit_mm"], shown.row["deep_deficit_mm"]
    drawn = core_figure(
        core_layers(shown.layers), shown.system, LIGHT, label=label, height=CORE_PX,
        upper_mm=None if pd.isna(upper) else float(upper),
        deep_mm=None if pd.isna(deep) else float(deep), split_cm=shown.split_cm,
        root_limit_cm=shown.root_limit_cm,
    )  # fmt: skip
    return [words("head", f"The core on {said.day_text(shown.day)}"),
            picture(paper.sized(drawn), label)]  # fmt: skip


def _ledger(shown: field_facts.Shown) -> list[Block]:
    """Draw the latest off-season's tally, and list what each zone holds."""
    zones = table(*zones_rows(shown.zones, shown.system, shown.split_cm))
    every = data.tally(shown.store, shown.site, shown.day)
    latest = every[every["from"] == every["from"].max()]
    whole = latest[latest["depth_cm"].isna()].to_dict("records")
    if not whole or pd.isna(whole[0]["change_mm"]):
        return [words("head", "What each zone holds"), zones]
    row = {**field_tally.deepest(whole[0], latest), "early": False}
    drawn = tally_waterfall(row, shown.system, LIGHT, width=520, height=TALLY_PX)
    span = order_words.span_text(row["from"], row["to"])
    return [
        words("head", f"Off-season tally, {span}"),
        picture(paper.svg_of(spec(drawn)), "Off-season tally"),
        words("note", field_tally.stayed(row, shown)), zones,
    ]  # fmt: skip


def _todo(store: data.Store, field: str, system: System) -> list[Block]:
    """Say what the watering order says of the field."""
    order = watering.present(store).order
    found: list[dict[Any, Any]] = order[order["field"] == field].to_dict("records")
    if not found:
        left = watering.left_out(store)
        why = left.loc[left["field"] == field, "why"].drop_duplicates()
        told = words("text", "The watering order does not judge this field.")
        return [told, *(words("note", str(one)) for one in why)]
    row = found[0]
    if pd.isna(row["rank"]) or row["net_mm"] <= 0:
        return [words("text", order_words.reason(row, system))]
    net, gross = (text(row[key], WATER, system) for key in ("net_mm", "gross_mm"))
    when = order_words.span_text(row["starts_on"], row["ends_on"])
    put = (
        f"Number {row['rank']} in the watering order: put on {net} net, {gross} gross, from "
        f"{row['source_name']}, {when}."
    )
    return [words("text", put), words("text", order_words.reason(row, system))]


def _rests(shown: field_facts.Shown) -> str:
    facts = [f"{name}: {fact}" for name, fact in field_facts.listed(shown)]
    lines = [one.rstrip(".") for one in answers.told_of(shown.row, shown.system)]
    return ". ".join([*facts, *lines]) + "."
