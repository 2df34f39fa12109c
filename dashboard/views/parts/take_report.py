"""Buttons for the pages to take away; a page is set when it is asked for."""

from collections.abc import Callable
from dataclasses import replace

import streamlit as st

from analytics.units import System
from dashboard import data
from dashboard.charts.palette import LIGHT
from dashboard.views.paper.made import Asked, report
from dashboard.views.paper.slides import slides_of
from dashboard.views.parts.meeting_told import Room
from dashboard.views.parts.offer import offer
from dashboard.words import day_text

PPTX = "application/vnd.openxmlformats-officedocument.presentationml.presentation"


def one_field(store: data.Store, field: str, system: System) -> None:
    """Offer a field's page."""
    _button("This field on one page, PDF", f"{field}-{store.as_of}", "report_field",
            lambda: _made(store, Asked(fields=(field,), system=system)))  # fmt: skip


def all_fields(store: data.Store, system: System) -> None:
    """Offer the page of all fields, by name and by letter."""
    with st.container(horizontal=True):
        _button("All fields on paper, PDF", f"fields-{store.as_of}", "report_all",
                lambda: _made(store, Asked(system=system)))  # fmt: skip
        masked = Asked(masked=True, system=system)
        _button("The same with letters for names", f"fields-masked-{store.as_of}",
                "report_masked", lambda: _made(store, masked))  # fmt: skip


def slides(store: data.Store, room: Room) -> None:
    """Offer the walk as slides, masked or not as it is on the screen."""
    paper = replace(room, palette=LIGHT)
    offer("These steps as slides, PPTX", lambda: slides_of(paper, day_text(store.as_of)),
          file_name=f"meeting-{store.as_of}.pptx", mime=PPTX, key="meeting_slides",
          kind="tertiary")  # fmt: skip


def _made(store: data.Store, asked: Asked) -> bytes:
    return report(store, asked, lambda *_: None)


def _button(label: str, name: str, key: str, make: Callable[[], bytes]) -> None:
    offer(label, make, file_name=f"{name}.pdf", mime="application/pdf", key=key,
          kind="tertiary")  # fmt: skip
