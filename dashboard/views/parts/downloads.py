"""What a page lets a person take away: each picture and each table, made when it is asked for.

Pictures are drawn in the light theme: they are for paper. Nothing is fetched from anywhere.
"""

from collections.abc import Callable, Mapping
from typing import Any, Protocol

import pandas as pd
import streamlit as st

from dashboard import data
from dashboard.charts import paper
from dashboard.charts.palette import LIGHT, Palette
from dashboard.charts.spec import spec
from dashboard.views.parts import frame
from dashboard.views.parts.field_facts import Shown
from dashboard.views.parts.offer import offer

MIMES = {"CSV": "text/csv", "SVG": "image/svg+xml", "PNG": "image/png"}
Makers = Mapping[str, Callable[[], str | bytes]]


class About(Protocol):
    """What a file that is taken away is named after."""

    @property
    def field(self) -> str:
        """Of which field it tells."""
        ...

    @property
    def day(self) -> str:
        """Of which day, ISO."""
        ...


_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def csv_text(table: pd.DataFrame) -> str:
    """Write a table as CSV in which no text can be taken for a formula by a spreadsheet.

    A text that starts like a formula gets an apostrophe before it; numbers stay as they are.
    """
    inert = table.copy()
    for name in inert.columns:
        if pd.api.types.is_string_dtype(inert[name]) or inert[name].dtype == object:
            inert[name] = [_inert(one) for one in inert[name]]
    return inert.to_csv(index=False)


def _inert(value: Any) -> Any:
    return f"'{value}" if isinstance(value, str) and value.startswith(_FORMULA) else value


def chart_makers(draw: Callable[[Palette, int], Any], table: Callable[[], Any]) -> Makers:
    """Make a chart's pictures, and the table that it was drawn from."""
    return {
        "SVG": lambda: paper.svg_of(spec(draw(LIGHT, paper.WIDTH_PX))),
        "PNG": lambda: paper.png_of(spec(draw(LIGHT, paper.WIDTH_PX))),
        "CSV": lambda: csv_text(table()),
    }


def drawing_makers(draw: Callable[[Palette], str], table: Callable[[], Any]) -> Makers:
    """Make a drawing's pictures, and the table that it was drawn from."""
    return {
        "SVG": lambda: paper.sized(draw(LIGHT)),
        "PNG": lambda: paper.png_of_svg(draw(LIGHT)),
        "CSV": lambda: csv_text(table()),
    }


def take(shown: About, name: str, makers: Makers) -> None:
    """Show a small button for each form in which something can be taken away."""
    with st.container(horizontal=True, horizontal_alignment="right", gap="small"):
        for form, make in makers.items():
            offer(form, make, file_name=f"{shown.field}-{name}-{shown.day}.{form.lower()}",
                  mime=MIMES[form], key=f"take_{name}_{form}", kind="tertiary")  # fmt: skip


def downloads(shown: Shown) -> None:
    """Show one button a table behind the page; a table is read only when it is asked for."""
    store, site, day, first = shown.store, shown.site, shown.day, shown.first_day
    tables: dict[str, Callable[[], pd.DataFrame]] = {
        "readiness": lambda: pd.concat([shown.zones, shown.layers], ignore_index=True),
        "tally": lambda: data.tally(store, site, day),
        "wettings": lambda: data.wettings(store, site, first, day),
        "wetting layers": lambda: data.wetting_layers(store, site, first, day),
        "limits": lambda: data.limits(store, site),
        "weekly": lambda: data.weekly(store, site, first, day),
        "flags": lambda: data.flags(store, site, first, day),
        "gaps": lambda: data.gaps(store, site, first, day),
    }
    with st.expander("Take the tables away"):
        frame.muted(
            "CSV; water in mm, depth in cm, water content in m³/m³, whatever is shown above."
        )
        with st.container(horizontal=True):
            for name, read in tables.items():
                offer(
                    name, lambda read=read: csv_text(read()), mime="text/csv",
                    file_name=f"{shown.field}-{name.replace(' ', '-')}-{day}.csv",
                    key=f"take_{name}",
                )  # fmt: skip
