"""A chart on a field's page: drawn once, kept, shown, and offered to take away."""

from collections.abc import Callable
from typing import Any

import pandas as pd
import streamlit as st

from dashboard.charts.palette import Palette
from dashboard.charts.spec import sent
from dashboard.views.parts.downloads import chart_makers, take
from dashboard.views.parts.field_facts import Shown

Draw = Callable[[Palette, int | str], Any]
FILLS = "container"
_KEPT = 48


def picture(
    shown: Shown, name: str, told: str, draw: Draw, table: Callable[[], pd.DataFrame], *of: str
) -> None:
    """Show a chart and what can be taken away of it.

    Parameters
    ----------
    shown : Shown
        The page.
    name : str
        Of the chart among the page's charts, and of its files.
    told : str
        The chart in words, for who cannot see it.
    draw : callable
        Palette and width in px (or ``FILLS``) to the chart.
    table : callable
        Gives the table that the chart is drawn from.
    *of : str
        What else the chart depends on beside page, date, units and theme.
    """
    store = shown.store
    key = (str(store.path), store.generation, repr(store.settings), shown.field, shown.site,
           shown.day, shown.system, shown.palette.ground, name, *of)  # fmt: skip
    drawn = _kept(key, lambda: sent(draw(shown.palette, FILLS)))
    st.vega_lite_chart(drawn, theme=None, width="stretch", alt=told)
    take(shown, name, chart_makers(draw, table))


@st.cache_data(max_entries=_KEPT, show_spinner=False)
def _kept(key: tuple[str, ...], _draw: Callable[[], dict[str, Any]]) -> dict[str, Any]:
    del key
    return _draw()
