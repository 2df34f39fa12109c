"""A crop's root zone by day: what the probe read, the refill point, and what is to come."""

from collections.abc import Mapping
from typing import Any

import altair as alt
import pandas as pd

from analytics.units import WATER, Shown, System
from dashboard.charts.palette import BAND, Palette
from dashboard.charts.theme import LEAST_PX, OF_TEN_YEARS, day_tips, layered

HEIGHT = 340
PLACED = {"hold": 1.0, "run": 0.7, "start": 0.4}
"""Where along its line each choice is named, so that close lines do not hide each other."""
DASHES = {"hold": [6, 4], "run": [1, 0], "start": [8, 3, 2, 3]}


def root_zone_chart(
    told: pd.DataFrame,
    ahead: Mapping[str, pd.DataFrame],
    palette: Palette,
    system: System,
    *,
    width: int | str = "container",
    height: int = HEIGHT,
) -> alt.LayerChart:
    """Draw depletion by day, full at the top, with what is to come.

    Parameters
    ----------
    told : DataFrame
        date, probe_mm, alone_mm, ready_mm. Not empty.
    ahead : mapping of name to DataFrame
        ``hold``, ``run``, ``start``: date, low_mm, middle_mm, high_mm, ready_mm; may be empty.
    palette : Palette
    system : {"in", "mm"}
    width, height : int or "container"
    """
    shown = WATER.shown(system)
    past = told.assign(**{name: told[f"{name}_mm"] * shown.factor
                          for name in ("probe", "alone", "ready")})  # fmt: skip
    past = past[["date", "probe", "alone", "ready"]]
    x = alt.X("date:T", axis=alt.Axis(title=None, format="%-d %b", labelOverlap=True))
    scale = alt.Scale(zero=True, nice=True, reverse=True)
    y = alt.Axis(title=None)
    tips = day_tips({"probe": "by the probe", "alone": "by the balance alone",
                     "ready": "refill point"}, f"{shown.unit} short", shown.digits)  # fmt: skip
    base = alt.Chart(past).encode(x=x, tooltip=tips)
    layers: list[Any] = [
        *_to_come(ahead, palette, shown, scale),
        base.mark_line(color=palette.low, strokeWidth=2).encode(
            y=alt.Y("ready:Q", axis=y, scale=scale)
        ),
        base.mark_point(color=palette.muted, filled=True, size=6, opacity=0.8).encode(
            y=alt.Y("alone:Q", scale=scale)
        ),
        base.mark_line(color=palette.ink, strokeWidth=2.4).encode(
            y=alt.Y("probe:Q", scale=scale)
        ),
        _named(past, palette),
    ]
    title = f"{shown.unit} missing within the roots"
    return layered(layers, palette, width=width, height=height, title=title)


def _to_come(
    ahead: Mapping[str, pd.DataFrame], palette: Palette, unit: Shown, scale: alt.Scale
) -> list[Any]:
    out: list[Any] = []
    named = {**OF_TEN_YEARS, "ready": "refill point"}
    tips = day_tips(named, f"{unit.unit} short", unit.digits)
    for name, frame in ahead.items():
        if frame.empty:
            continue
        shown = frame.assign(**{one: frame[f"{one}_mm"] * unit.factor
                                for one in ("low", "middle", "high", "ready")})  # fmt: skip
        shown = shown[["date", "low", "middle", "high", "ready"]]
        base = alt.Chart(shown).encode(x=alt.X("date:T"), tooltip=tips)
        if name == "hold":
            out += [
                base.mark_area(color=palette.edge, opacity=BAND).encode(
                    y=alt.Y("low:Q", scale=scale), y2=alt.Y2("high")
                ),
                base.mark_line(color=palette.low, strokeWidth=2).encode(
                    y=alt.Y("ready:Q", scale=scale)
                ),
            ]
        out.append(
            base.mark_line(color=palette.highlight, strokeWidth=2.2, strokeDash=DASHES[name])
            .encode(y=alt.Y("middle:Q", scale=scale))
        )  # fmt: skip
        at = int((len(shown) - 1) * PLACED[name])
        end = shown.iloc[[at]].assign(words=name)
        out.append(
            alt.Chart(end).mark_text(align="right", dy=-8, fontSize=LEAST_PX + 1,
                                     color=palette.highlight)
            .encode(x=alt.X("date:T"), y=alt.Y("middle:Q", scale=scale),
                    text=alt.Text("words:N"))
        )  # fmt: skip
    return out


def _named(past: pd.DataFrame, palette: Palette) -> Any:
    """Name the refill line where the past ends."""
    last = past.tail(1).assign(words="refill point")
    return (
        alt.Chart(last).mark_text(align="right", dx=-4, dy=-7, fontSize=LEAST_PX + 1,
                                  color=palette.low)
        .encode(x=alt.X("date:T"), y=alt.Y("ready:Q"), text=alt.Text("words:N"))
    )  # fmt: skip
