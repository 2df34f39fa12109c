"""The steps of the walk: opening, five figures, contrasting pairs, the order of the day."""

from dataclasses import dataclass
from html import escape
from typing import Any

import pandas as pd
import streamlit as st

from analytics.units import WATER, System, text
from analytics.water.contrast import Contrast
from dashboard import words
from dashboard.charts.core_strip import core_label, core_layers, core_svg, data_uri
from dashboard.charts.palette import Palette
from dashboard.charts.tiles import Tile, tiles
from dashboard.data.meeting import Walk
from dashboard.views.parts.answers import line_mm
from dashboard.views.parts.drawing import drawing
from dashboard.views.parts.measures import bare
from dashboard.words import meeting as said

CORE_PX = (150.0, 460.0)
NAMED = "Field "
ORDERED = 10
"""Rows of the order that a room can read."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Room:
    """What every step is drawn from."""

    walk: Walk
    palette: Palette
    system: System
    split_cm: float


def headed(sentence: str) -> None:
    """Head a step in the type of a room."""
    st.html(f'<h1 class="ow-room-head">{escape(sentence)}</h1>')


def opening(room: Room) -> None:
    """Open with every field as a tile, shortest first, and the district's sentence."""
    known = room.walk.rows["deep_deficit_mm"].dropna()
    over = line_mm(known, room.system)
    headed(words.district_answer(short=int((known > over).sum()), of=len(known), over_mm=over,
                                 system=room.system, split_cm=room.split_cm))  # fmt: skip
    _tiles(room, set())


def _tiles(room: Room, marked: set[str]) -> None:
    rows = room.walk.rows.to_dict("records")
    title = said.tiles_title(len(rows), room.system, room.split_cm)
    shown = [
        Tile(name=_short(row["name"]), marked=row["field"] in marked,
             code=row["class"] if isinstance(row["class"], str) else None,
             figure="?" if pd.isna(row["deep_deficit_mm"]) else
             bare(max(row["deep_deficit_mm"], 0.0), room.system))
        for row in rows
    ]  # fmt: skip
    told = f"{title}: " + ", ".join(f"{one.name} {one.figure}" for one in shown)
    st.html(f'<p class="ow-room"><b>{escape(title)}</b></p>')
    drawing(tiles(shown, room.palette, label=told), key="tiles")
    st.html(f'<p class="ow-room ow-muted">{"<br>".join(said.TILES_KEY)}</p>')


def _short(name: str) -> str:
    return name.removeprefix(NAMED)


def five(room: Room) -> None:
    """Tell the winter in five figures."""
    rows, system = room.walk.rows, room.system
    headed("This winter, in five figures.")
    gained = rows["change_mm"].dropna()
    none = int((~(gained * WATER.shown(system).factor).round(1).gt(0)).sum())
    short = rows["deep_deficit_mm"].clip(lower=0)
    figures = (
        text(rows["fell_mm"].median(), WATER, system),
        text(max(gained.median(), 0.0) if len(gained) else None, WATER, system),
        text(short.median(), WATER, system), text(short.max(), WATER, system),
        f"{none} of {len(gained)}",
    )  # fmt: skip
    told = "".join(
        f"<div><b>{escape(figure)}</b><span>{escape(what)}</span></div>"
        for figure, what in zip(figures, said.five_titles(system, room.split_cm), strict=True)
    )
    st.html(f'<div class="ow-five">{told}</div>')


def pair(room: Room, found: Contrast) -> None:
    """Set two fields side by side, and mark them among the tiles."""
    rows = {row["field"]: row for row in room.walk.rows.to_dict("records")}
    first, second = rows[found.shorter], rows[found.other]
    headed(said.contrast_sentence(found, (_lower(first["name"]), _lower(second["name"])),
                                  room.system, room.split_cm))  # fmt: skip
    left, right = st.columns([7, 6], gap="large")
    with left:
        st.html('<div class="ow-cores ow-pair">' + _core(room, first) + _core(room, second)
                + f'</div><p class="ow-room ow-muted">{said.CORE_KEY}</p>')  # fmt: skip
    with right:
        _tiles(room, {found.shorter, found.other})


def _lower(name: str) -> str:
    return f"field {_short(name)}" if name.startswith(NAMED) else name


def _core(room: Room, row: dict[Any, Any]) -> str:
    rows = room.walk.layers[room.walk.layers["site"] == row["site"]]
    upper, deep = (None if pd.isna(row[key]) else row[key]
                   for key in ("upper_deficit_mm", "deep_deficit_mm"))  # fmt: skip
    label = core_label(row["name"], upper, deep, room.system, room.split_cm)
    drawn = core_svg(core_layers(rows), width=CORE_PX[0], height=CORE_PX[1],
                     palette=room.palette, split_cm=room.split_cm, label=label)  # fmt: skip
    above, below = (words.zone_label(one, room.system, room.split_cm)
                    for one in ("upper", "deep"))  # fmt: skip
    return (
        f"<figure><figcaption><b>{escape(row['name'])}</b></figcaption>"
        f'<div><img src="{data_uri(drawn)}" alt="{escape(label)}"><p>'
        f"{escape(words.short_words(upper, room.system))}<br><span>{escape(above)}</span></p>"
        f'<p class="deep"><b>{escape(words.short_words(deep, room.system))}</b><br>'
        f"<span>{escape(below)}</span></p></div></figure>"
    )


def order(room: Room) -> None:
    """End with who is watered first."""
    rows = room.walk.order.dropna(subset=["starts_on"]).sort_values(["starts_on", "rank"])
    rows = rows[[words.is_short(one, room.system) for one in rows["net_mm"]]]
    if rows.empty:
        headed(said.NO_ORDER)
        return
    names = room.walk.rows.set_index("field")["name"].to_dict()
    first = rows.iloc[0]
    headed(f"Water goes to {_lower(names[first['field']])} first, "
           f"from {words.day_text(first['starts_on'], year=False)}.")  # fmt: skip
    body = "".join(
        "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in
                         (names[row["field"]], *said.order_line(row, room.system))) + "</tr>"
        for row in rows.head(ORDERED).to_dict("records")
    )  # fmt: skip
    head = "".join(f'<th scope="col">{one}</th>'
                   for one in ("Field", "Begins", "To store", "Stays unfilled"))  # fmt: skip
    st.html(f'<div class="ow-scroll"><table class="ow-table ow-room-table"><thead><tr>{head}'
            f"</tr></thead><tbody>{body}</tbody></table></div>")  # fmt: skip
    st.html(f'<p class="ow-muted">{escape(" ".join(words.CAUTIONS[:4]))}</p>')
