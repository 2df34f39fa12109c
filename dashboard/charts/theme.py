"""One look for every Altair chart. Pages show them with ``theme=None``, so that it holds."""

from collections.abc import Mapping, Sequence
from typing import Any

import altair as alt
import pandas as pd

from dashboard.charts.palette import Palette

FONTS = "Source Sans, Source Sans Pro, Source Sans 3, sans-serif"
TEXT_PX = 13
LEAST_PX = 12
AXIS_PX, TITLE_PX, PADDING_PX = 26.0, 26.0, 5.0  # of a chart's height
NOMINAL_PX = 880.0  # width of a plot that fills its container, to place labels and hatching

_TICKS = 7
_HOURS_TO = pd.Timedelta(days=2)
_EVERY_DAY_TO = pd.Timedelta(days=8)
_DAYS_TO = pd.Timedelta(days=120)
"""Shorter spans are told by the day: seven ticks of under 101 days are weeks apart."""

Chart = alt.Chart | alt.LayerChart


def layered(layers: Sequence[Any], palette: Palette, **look: Any) -> alt.LayerChart:
    """Lay marks over one another in the fonts, sizes and colours of the theme.

    Altair's own steps to a chart like this (layer, properties, configure) each copy every mark
    over again: half of all that a page did.

    Parameters
    ----------
    layers : sequence of Altair charts
        Each with one mark, and no size, parameter or configuration; from back to front.
    palette : Palette
        Colours.
    **look
        The plot's ``width``, ``height``, ``title``, ``padding``, and ``params``, each of
        which names its view: Altair does not look for them in the marks.
    """
    chart = alt.LayerChart(
        # As wide as its container with the words beside it; the height given is the plot's own.
        autosize=alt.AutoSizeParams(type="fit-x", contains="padding"),
        config=_config(palette),
        **look,
    )
    chart.layer = list(layers)
    return chart


def _config(palette: Palette) -> alt.Config:
    quiet = {"labelColor": palette.muted, "titleColor": palette.muted, "labelFontSize": TEXT_PX,
             "titleFontSize": TEXT_PX, "titleFontWeight": "normal"}  # fmt: skip
    axis = {"domainColor": palette.edge, "tickColor": palette.edge, "gridColor": palette.line,
            "labelPadding": 6, "tickSize": 6, **quiet}  # fmt: skip
    return alt.Config(
        background=palette.ground,
        font=FONTS,
        view={"stroke": None},
        mark={"tooltip": None},  # else Streamlit tells the columns of what is under the pointer
        axis=axis,
        axisX={"grid": False},
        legend={"symbolStrokeColor": palette.edge, **quiet},
        text={"color": palette.ink, "fontSize": TEXT_PX},
        title={
            "anchor": "start",
            "color": palette.muted,
            "fontSize": TEXT_PX,
            "fontWeight": "normal",
            "offset": 10,
        },
    )


def plot_px(width: int | str) -> float:
    """Give the width to place labels by, px, where the container decides the real one."""
    return NOMINAL_PX if isinstance(width, str) else float(width)


def wall_times(values: pd.Series | list[Any]) -> pd.Series:
    """Bring days or instants to naive wall time, which browsers draw as it is written."""
    return pd.Series(
        pd.to_datetime(pd.Series(values).reset_index(drop=True)), dtype="datetime64[us]"
    )


OF_TEN_YEARS = {
    "low": "1 year in 10 under", "middle": "the middle", "high": "1 year in 10 over",
}  # fmt: skip
"""What the columns of a band of past years are called."""


def day_tips(named: Mapping[str, str], unit: str, digits: int) -> list[alt.Tooltip]:
    """Tell a day and its figures under the pointer: by column what each is called."""
    day = alt.Tooltip("date:T", title="Day", format="%-d %b %Y")
    figures = [
        alt.Tooltip(f"{column}:Q", title=f"{title}, {unit}", format=f".{digits}f")
        for column, title in named.items()
    ]
    return [day, *figures]


def time_axis(start: pd.Timestamp, end: pd.Timestamp, field: str = "from") -> alt.X:
    """Make the shared time axis of a record; no two of its ticks bear one label."""
    span = [alt_time(start), alt_time(end)]
    ticks, written = _ticks(end - start)
    return alt.X(
        f"{field}:T",
        scale=alt.Scale(domain=span, nice=False),
        axis=alt.Axis(
            title=None, format=written, tickCount=ticks, labelFlush=True, labelOverlap=True
        ),
    )


def _ticks(span: pd.Timedelta) -> tuple[Any, str]:
    """Choose how many ticks (or at which step), and how they are written, by the span.

    Vega puts a tick every some hours, days, weeks or months; a label coarser than the step
    would stand under several of them.
    """
    if span < _HOURS_TO:
        return _TICKS, "%-d %b %H:%M"
    if span < _EVERY_DAY_TO:
        return alt.TimeIntervalStep(interval="day", step=1), "%-d %b"
    return _TICKS, "%-d %b" if span < _DAYS_TO else "%b %Y"


def alt_time(when: pd.Timestamp) -> alt.DateTime:
    """Write an instant as Altair's own local time."""
    return alt.DateTime(year=when.year, month=when.month, date=when.day, hours=when.hour,
                        minutes=when.minute)  # fmt: skip


def choice(value: str, labels: dict[float, str]) -> str:
    """Write a Vega expression that picks a label for a tick."""
    said = "''"
    for number, label in labels.items():
        said = f"abs({value} - {number:.4f}) < 0.001 ? '{label}' : {said}"
    return said
