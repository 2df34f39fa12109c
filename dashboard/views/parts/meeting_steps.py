"""The steps of the walk: opening, five figures, contrasting pairs, the order of the day."""

from html import escape

import streamlit as st

from analytics.water.contrast import Contrast
from dashboard import words
from dashboard.charts.core_strip import data_uri
from dashboard.views.parts import meeting_told
from dashboard.views.parts.district import District
from dashboard.views.parts.drawing import drawing
from dashboard.views.parts.map_panel import map_panel, shown_frame
from dashboard.views.parts.meeting_told import Core, Room
from dashboard.views.parts.scrolling import scrolling
from dashboard.words import meeting as said


def headed(sentence: str) -> None:
    """Head a step in the type of a room."""
    st.html(f'<h1 class="ow-room-head">{escape(sentence)}</h1>')


def opening(room: Room, district: District | None) -> None:
    """Open with the district's sentence over every field: the map, or tiles without places."""
    sentence, note = meeting_told.opening(room)
    headed(sentence)
    if note:
        st.html(f'<p class="ow-room ow-muted">{escape(note)}</p>')
    if district is None:
        _tiles(room, set())
    else:
        map_panel(district, shown_frame(district), None)


def _tiles(room: Room, marked: set[str]) -> None:
    drawn = meeting_told.fields_as_tiles(room, marked)
    st.html(f'<p class="ow-room"><b>{escape(drawn.title)}</b></p>')
    drawing(drawn.svg, key="tiles")
    st.html(f'<p class="ow-room ow-muted">{"<br>".join(said.TILES_KEY)}</p>')


def five(room: Room) -> None:
    """Tell the off-season in five figures."""
    headed(meeting_told.FIVE_HEAD)
    told = "".join(
        f"<div><b>{escape(figure)}</b><span>{escape(what)}</span></div>"
        for figure, what in meeting_told.five(room)
    )
    st.html(f'<div class="ow-five">{told}</div>')


def pair(room: Room, found: Contrast) -> None:
    """Set two fields side by side, and mark them among the tiles."""
    sentence, cores = meeting_told.pair(room, found)
    headed(sentence)
    left, right = st.columns([7, 6], gap="large")
    with left:
        st.html('<div class="ow-cores ow-pair">' + "".join(_core(one) for one in cores)
                + f'</div><p class="ow-room ow-muted">{said.CORE_KEY}</p>')  # fmt: skip
    with right:
        _tiles(room, {found.shorter, found.other})


def _core(one: Core) -> str:
    (upper, above), (deep, below) = one.zones
    return (
        f"<figure><figcaption><b>{escape(one.name)}</b></figcaption>"
        f'<div><img src="{data_uri(one.svg)}" alt="{escape(one.label)}"><p>'
        f"{escape(upper)}<br><span>{escape(above)}</span></p>"
        f'<p class="deep"><b>{escape(deep)}</b><br>'
        f"<span>{escape(below)}</span></p></div></figure>"
    )


def order(room: Room) -> None:
    """End with who is watered first."""
    sentence, rows = meeting_told.order(room)
    headed(sentence)
    if not rows:
        return
    body = "".join(
        "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in rows
    )
    head = "".join(f'<th scope="col">{one}</th>' for one in meeting_told.ORDER_HEAD)
    made = (
        f'<table class="ow-table ow-room-table"><thead><tr>{head}</tr></thead>'
        f"<tbody>{body}</tbody></table>"
    )
    st.html(scrolling(made, meeting_told.ORDER_HEAD))
    st.html(f'<p class="ow-muted">{escape(" ".join(words.CAUTIONS[:4]))}</p>')
