"""The watering order's answer, picture and table, what cannot be met, and the outlook."""

from html import escape
from typing import Any

import pandas as pd
import streamlit as st

from analytics.units import WATER, System
from analytics.water.queue import allocation_begins
from dashboard import words
from dashboard.charts.order import FOLDS, Totals, order_figure
from dashboard.data import kept, watering
from dashboard.views.parts import frame, order_page
from dashboard.views.parts.answers import stands_in
from dashboard.views.parts.measures import bare
from dashboard.views.parts.order_drawing import wide_drawing
from dashboard.views.parts.order_page import Shown, picture_rows, ranked
from dashboard.views.parts.record_tables import text_table
from dashboard.views.parts.tables import table
from dashboard.words import order as said
from dashboard.words import sources as source_words


def answer(shown: Shown, *, known: bool) -> None:
    """Answer the page's question, with the evidence under it."""
    order = shown.laid.order
    if not known:
        frame.answer(said.NO_SOURCES, said.NO_SOURCES_DO, said.FIRST)
    elif order.empty:
        frame.answer(said.NONE_JUDGED, "Why not, field by field, stands below.", said.FIRST)
    else:
        second = ""
        if order["rank"].notna().any():
            own = set(shown.laid.sources["source"])
            flow = sum(one.capacity_l_s for one in shown.laid.inputs.sources
                       if one.source in own)  # fmt: skip
            second = said.second(order, shown.laid.sources, flow, shown.system)
        least = shown.store.settings.named_from_mm
        frame.answer(said.answer(order, least), second, said.FIRST)


def picture(shown: Shown) -> None:
    """Draw the order, a row a field."""
    most = order_page.DRAWN
    figure = kept.once(
        shown.store, ("order figure", *shown.key, str(most)), lambda: figure_of(shown)
    )
    wide_drawing(figure, key="order_figure", folds=FOLDS)
    order = ranked(shown.laid)
    if len(order) > most:
        frame.muted(said.drawn_words(most, len(order)))
    frame.muted(said.KEEPS)
    quarter = shown.store.settings.quarter_share
    frame.muted(said.quarter_words(order["share_of_allocation"], quarter))


def figure_of(shown: Shown) -> str:
    """Draw the order as SVG."""
    short = said.partly(shown.laid.order)
    shares = shown.laid.sources["share_of_allocation"].dropna()
    totals = Totals(
        share=words.percent(shares.iloc[0]) if len(shares) == 1 else "",
        unfilled=said.unfilled(short, shown.system) if len(short) else "none",
        quarter=shown.store.settings.quarter_share,
    )
    return order_figure(picture_rows(shown), shown.today, totals, shown.system, shown.palette,
                        split_cm=shown.store.settings.zone_split_cm)  # fmt: skip


def unmet(shown: Shown) -> None:
    """Say plainly what the sources cannot do, and of a few what would put it right."""
    for short in source_words.unmet_words(shown.laid.sources, shown.system):
        st.html(f'<p class="ow-second">{escape(short)}</p>')


def sources(shown: Shown) -> None:
    """Say how late each source's queue may begin; more than a few stand in a table."""
    rows = shown.laid.sources
    first = shown.laid.plan.groupby("source")["date"].min()
    frame.muted(source_words.slack_words(rows, first))
    for more in (source_words.standing_words(_standing(shown)), _spent(shown)):
        if more:
            frame.muted(more)
    if len(rows) > said.NAMED:
        with st.container(border=True):
            frame.heading("Source by source", f"{len(rows)} sources")
            table(*source_rows(rows, first, shown.system), tall=True)


def _standing(shown: Shown) -> dict[str, int]:
    """Count the fields under a standing crop by source, of those that this order draws on."""
    order, names = shown.laid.order, watering.source_names(shown.store)
    waters = set(order.loc[order["net_mm"] > 0, "source"])
    fed = shown.fields.loc[
        stands_in(shown.fields) & shown.fields["source"].isin(waters), "source"
    ]
    return {names[str(source)]: int(count) for source, count in fed.value_counts().items()}


def _spent(shown: Shown) -> str:
    """Say what of each source's allocation is spent already; nothing where nothing is."""
    names = dict(zip(shown.laid.sources["source"], shown.laid.sources["name"], strict=True))
    shares = {names[one.source]: one.used_share for one in shown.laid.inputs.sources
              if one.source in names}  # fmt: skip
    return source_words.spent_words(
        shares, allocation_begins(shown.today, shown.store.settings)
    )


def source_rows(
    sources: pd.DataFrame, planned: pd.Series, system: System
) -> tuple[list[str], list[list[str]]]:
    """Give the head and rows of a table of sources, the one that falls shortest first.

    ``planned`` has each source's first day of watering in the plan, by source.
    """
    unit = WATER.shown(system).unit
    head = ["Source", f"Puts on, {unit}", f"Of wanted, {unit}", "Spends of allocation",
            "First day", "May begin by", "What would fill all"]  # fmt: skip
    short = (sources["wanted_mm"] - sources["given_mm"]).fillna(0.0)
    rows = sources.loc[short.sort_values(ascending=False, kind="stable").index]
    return head, [_source_line(row, planned, system) for row in rows.to_dict("records")]


