"""The panels of the Neighbours page."""

from html import escape
from typing import Any

import numpy as np
import pandas as pd
import streamlit as st

from analytics.units import DEPTH, WATER, text
from analytics.water.compare import laid_onto
from dashboard import words
from dashboard.charts.core_strip import core_layers, core_svg, data_uri
from dashboard.charts.neighbours import Column, side_by_side, spread
from dashboard.charts.palette import Palette
from dashboard.charts.spec import sent
from dashboard.views.parts import frame, rows
from dashboard.views.parts.downloads import chart_makers, csv_text, drawing_makers, take
from dashboard.views.parts.measures import bare
from dashboard.views.parts.neighbours_gathered import Beside, Group
from dashboard.views.parts.order_drawing import wide_drawing
from dashboard.views.parts.tables import table
from dashboard.words import neighbours as said

CORE_PX = (64.0, 200.0)


def headed(group: Group) -> None:
    """Answer first."""
    stale = [_stale(one, group) for one in group.all]
    name = group.mine.row["name"]
    frame.answer(
        said.alone(name)
        if group.alone
        else said.answer(name, group.found, group.system, group.split_cm),
        said.second(group.found),
        said.rests(group.mine.row["basis"], stale[0], sum(bool(one) for one in stale[1:])),
    )


def _stale(one: Beside, group: Group) -> str:
    return rows.stale_of(one.row, group.store, group.day)


def cores(group: Group) -> None:
    """Show every field's core, with what it grew, drank and stands in."""
    frame.heading("Side by side", "right edge: full · tick: what the crop left")
    figures = "".join(_core(one, group) for one in group.all)
    st.html(f'<div class="ow-cores ow-beside">{figures}</div>')


def _core(one: Beside, group: Group) -> str:
    row, system = one.row, group.system
    label = rows.label_of(row, system, group.split_cm)
    picture = core_svg(
        core_layers(one.layers), width=CORE_PX[0], height=CORE_PX[1], palette=group.palette,
        label=label, split_cm=group.split_cm,
    )  # fmt: skip
    away = "chosen" if one is group.mine else f"{said.away(row['km'], system)} away"
    lines = [
        away,
        _stale(one, group),
        *_grown(row),
        _text(row["soil"]),
        _text(row["source_name"]),
    ]
    under = "".join(f"{escape(part)}<br>" for part in lines if part)
    short = words.short_words(_or_none(row["deep_deficit_mm"]), system)
    return (
        f'<figure><img src="{data_uri(picture)}" alt="{escape(label)}">'
        f"<figcaption><b>{escape(row['name'])}</b>{escape(short)}<br>{under}</figcaption></figure>"
    )


def _grown(row: dict[Any, Any]) -> list[str]:
    if not isinstance(row["last_crop"], str):
        return []
    growing = not pd.isna(row["growing"]) and row["growing"]
    return [f"{'under' if growing else 'after'} {row['last_crop']}"]


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""


def _or_none(value: Any) -> Any:
    return None if value is None or pd.isna(value) else value


def ranked(group: Group) -> None:
    """Show the comparison, with what could explain it in the same row."""
    system, unit = group.system, WATER.shown(group.system).unit
    where = words.zone_label("deep", system, group.split_cm)
    frame.heading(f"Short {where}, and what stands behind it")
    head = ["Field", "Away", f"Short {where}, {unit}", "8 in 10", "Against the first",
            "Down to", "Last crop", f"Put on under it, {unit}", f"Put on since, {unit}",
            f"Rain and snow since, {unit}", "Soil", "Source", "Full point"]  # fmt: skip
    shown = [_ranked(one, group) for one in group.all]
    table(head, shown)
    frame.muted(said.RANKED_KEY)
    take(
        group, "beside", {"CSV": lambda: csv_text(pd.DataFrame(shown, columns=pd.Index(head)))}
    )


def _ranked(one: Beside, group: Group) -> list[str]:
    row, system = one.row, group.system
    short = row["deep_deficit_mm"]
    water = ["—" if pd.isna(row[key]) else bare(row[key], system)
             for key in ("crop_mm", "since_mm", "fell_mm")]  # fmt: skip
    return [
        said.named(row["name"], _stale(one, group)),
        "—" if one.found is None else said.away(row["km"], system),
        "—" if pd.isna(short) else bare(max(short, 0.0), system),
        rows.within(row["sd_mm"], system) or "—",
        "—" if one.found is None else said.said_of(one.found, system),
        "—" if one.found is None else words.depth_text(one.floor_cm, system),
        _text(row["last_crop"]) or "—", *water,
        _text(row["soil"]) or "—", _text(row["source_name"]) or "—",
        words.basis_words(row["basis"]),
    ]  # fmt: skip


