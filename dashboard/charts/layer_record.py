"""The whole record of each layer: one band a layer, on one time axis and one scale of water.

The bands are one view, not several: only a single view can fill the width of its container.
"""

import math
from typing import Any

import altair as alt
import pandas as pd

from analytics.units import DEPTH, THETA, System, text
from dashboard.charts.bands import Bands, bands_of
from dashboard.charts.fronts import front_layers, frost_layers
from dashboard.charts.palette import BAND, Palette
from dashboard.charts.strip import Span, strip_layers
from dashboard.charts.theme import (
    LEAST_PX,
    TEXT_PX,
    layered,
    plot_px,
    wall_times,
)
from dashboard.words import flag_name

BAND_PX = 72
_STRIP_PX = 24.0
_PADDING = {"left": 5, "top": 5, "right": 16, "bottom": 5}  # room for the names at the right
_GAP_STEPS = 3.0
_LETTER_PX = 6.6
_LABEL_PX = 13.0


def layer_record(  # noqa: PLR0917 - six frames and choices, each of its own kind
    points: pd.DataFrame,
    limits: pd.DataFrame,
    flags: pd.DataFrame,
    strip: pd.DataFrame,
    palette: Palette,
    system: System,
    *,
    fronts: pd.DataFrame | None = None,
    width: int | str = "container",
    band_px: int = BAND_PX,
) -> alt.LayerChart:
    """Draw the record of every layer with its full, refill and lower lines.

    Parameters
    ----------
    points : DataFrame
        Columns time, depth_cm, value, low, high (m3/m3), reduced before they come here. A
        missing value, or a step of more than three usual ones, breaks the line. Not empty.
        Where there is a column held and it is true, the band is dotted and the line dashed.
    limits : DataFrame
        Columns depth_cm, full, refill, lower, full_sd (m3/m3), state. Only a ``learned`` or
        ``set`` full point is drawn whole; every other is dashed.
    flags : DataFrame
        Columns depth_cm, from, to, flag. Frost is drawn from held values, never named.
    strip : DataFrame
        Columns from, to, label, kind ("crop" or "offseason").
    palette : Palette
        Colours.
    system : {"in", "mm"}
        Units of the depths (water content is m3/m3 in both).
    fronts : DataFrame, optional
        Wettings on their way down, as ``fronts.front_layers`` takes them.
    width : int or "container"
        Px.
    band_px : int
        Height of a band, px.
    """
    frame = _broken(points)
    bands = bands_of(frame, limits)
    count = len(bands.depths)
    span = Span(
        start=frame["from"].min(), end=frame["from"].max(), width_px=plot_px(width),
        strip_top=-_STRIP_PX / band_px, plot_top=0.0, plot_bottom=float(count),
        axis=alt.Axis(title=None, labels=False, ticks=False, grid=False, domain=False,
                      values=[], minExtent=84),
    )  # fmt: skip
    layers: list[Any] = [
        *frost_layers(frame, bands, span, palette, band_px),
        *_frames(bands, span, palette, system),
        *_limit_lines(limits, bands, span, palette),
        *_flag_layers(flags, bands, span, palette, band_px),
        *_lines(frame, bands, span, palette, system),
        *(() if fronts is None else front_layers(fronts, bands, span, palette)),
        *strip_layers(strip, span, palette),
        *_limit_names(limits, bands, span, palette, band_px),
    ]
    title = f"{THETA.label}, {THETA.shown(system).unit}, by depth of the sensor"
    height = round(count * band_px + _STRIP_PX)
    return layered(layers, palette, width=width, height=height, title=title, padding=_PADDING)


def _broken(points: pd.DataFrame) -> pd.DataFrame:
    """Bring points to wall time and put a missing value into every hole of a layer."""
    frame = pd.DataFrame(
        {
            "from": wall_times(points["time"]),
            **{
                name: points[name].to_numpy(float)
                for name in ("depth_cm", "value", "low", "high")
            },
            "held": points["held"].to_numpy(bool) if "held" in points else False,
        }
    )
    frame = frame.sort_values(["depth_cm", "from"], ignore_index=True)
    step = frame.groupby("depth_cm")["from"].diff()
    usual = step.groupby(frame["depth_cm"]).transform("median")
    holes = frame[step > _GAP_STEPS * usual]
    empty = holes.assign(value=float("nan"), low=float("nan"), high=float("nan"))
    empty["from"] = empty["from"] - pd.Timedelta(minutes=1)
    both = pd.concat([frame, empty]) if len(empty) else frame
    return both.sort_values(["depth_cm", "from"], ignore_index=True)


# --- frame of each band ---------------------------------------------------------------------