def _source_line(row: dict[Any, Any], planned: pd.Series, system: System) -> list[str]:
    return [
        row["name"],
        *(bare(row[key], system) for key in ("given_mm", "wanted_mm")),
        words.percent(row["share_of_allocation"]),
        words.day_text(planned.get(row["source"]), year=False),
        words.day_text(row["begin_by"], year=False),
        source_words.takes(row, system),
    ]  # fmt: skip


def reasons(shown: Shown) -> None:
    """List every field that is worth watering, with its figures and the reason for its rank."""
    order = ranked(shown.laid)
    frame.heading(
        "Every field of the order, and why it stands there", words.counted(len(order), "field")
    )
    unit = WATER.shown(shown.system).unit
    head = ["Rank and field", "Source", f"Net, {unit}", f"Gross, {unit}", "Hours", "First day",
            "Last day", "Latest start", "Allocation", f"Unfilled, {unit}"]  # fmt: skip
    lines, why, of_all = kept.once(shown.store, ("order lines", *shown.key),
                                    lambda: _lines(order, shown.system))  # fmt: skip
    table(head, lines, tall=True)
    with st.expander("Why each stands where it does"):
        if of_all:
            frame.muted(of_all)
        text_table(["Field", "Why"], why)


def _lines(order: pd.DataFrame, system: System) -> tuple[list[list[str]], list[list[str]], str]:
    """Write each field's figures and the reason for its rank; then what holds of all."""
    rows, once = order.to_dict("records"), said.settled(order)
    why = [
        [f"{row['rank']} {row['name']}", said.reason(row, system, once=once)] for row in rows
    ]
    of_all = " ".join(one for one in (said.OF_ALL.get(once, ""), said.weights(order)) if one)
    return [_line(row, system) for row in rows], why, of_all


def _line(row: dict[Any, Any], system: System) -> list[str]:
    net, gross, unfilled = (
        said.little_bare(mm, system)
        for mm in (row["net_mm"], row["gross_mm"], said.lacking_mm(row))
    )
    return [
        f"{row['rank']} {row['name']}", row["source_name"] or "none",
        net, gross, f"{row['hours']:.0f}",
        *(words.day_text(row[key], year=False)
          for key in ("starts_on", "ends_on", "latest_start_alone")),
        words.percent(row["share_of_allocation"]), unfilled,
    ]  # fmt: skip


def dry(shown: Shown) -> None:
    """Name the fields that get no water, and those that cannot be judged, with the reason."""
    order = shown.laid.order[shown.laid.order["rank"].isna()]
    lines = [[row["name"], said.reason(row, shown.system)] for row in order.to_dict("records")]
    fields = set(order["field"])
    if not shown.chosen:
        left = watering.left_out(shown.store)
        fields |= set(left["field"])
        lines += [[f"{row['name']}: not judged", str(row["why"])]
                  for row in left.to_dict("records")]  # fmt: skip
    if lines:
        count = words.counted(len(fields), "field")
        with st.expander(f"No water before planting: {count}, and why",
                         expanded=len(fields) == len(shown.fields)):  # fmt: skip
            text_table(["Field", "Why"], lines)


def outlook(shown: Shown) -> None:
    """Show what past winters make of today's soil, and how good such forecasts were."""
    rows = watering.outlook(shown.store)
    if rows.empty:
        return
    with st.container(border=True):
        frame.heading("Outlook to planting, without watering", "short at planting, 8 in 10")
        st.html(
            f'<p class="ow-second">'
            f"{said.grade_words(watering.grade(shown.store), shown.system)}</p>"
        )
        frame.muted(said.recharge_words(watering.recharge(shown.store)))
        with st.expander("Field by field"):
            _outlook_table(rows, shown)


def _outlook_table(rows: pd.DataFrame, shown: Shown) -> None:
    unit = WATER.shown(shown.system).unit
    lines = kept.once(shown.store, ("outlook lines", *shown.key),
                      lambda: _outlook_lines(rows, shown))  # fmt: skip
    table(
        ["Field", "Zone", f"Short now, {unit}", "At planting: least", "likely", "most",
         "Fills meanwhile", "Years"],
        lines, tall=True,
    )  # fmt: skip


def _outlook_lines(rows: pd.DataFrame, shown: Shown) -> list[list[str]]:
    split, system = shown.store.settings.zone_split_cm, shown.system
    names = watering.field_names(shown.store)
    own = rows[rows["zone"].isin(["upper", "deep", "profile"])]
    if shown.chosen:
        own = own[own["field"].isin(shown.laid.order["field"])]
    return [
        [str(names.get(row["field"], row["field"])),
         words.zone_label(row["zone"], system, split),
         *(said.little_bare(row[key], system)
           for key in ("now_mm", "low_mm", "likely_mm", "high_mm")),
         words.percent(row["chance_full"]),
         str(row["years"])]
        for row in own.to_dict("records")
    ]  # fmt: skip
