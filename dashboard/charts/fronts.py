"""Over the bands of a record: water on its way down, and the frost that hides it."""

from typing import Any

import altair as alt
import pandas as pd

from dashboard.charts.bands import Bands
from dashboard.charts.palette import Palette
from dashboard.charts.strip import Span
from dashboard.charts.texture import Box, dotting
from dashboard.charts.theme import LEAST_PX, wall_times

MOST_NAMED = 3
_LETTER_PX = 6.6
_SURFACE = 0.0


def front_layers(
    fronts: pd.DataFrame, bands: Bands, span: Span, palette: Palette
) -> list[alt.Chart]:
    """Draw each wetting as a line from the surface through the layers it reached.

    Parameters
    ----------
    fronts : DataFrame
        Columns start (which wetting), time (arrival), depth_cm, stored_mm (of the wetting),
        told (for the pointer) and label; one row a layer reached, downwards. May be empty.
        The few that stored most are named by their label where they end.
    bands : Bands
        Where each depth lies.
    span : Span
        The plot.
    palette : Palette
        Colours.
    """
    some = fronts[fronts["depth_cm"].isin(bands.depths)]
    if some.empty:
        return []
    arrived = pd.DataFrame({
        "wetting": some["start"].astype(str).to_numpy(), "from": wall_times(some["time"]),
        "at": bands.floor(some["depth_cm"]).to_numpy() - 0.5, "told": list(some["told"]),
    })  # fmt: skip
    begun = pd.DataFrame({
        "wetting": some["start"].astype(str).to_numpy(), "from": wall_times(some["start"]),
        "at": _SURFACE, "told": list(some["told"]),
    }).drop_duplicates("wetting")  # fmt: skip
    path = pd.concat([begun, arrived], ignore_index=True)
    path = path[path["from"].between(span.start, span.end)].sort_values(
        ["wetting", "at"], ignore_index=True
    )
    tips = [alt.Tooltip("told:N", title="Wetting")]
    base = alt.Chart(path).encode(x=span.x(), y=span.y("at"), tooltip=tips)
    line = base.mark_line(color=palette.highlight, strokeWidth=1.3, opacity=0.9)
    dots = alt.Chart(path[path["at"] > _SURFACE]).mark_circle(
        color=palette.highlight, size=16, opacity=1
    )
    return [
        line.encode(detail=alt.Detail("wetting:N"), order=alt.Order("at:Q")),
        dots.encode(x=span.x(), y=span.y("at"), tooltip=tips),
        *_names(some, bands, span, palette),
    ]


def _names(some: pd.DataFrame, bands: Bands, span: Span, palette: Palette) -> list[alt.Chart]:
    """Name the few largest at the depth they reached, where the name touches no other."""
    ends = some.groupby("start", as_index=False).agg(
        {"time": "last", "depth_cm": "max", "stored_mm": "first", "label": "first"}
    )
    ends = ends[wall_times(ends["time"]).between(span.start, span.end).to_numpy()]
    placed: list[dict[str, Any]] = []
    for row in ends.sort_values("stored_mm", ascending=False).to_dict("records"):
        wide = len(row["label"]) * _LETTER_PX
        left = min(span.px(pd.Timestamp(row["time"])) + 6, span.width_px - wide)
        at = float(bands.floor(pd.Series([row["depth_cm"]])).iloc[0]) - 0.5
        one = {"from": span.when(left), "at": at, "label": row["label"], "left": left,
               "right": left + wide}  # fmt: skip
        if not any(_touch(one, other) for other in placed):
            placed.append(one)
        if len(placed) == MOST_NAMED:
            break
    if not placed:
        return []
    base = alt.Chart(pd.DataFrame(placed)[["from", "at", "label"]]).encode(
        x=span.x(), y=span.y("at"), text=alt.Text("label:N")
    )
    put = {"align": "left", "baseline": "middle", "fontSize": LEAST_PX, "fontWeight": 600}
    return [base.mark_text(**put, stroke=palette.ground, strokeWidth=4, strokeJoin="round"),
            base.mark_text(**put, color=palette.highlight)]  # fmt: skip


def _touch(one: dict[str, Any], other: dict[str, Any]) -> bool:
    apart = one["right"] < other["left"] or other["right"] < one["left"]
    return not apart and abs(one["at"] - other["at"]) < 1


def frost_layers(
    points: pd.DataFrame, bands: Bands, span: Span, palette: Palette, band_px: int
) -> list[alt.Chart]:
    """Dot each band where its values are held under frost.

    Parameters
    ----------
    points : DataFrame
        Columns depth_cm, from (wall time), held; ascending in time within each depth.
    bands : Bands
        Where each depth lies.
    span : Span
        The plot.
    palette : Palette
        Colours.
    band_px : int
        Height of a band, px.
    """
    spells = held_spells(points)
    if spells.empty:
        return []
    floor = bands.floor(spells["depth_cm"])
    boxes = [
        Box(left=span.px(a), right=max(span.px(b), span.px(a) + 3), top=(f - 1) * band_px,
            bottom=f * band_px)
        for a, b, f in zip(spells["from"], spells["to"], floor, strict=True)
    ]  # fmt: skip
    wide = pd.DataFrame({"from": spells["from"], "to": spells["to"], "top": floor - 1,
                         "bottom": floor, "told": "Frozen, held"})  # fmt: skip
    shade = alt.Chart(wide).mark_rect(fill=palette.tint, stroke=None, opacity=0.8)
    dots = pd.DataFrame(dotting(boxes), columns=["px", "at"])
    dots = pd.DataFrame({"from": wall_times([span.when(one) for one in dots["px"]]),
                         "at": dots["at"] / band_px})  # fmt: skip
    mark = alt.Chart(dots).mark_circle(color=palette.edge, size=5.7, opacity=1)
    return [
        shade.encode(x=span.x(), x2=alt.X2("to"), y=span.y("top"), y2=alt.Y2("bottom"),
                     tooltip=[alt.Tooltip("told:N", title="Frost")]),
        mark.encode(x=span.x(), y=span.y("at")),
    ]  # fmt: skip


def held_spells(points: pd.DataFrame) -> pd.DataFrame:
    """Join held points of one depth that follow one another: depth_cm, from, to."""
    ordered = points.sort_values(["depth_cm", "from"], ignore_index=True)
    after = ordered.groupby("depth_cm")["from"].shift(-1)
    ordered = ordered.assign(to=after.fillna(ordered["from"]))
    before = ordered.shift(1)
    same = (ordered["depth_cm"] == before["depth_cm"]) & (ordered["held"] == before["held"])
    joined = ordered.groupby((~same).cumsum()).agg(
        {"depth_cm": "first", "held": "first", "from": "min", "to": "max"}
    )
    held = joined["held"].astype(bool)
    return joined.loc[held, ["depth_cm", "from", "to"]].reset_index(drop=True)