def _frames(bands: Bands, span: Span, palette: Palette, system: System) -> list[alt.Chart]:
    """Draw the foot of each band, two water contents beside it, and name its depth."""
    depths = pd.Series(bands.depths)
    ticks = pd.concat(
        [pd.DataFrame({"at": bands.at(depths, pd.Series(tick, index=depths.index)),
                       "words": f"{tick:.2f}"}) for tick in bands.ticks]
    )  # fmt: skip
    names = pd.DataFrame({"at": depths.index + 0.5,
                          "words": [text(one, DEPTH, system) for one in depths]})  # fmt: skip
    feet = pd.DataFrame({"at": bands.floor(depths)})
    return [
        alt.Chart(feet).mark_rule(color=palette.line, strokeWidth=2.4).encode(y=span.y("at")),
        _beside(
            ticks, span, -6, {"fontSize": LEAST_PX, "color": palette.muted, "fontWeight": 400}
        ),
        _beside(
            names, span, -40, {"fontSize": TEXT_PX, "color": palette.ink, "fontWeight": 600}
        ),
    ]


def _beside(frame: pd.DataFrame, span: Span, x_px: float, look: dict[str, Any]) -> alt.Chart:
    words = alt.Chart(frame).mark_text(align="right", baseline="middle", **look)
    return words.encode(x=alt.value(x_px), y=span.y("at"), text=alt.Text("words:N"))


# --- lines ----------------------------------------------------------------------------------


def _lines(
    frame: pd.DataFrame, bands: Bands, span: Span, palette: Palette, system: System
) -> list[alt.Chart]:
    """Draw each layer's band of lowest and highest and its line, dashed where held."""
    placed = frame.assign(at=bands.at(frame["depth_cm"], frame["value"]),
                          least=bands.at(frame["depth_cm"], frame["low"]),
                          most=bands.at(frame["depth_cm"], frame["high"]))  # fmt: skip
    names = {one: text(one, DEPTH, system) for one in bands.depths}
    drawn = placed[["value", "at", "least", "most"]].astype("float32")  # half of it to send
    drawn["at"] = drawn["at"].mask(placed["held"])
    drawn[["from", "depth_cm"]] = placed[["from", "depth_cm"]]
    drawn["depth"] = placed["depth_cm"].map(names)
    tips = [alt.Tooltip("from:T", title="Time", format="%d %b %Y %H:%M"),
            alt.Tooltip("depth:N", title="Depth"),
            alt.Tooltip("value:Q", title=THETA.shown(system).unit, format=".3f")]  # fmt: skip
    # One mark for all layers: Altair takes as long over each as over all their rows.
    base = alt.Chart(drawn).encode(x=span.x(), detail=alt.Detail("depth_cm:N"))
    return [
        base.mark_area(color=palette.edge, opacity=BAND).encode(
            y=span.y("least"), y2=alt.Y2("most"), tooltip=tips),
        base.mark_line(color=palette.ink, strokeWidth=1.1).encode(
            y=span.y("at"), tooltip=tips),
        *_held_lines(placed, span, palette),
    ]  # fmt: skip


def _held_lines(placed: pd.DataFrame, span: Span, palette: Palette) -> list[alt.Chart]:
    """Dash the held values, each stretch joined to the readings on both its sides."""
    by_depth = placed.groupby("depth_cm")["held"]
    beside = placed["held"] | by_depth.shift(1, fill_value=False) | by_depth.shift(
        -1, fill_value=False
    )  # fmt: skip
    if not placed["held"].any():
        return []
    near = beside | beside.shift(1, fill_value=False)  # what follows a stretch breaks its line
    some = placed[["from", "depth_cm"]].assign(at=placed["at"].where(beside))[near]
    dashed = alt.Chart(some).mark_line(color=palette.ink, strokeWidth=1.3, strokeDash=[3, 3])
    return [dashed.encode(x=span.x(), y=span.y("at"), detail=alt.Detail("depth_cm:N"))]


_SURE = ("learned", "set")
_POINTS = ("full", "refill", "lower")


def _limit_lines(
    limits: pd.DataFrame, bands: Bands, span: Span, palette: Palette
) -> list[alt.Chart]:
    """Draw full (dashed unless learned or set) with its spread, refill dotted, lower thin."""
    if limits.empty:
        return []
    some = limits[limits["depth_cm"].isin(bands.depths)]
    sure = some["state"].isin(_SURE)
    looks = (
        ("full", some[sure], {"strokeWidth": 1.8, "color": palette.ink}),
        ("full", some[~sure], {"strokeWidth": 1.8, "color": palette.ink, "strokeDash": [6, 4]}),
        ("refill", some, {"strokeWidth": 1.2, "color": palette.muted, "strokeDash": [1, 3]}),
        ("lower", some, {"strokeWidth": 1, "color": palette.edge}),
    )
    rules = [_limit_rule(rows, name, look, bands, span) for name, rows, look in looks]
    return [
        *_full_spread(some, bands, span, palette),
        *(one for one in rules if one is not None),
    ]


def _limit_rule(
    rows: pd.DataFrame, name: str, look: dict[str, Any], bands: Bands, span: Span
) -> alt.Chart | None:
    known = rows[rows[name].notna()]
    if known.empty:
        return None
    frame = pd.DataFrame({"at": bands.at(known["depth_cm"], known[name])})
    return alt.Chart(frame).mark_rule(**look).encode(y=span.y("at"))


