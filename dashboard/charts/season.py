"""What a crop asks for by day beside what its source can give."""

from typing import Any

import altair as alt
import pandas as pd

from analytics.units import WATER, System
from dashboard.charts.palette import BAND, SHADE, Palette
from dashboard.charts.theme import LEAST_PX, OF_TEN_YEARS, day_tips, layered

HEIGHT = 320


def demand_and_capacity(
    days: pd.DataFrame,
    window: dict[Any, Any],
    palette: Palette,
    system: System,
    *,
    width: int | str = "container",
    height: int = HEIGHT,
) -> alt.LayerChart:
    """Draw demand as a band with its middle, capacity as a rule, the weeks to run as a field.

    Parameters
    ----------
    days : DataFrame
        date, low_mm_d, middle_mm_d, high_mm_d, sure_mm_d. Not empty.
    window : dict
        capacity_mm_d, run_from, run_until, and water_from and water_until where the
        source's dates cut the season; all but the first may be missing.
    palette : Palette
    system : {"in", "mm"}
    width, height : int or "container"
    """
    shown = WATER.shown(system)
    frame = days.assign(**{
        name.removesuffix("_mm_d"): days[name] * shown.factor
        for name in ("low_mm_d", "middle_mm_d", "high_mm_d", "sure_mm_d")
    })  # fmt: skip
    frame = frame[["date", "low", "middle", "high", "sure"]]
    x = alt.X("date:T", axis=alt.Axis(title=None, format="%-d %b", labelOverlap=True))
    y = alt.Y("high:Q", axis=alt.Axis(title=None), scale=alt.Scale(zero=True, nice=True))
    named = {**OF_TEN_YEARS, "sure": "the reliability"}
    tips = day_tips(named, f"{shown.unit} a day", shown.digits + 1)
    base = alt.Chart(frame).encode(x=x, tooltip=tips)
    layers: list[Any] = [
        *_run(window, palette),
        base.mark_area(color=palette.edge, opacity=BAND).encode(y=y, y2=alt.Y2("low")),
        base.mark_line(color=palette.muted, strokeWidth=2).encode(y=alt.Y("middle:Q")),
        base.mark_line(color=palette.ink, strokeWidth=1.4, strokeDash=[2, 3]).encode(
            y=alt.Y("sure:Q")
        ),
        *_capacity(window, frame, palette, shown.factor),
    ]
    title = (
        f"{shown.unit} a day: band 1 to 9 of 10 years, line the middle, dots the reliability"
    )
    return layered(layers, palette, width=width, height=height, title=title)


def _run(window: dict[Any, Any], palette: Palette) -> list[Any]:
    if pd.isna(window["run_from"]):
        return []
    span = pd.DataFrame({"from": [window["run_from"]], "to": [window["run_until"]],
                         "words": ["run"]})  # fmt: skip
    base = alt.Chart(span).encode(x=alt.X("from:T"))
    field = base.mark_rect(color=palette.line, opacity=SHADE).encode(x2=alt.X2("to:T"))
    words = base.mark_text(align="left", baseline="top", dx=6, color=palette.ink,
                           fontSize=LEAST_PX + 1, fontWeight="bold", y=6)  # fmt: skip
    return [field, words.encode(text=alt.Text("words:N"))]


def _capacity(
    window: dict[Any, Any], frame: pd.DataFrame, palette: Palette, factor: float
) -> list[Any]:
    first, last = frame["date"].iloc[0], frame["date"].iloc[-1]
    begins, ends = (
        usual if pd.isna(window[key]) else pd.Timestamp(window[key])
        for key, usual in (("water_from", first), ("water_until", last))
    )
    if pd.isna(window["capacity_mm_d"]) or begins > last or ends < first:
        return []
    line = pd.DataFrame({"at": [window["capacity_mm_d"] * factor], "from": [begins],
                         "to": [ends], "words": ["capacity"]})  # fmt: skip
    base = alt.Chart(line).encode(y=alt.Y("at:Q"))
    words = base.mark_text(align="left", baseline="bottom", dx=4, dy=-3,
                           fontSize=LEAST_PX + 1, color=palette.highlight)  # fmt: skip
    rule = base.mark_rule(color=palette.highlight, strokeWidth=2.4)
    span = rule.encode(x=alt.X("from:T"), x2=alt.X2("to:T"))
    return [span, words.encode(x=alt.X("from:T"), text=alt.Text("words:N"))]