def columns(group: Group) -> None:
    """Show each layer's water of every field, on one scale."""
    frame.heading("Layer by layer, on one scale")
    drawn = [
        Column(name=one.row["name"], under=", ".join(_grown(one.row)),
               layers=core_layers(one.layers))
        for one in group.all
    ]  # fmt: skip
    label = "; ".join(rows.label_of(one.row, group.system, group.split_cm) for one in group.all)

    def draw(palette: Palette) -> str:
        return side_by_side(drawn, group.system, palette, label=label, split_cm=group.split_cm)

    wide_drawing(draw(group.palette), key="neighbours_drawn")
    frame.muted(said.COLUMNS_KEY)
    every = pd.concat([one.layers for one in group.all], ignore_index=True)
    take(group, "layers", drawing_makers(draw, lambda: every))


def winter(group: Group) -> None:
    """Show what each crop left and the off-season gave, on the layers of the field chosen."""
    frame.heading("What each crop left, and what the same winter gave",
                  WATER.shown(group.system).unit)  # fmt: skip
    onto = group.mine.layers[["top_cm", "bottom_cm"]].to_numpy(float)
    laid = [_laid(one, group, onto) for one in group.all]
    depth = DEPTH.shown(group.system).unit
    head = [f"Layer, {depth}", *(one.row["name"] for one in group.all)]
    shown = [
        [words.layer_label(top, bottom, group.system),
         *(_cell(left[i], gave[i], group) for left, gave in laid)]
        for i, (top, bottom) in enumerate(onto)
    ]  # fmt: skip
    sums = [_cell(float(np.sum(left)), float(np.sum(gave)), group) for left, gave in laid]
    table(head, [*shown, ["All of them", *sums]], sums=1)
    frame.muted(said.WINTER_KEY)
    take(
        group, "winter", {"CSV": lambda: csv_text(pd.DataFrame(shown, columns=pd.Index(head)))}
    )


def _laid(one: Beside, group: Group, onto: Any) -> tuple[Any, Any]:
    edges = one.layers[["top_cm", "bottom_cm"]].to_numpy(float)
    left = (one.layers["left_mm"] - one.layers["lower_mm"]).to_numpy(float)
    own = group.winters[group.winters["site"] == one.row["site"]]
    gave = own[["top_cm", "bottom_cm"]].to_numpy(float)
    return (
        laid_onto(edges, left, onto),
        laid_onto(gave, own["change_mm"].to_numpy(float), onto),
    )


def _cell(left: float, gave: float, group: Group) -> str:
    first = "—" if pd.isna(left) else bare(left, group.system)
    then = "—" if pd.isna(gave) else bare(gave, group.system, signed=True)
    return first if first == then == "—" else f"{first} · {then}"


def district(group: Group) -> None:
    """Show how short the district's fields are, by last crop and by source."""
    where = words.zone_label("deep", group.system, group.split_cm)
    title = f"short {where}, {WATER.shown(group.system).unit}"
    left, right = st.columns(2, gap="small")
    for place, key, head in (
        (left, "last_crop", "last crop"),
        (right, "source_name", "source"),
    ):
        with place, st.container(border=True):
            frame.heading(f"The district by {head}", words.counted(len(group.every), "field"))
            _spread(group, key, title)
    frame.muted(said.SPREAD_KEY)


def _spread(group: Group, key: str, title: str) -> None:
    known = group.every.dropna(subset=["deep_deficit_mm"])
    shown = pd.DataFrame({
        "field": known["field"], "name": known["name"],
        "group": known[key].where(known[key].notna(), "not said"),
        "short_mm": known["deep_deficit_mm"].clip(lower=0),
    })  # fmt: skip
    if shown.empty:
        frame.muted(said.NO_SPREAD)
        return
    middle = shown.groupby("group")["short_mm"].median()
    told = "; ".join(f"{one}: middle field {text(value, WATER, group.system)} short"
                     for one, value in middle.items())  # fmt: skip

    def draw(palette: Palette, width: int | str) -> Any:
        return spread(
            shown, group.system, palette, chosen=group.field, title=title, width=width
        )

    st.vega_lite_chart(
        sent(draw(group.palette, "container")), theme=None, width="stretch", alt=told
    )
    take(group, f"by-{key.replace('_', '-')}", chart_makers(draw, lambda: shown))