def _full_spread(
    limits: pd.DataFrame, bands: Bands, span: Span, palette: Palette
) -> list[alt.Chart]:
    known = limits[limits["full"].notna() & limits["full_sd"].notna()]
    if known.empty:
        return []
    floor = bands.floor(known["depth_cm"])
    edges = [
        bands.at(known["depth_cm"], known["full"] + sign * known["full_sd"]).clip(
            floor - 1, floor
        )
        for sign in (1, -1)
    ]
    frame = pd.DataFrame({"top": edges[0], "bottom": edges[1]})
    band = alt.Chart(frame).mark_rect(color=palette.tint, stroke=None)
    return [band.encode(y=span.y("top"), y2=alt.Y2("bottom"))]


def _limit_names(
    limits: pd.DataFrame, bands: Bands, span: Span, palette: Palette, band_px: int
) -> list[alt.Chart]:
    """Name the lines at their right ends, apart from one another."""
    last = limits[limits["depth_cm"].isin(bands.depths)].groupby("depth_cm").tail(1)
    placed = {name: bands.at(last["depth_cm"], last[name]).tolist() for name in _POINTS}
    rows = []
    for known in zip(*placed.values(), strict=True):
        lowest = float("-inf")
        for name, at in zip(placed, known, strict=True):
            if not math.isnan(at):
                lowest = max(at, lowest + _LABEL_PX / band_px)
                rows.append({"at": lowest, "words": name})
    if not rows:
        return []
    words = alt.Chart(pd.DataFrame(rows)).mark_text(
        align="left", baseline="middle", dx=6, fontSize=LEAST_PX, color=palette.muted
    )
    return [words.encode(x=alt.value("width"), y=span.y("at"), text=alt.Text("words:N"))]


# --- flags ----------------------------------------------------------------------------------

_FROST = ("frozen", "frost_edge")
_UNNAMED = ("spike", "duplicate")


def _flag_layers(
    flags: pd.DataFrame, bands: Bands, span: Span, palette: Palette, band_px: int
) -> list[alt.Chart]:
    """Tick every flagged span along the foot of its band, and name faults where there is room.

    Frost is a pattern of its own; a spike is ticked without a name.
    """
    some = flags[flags["depth_cm"].isin(bands.depths) & ~flags["flag"].isin(_FROST)]
    frame = pd.DataFrame({"from": wall_times(some["from"]), "to": wall_times(some["to"]),
                          "depth_cm": some["depth_cm"].to_numpy(float),
                          "flag": list(some["flag"]),
                          "name": [flag_name(str(one)) for one in some["flag"]]})  # fmt: skip
    frame["to"] = frame["to"].fillna(span.end)
    frame = frame[(frame["to"] >= span.start) & (frame["from"] <= span.end)]
    if frame.empty:
        return []
    frame = frame.assign(to=frame["to"].where(lambda one: one <= span.end, span.end),
                         at=bands.floor(frame["depth_cm"]) - 5 / band_px)  # fmt: skip
    frame["from"] = frame["from"].where(lambda one: one >= span.start, span.start)
    tips = [alt.Tooltip("name:N", title="Flag"), alt.Tooltip("from:T", format="%d %b %Y"),
            alt.Tooltip("to:T", format="%d %b %Y")]  # fmt: skip
    ticks = alt.Chart(frame).mark_rule(color=palette.ink, strokeWidth=7, strokeDash=[1.5, 2.5])
    return [ticks.encode(x=span.x(), x2=alt.X2("to"), y=span.y("at"), tooltip=tips),
            *_flag_names(frame, span, palette, band_px)]  # fmt: skip


def _flag_names(
    frame: pd.DataFrame, span: Span, palette: Palette, band_px: int
) -> list[alt.Chart]:
    """Name faults; one that begins in several layers on one day is named in the topmost."""
    faults = frame[~frame["flag"].isin(_UNNAMED)].sort_values("depth_cm")
    faults = faults.assign(day=faults["from"].dt.date).drop_duplicates(["name", "day"])
    named, ends = [], dict.fromkeys(faults["depth_cm"], float("-inf"))
    for row in faults.sort_values("from").to_dict("records"):
        left, depth = span.px(row["from"]), row["depth_cm"]
        wide = len(row["name"]) * _LETTER_PX
        left = min(left, span.width_px - wide)
        if left < ends[depth]:
            continue
        ends[depth] = left + wide + _LETTER_PX
        named.append(
            {"from": span.when(left), "at": row["at"] - 11 / band_px, "name": row["name"]}
        )
    if not named:
        return []
    base = alt.Chart(pd.DataFrame(named)).encode(
        x=span.x(), y=span.y("at"), text=alt.Text("name:N")
    )
    put = {"align": "left", "baseline": "middle", "fontSize": LEAST_PX, "fontWeight": 600}
    return [base.mark_text(**put, stroke=palette.ground, strokeWidth=4, strokeJoin="round"),
            base.mark_text(**put, color=palette.ink)]  # fmt: skip
