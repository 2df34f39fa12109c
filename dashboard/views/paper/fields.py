"""Many fields on one page: a grower's or the district's, shortest first, and the order."""

from typing import Any

import pandas as pd

from analytics.report.typeset import Block, table, words
from analytics.units import WATER, System
from dashboard import data
from dashboard.charts.palette import LIGHT
from dashboard.data import watering
from dashboard.views.paper.field import cautions
from dashboard.views.parts import answers
from dashboard.views.parts.district import District
from dashboard.views.parts.measures import bare, measure
from dashboard.views.parts.rows import within
from dashboard.words import day_text
from dashboard.words import order as order_words
from dashboard.words import season as season_words
from dashboard.words import sources as source_words

DEEP = "deep"


def fields_page(store: data.Store, whose: str, system: System) -> list[Block]:
    """Set the page of a grower's fields, or of all fields where nobody is named."""
    district = _district(store, whose, system)
    title, second, rests = answers.district(district)
    laid = watering.present(store)
    order = laid.order[laid.order["field"].isin(district.kept["field"])]
    answer = order_words.answer(order, store.settings.named_from_mm)
    unit = WATER.shown(system).unit
    head = ["Field", "Crop, source", f"Short {district.where}, {unit}", "8 in 10", "Class",
            f"Put on, net {unit}", "From", "To", f"Stays unfilled, {unit}"]  # fmt: skip
    waters = {row["field"]: row for row in order.to_dict("records")}
    lines = [_line(row, waters.get(row["field"]), system)
             for row in district.kept.to_dict("records")]  # fmt: skip
    return [
        words("title", title), words("lead", second), words("note", f"{_whose(whose)}{rests}"),
        words("head", "Fields, shortest first"),
        table(head, lines, words_first=2, widths=[2.2, 2.2, 1.2, 0.9, 1.3, 1, 0.9, 0.9, 1.1]),
        words("head", "What to do"), words("text", answer),
        *_unmet(laid, order, system), *_season(store, district, system), *cautions(),
    ]  # fmt: skip


def _season(store: data.Store, district: District, system: System) -> list[Block]:
    """Set the coming season: when a decision is open, when to run, what to bank."""
    rows = watering.season_windows(store)
    own = rows[rows["field"].isin(district.kept["field"])]
    if own.empty:
        return []
    head = ["Field", "Crop", "Planting", "Capacity", "Peak demand", "Run from", "Run until",
            "Bank"]  # fmt: skip
    lines = [season_words.window_line(row, system) for row in own.to_dict("records")]
    return [words("head", "The season"),
            table(head, lines, words_first=2, widths=[2.2, 1.4, 1, 1.4, 1.4, 1, 1, 1]),
            words("note", f"{season_words.HOW} {season_words.BANK}")]  # fmt: skip


def _district(store: data.Store, whose: str, system: System) -> District:
    day, split = data.dates(store)[0], store.settings.zone_split_cm
    every = data.going_in(store, day, DEEP)
    kept = every[every["grower"] == whose] if whose else every
    return District(
        store=store, palette=LIGHT, day=day, zone=DEEP,
        measure=measure("short", DEEP, system, split), system=system, every=kept, kept=kept,
    )  # fmt: skip


def _whose(whose: str) -> str:
    return f"{whose}. " if whose else ""


def _line(row: dict[Any, Any], water: dict[Any, Any] | None, system: System) -> list[str]:
    if pd.isna(row["deficit_mm"]):
        known = ["—", "—", "not known"]
    else:
        known = [bare(row["deficit_mm"], system), within(row["sd_mm"], system),
                 answers.sure_class(row)]  # fmt: skip
    planned = ["—", "—", "—", "—"]
    if water is not None and pd.notna(water["rank"]):
        net, unfilled = (
            order_words.little_bare(water[key], system) for key in ("net_mm", "unfilled_mm")
        )
        days = (day_text(water[key], year=False) for key in ("starts_on", "ends_on"))
        planned = [net, *days, unfilled]
    return [row["name"], answers.detail_of(row), *known, *planned]


def _unmet(laid: watering.Laid, order: pd.DataFrame, system: System) -> list[Block]:
    """Say what the sources that feed these fields cannot do."""
    own = laid.sources[laid.sources["source"].isin(order["source"].dropna())]
    return [words("text", one) for one in source_words.unmet_words(own, system)]
