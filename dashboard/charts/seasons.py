"""Draw this season over earlier ones, on one axis of days since the year's first."""

from datetime import date

import altair as alt
import pandas as pd

from analytics.units import WATER, System
from dashboard.charts.palette import Palette
from dashboard.charts.theme import LEAST_PX, TEXT_PX, choice, layered

_LABEL_PX = 15.0
_ROOM = 1.06
_YEAR_DAYS = 366


def season_over_season(
    frame: pd.DataFrame,
    zone: str,
    system: System,
    palette: Palette,
    *,
    month: int,
    width: int | str = "container",
    height: int = 280,
) -> alt.LayerChart:
    """Draw the water of a zone through each year.

    Parameters
    ----------
    frame : DataFrame
        Columns season (label), day (since the year's first), date, water_mm, full_mm, current.
        A day without a value breaks the line.
    zone : str
        Label of the zone, as ``words.zone_label`` writes it.
    system : {"in", "mm"}
        Units.
    palette : Palette
        Colours.
    month : int
        The one that the years begin with.
    width : int or "container"
        Px.
    height : int
        Px.
    """
    shown = _shown(frame, system)
    x = _x(month)
    top = float(pd.concat([shown["water"], shown["full"]]).max(skipna=True)) * _ROOM
    scale = alt.Scale(domain=[0, top if top > 0 else 1.0], nice=False, zero=True)
    layers = [*_full(shown, palette, scale, x), *_lines(shown, palette, scale, x),
              *_labels(shown, palette, scale, height, x)]  # fmt: skip
    unit = "inches of water" if system == "in" else "mm of water"
    return layered(layers, palette, width=width, height=height, title=f"{unit}, {zone}")


def _shown(frame: pd.DataFrame, system: System) -> pd.DataFrame:
    factor = WATER.shown(system).factor
    return pd.DataFrame({
        "season": frame["season"].astype(str), "day": frame["day"].astype(float),
        "date": pd.to_datetime(frame["date"]).dt.strftime("%-d %b %Y"),
        "water": frame["water_mm"].astype(float) * factor,
        "full": frame["full_mm"].astype(float) * factor,
        "current": frame["current"].astype(bool),
    }).sort_values(["season", "day"], ignore_index=True)  # fmt: skip


def _x(month: int) -> alt.X:
    days = _months(month)
    axis = alt.Axis(values=[*days], labelExpr=choice("datum.value", days), title=None)
    return alt.X("day:Q", scale=alt.Scale(domain=[0, _YEAR_DAYS], nice=False), axis=axis)


def _months(month: int) -> dict[float, str]:
    """Name every other month by its first day, counted from a month's in no leap year."""
    first = date(2001, month, 1)
    days = [date(2001 + at // 12, at % 12 + 1, 1) for at in range(month - 1, month + 11, 2)]
    return {float((day - first).days): f"{day:%b}" for day in days}


def _y(scale: alt.Scale, field: str = "water") -> alt.Y:
    return alt.Y(f"{field}:Q", scale=scale,
                 axis=alt.Axis(title=None, tickCount=5, domain=False, ticks=False))  # fmt: skip


def _lines(
    shown: pd.DataFrame, palette: Palette, scale: alt.Scale, x: alt.X
) -> list[alt.Chart]:
    unit_tip = [alt.Tooltip("season:N", title="Season"), alt.Tooltip("date:N", title="Day"),
                alt.Tooltip("water:Q", title="Water", format=".1f")]  # fmt: skip
    layers = []
    for current, colour, px in ((False, palette.edge, 1.2), (True, palette.ink, 2.6)):
        some = shown[shown["current"] == current]
        if not some.empty:
            layers.append(
                alt.Chart(some.drop(columns=["full", "current"]))
                .mark_line(color=colour, strokeWidth=px)
                .encode(x=x, y=_y(scale), detail=alt.Detail("season:N"), tooltip=unit_tip)
            )
    return layers


def _full(shown: pd.DataFrame, palette: Palette, scale: alt.Scale, x: alt.X) -> list[alt.Chart]:
    """Draw where the zone would be full, as the current season (else the last) has it."""
    now = shown[shown["current"]] if shown["current"].any() else shown
    known = now["full"].dropna()
    if known.empty:
        return []
    line = pd.DataFrame({"water": [float(known.iloc[-1])], "day": [0.0], "words": ["full"]})
    rule = alt.Chart(line).mark_rule(color=palette.ink, strokeWidth=1.4, strokeDash=[5, 4])
    words = alt.Chart(line).mark_text(align="left", dx=6, dy=9, color=palette.ink)
    return [
        rule.encode(y=_y(scale)),
        words.encode(x=x, y=_y(scale), text=alt.Text("words:N")),
    ]


def _labels(
    shown: pd.DataFrame, palette: Palette, scale: alt.Scale, height: int, x: alt.X
) -> list[alt.Chart]:
    """Name each line at its end, apart from one another."""
    ends = shown.dropna(subset=["water"]).groupby("season", sort=False).tail(1)
    if ends.empty:
        return []
    apart = _LABEL_PX / height * float(scale.to_dict()["domain"][1])
    earlier, now = ends[~ends["current"]], ends[ends["current"]]
    layers = []
    looks = (
        (earlier, {"color": palette.muted, "fontSize": LEAST_PX}),
        (now, {"color": palette.ink, "fontSize": TEXT_PX, "fontWeight": "bold"}),
    )
    for some, look in looks:
        if some.empty:
            continue
        top = float(scale.to_dict()["domain"][1])
        placed = _apart(some[["season", "day", "water"]], apart, top)
        base = alt.Chart(placed).encode(x=x, y=_y(scale), text=alt.Text("season:N"))
        put = {"align": "left", "dx": 7, "baseline": "middle", **look}
        halo = {**put, "color": palette.ground, "stroke": palette.ground}
        layers += [base.mark_text(**halo, strokeWidth=4), base.mark_text(**put)]
    if not now.empty:
        dot = alt.Chart(now[["day", "water"]]).mark_point(
            filled=True, size=60, color=palette.ink, opacity=1
        )
        layers.append(dot.encode(x=x, y=_y(scale)))
    return layers


def _apart(ends: pd.DataFrame, least: float, top: float) -> pd.DataFrame:
    """Move names apart by at least ``least``: up first, then down from the top of the axis."""
    ordered = ends.sort_values("water", ignore_index=True)
    water = [*ordered["water"]]
    for i in range(1, len(water)):
        water[i] = max(water[i], water[i - 1] + least)
    water[-1] = min(water[-1], top - least / 2)
    for i in range(len(water) - 2, -1, -1):
        water[i] = min(water[i], water[i + 1] - least)
    return ordered.assign(water=water)
