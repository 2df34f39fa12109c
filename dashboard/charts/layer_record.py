"""The whole record of each layer: one band a layer, on one time axis and one scale of water.

The bands are one view, not several: only a single view can fill the width of its container.
In band i (0 at the surface) a water content w stands at ``i + 1 - MARGIN - share(w) * USED``.
"""

from dataclasses import dataclass
from typing import Any

import altair as alt
import pandas as pd

from analytics.units import DEPTH, THETA, System, text
from dashboard.charts.palette import Palette
from dashboard.charts.strip import Span, strip_layers
from dashboard.charts.theme import (
    AXIS_PX,
    LEAST_PX,
    PADDING_PX,
    TEXT_PX,
    TITLE_PX,
    plot_px,
    themed,
    wall_times,
)
from dashboard.words import flag_name

BAND_PX = 72
_STRIP_PX = 24.0
_MARGIN, _USED = 0.06, 0.86
_STEP = 0.05  # m3/m3, to which the scale is rounded
_GAP_STEPS = 3.0
_LETTER_PX = 6.6
_LABEL_PX = 13.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bands:
    """Which band each depth has, and the water contents at its lower and upper edge."""

    depths: tuple[float, ...]
    low: float
    high: float

    def at(self, depth_cm: pd.Series, theta: pd.Series) -> pd.Series:
        order = {depth: i for i, depth in enumerate(self.depths)}
        share = (theta.astype(float) - self.low) / (self.high - self.low)
        return depth_cm.map(order) + 1 - _MARGIN - share * _USED

    def floor(self, depth_cm: pd.Series) -> pd.Series:
        order = {depth: i for i, depth in enumerate(self.depths)}
        return depth_cm.map(order) + 1.0

    @property
    def ticks(self) -> list[float]:
        """Two water contents in the inside of a band, rounded to the step."""
        third = (self.high - self.low) / 4
        rounded = [round(round(one / _STEP) * _STEP, 2) for one in
                   (self.low + third, self.high - third)]  # fmt: skip
        return list(dict.fromkeys(rounded))


def layer_record(  # noqa: PLR0917 - six frames and choices, each of its own kind
    points: pd.DataFrame,
    limits: pd.DataFrame,
    flags: pd.DataFrame,
    strip: pd.DataFrame,
    palette: Palette,
    system: System,
    *,
    width: int | str = "container",
    band_px: int = BAND_PX,
) -> alt.LayerChart:
    """Draw the record of every layer with its full, refill and lower lines.

    Parameters
    ----------
    points : DataFrame
        Columns time, depth_cm, value, low, high (m3/m3), reduced before they come here. A
        missing value, or a step of more than three usual ones, breaks the line. Not empty.
    limits : DataFrame
        Columns depth_cm, full, refill, lower, full_sd (m3/m3), state. Only a ``learned`` or
        ``set`` full point is drawn whole; every other is dashed.
    flags : DataFrame
        Columns depth_cm, from, to, flag.
    strip : DataFrame
        Columns from, to, label, kind ("crop" or "offseason").
    palette : Palette
        Colours.
    system : {"in", "mm"}
        Units of the depths (water content is m3/m3 in both).
    width : int or "container"
        Px.
    band_px : int
        Height of a band, px.
    """
    frame = _broken(points)
    bands = _bands(frame, limits)
    count = len(bands.depths)
    span = Span(
        start=frame["from"].min(), end=frame["from"].max(), width_px=plot_px(width),
        strip_top=-_STRIP_PX / band_px, plot_top=0.0, plot_bottom=float(count),
        axis=alt.Axis(title=None, labels=False, ticks=False, grid=False, domain=False,
                      values=[], minExtent=84),
    )  # fmt: skip
    layers: list[Any] = [
        *_frames(bands, span, palette, system),
        *_limit_lines(limits, bands, span, palette),
        *_flag_layers(flags, bands, span, palette, band_px),
        *_lines(frame, bands, span, palette, system),
        *strip_layers(strip, span, palette),
        *_limit_names(limits, bands, span, palette, band_px),
    ]
    title = f"{THETA.label}, {THETA.shown(system).unit}, by depth of the sensor"
    height = round(count * band_px + _STRIP_PX + TITLE_PX + AXIS_PX + 2 * PADDING_PX)
    chart = alt.layer(*layers).properties(width=width, height=height, title=title)
    return themed(chart, palette)


def _broken(points: pd.DataFrame) -> pd.DataFrame:
    """Bring points to wall time and put a missing value into every hole of a layer."""
    frame = pd.DataFrame(
        {
            "from": wall_times(points["time"]),
            **{
                name: points[name].to_numpy(float)
                for name in ("depth_cm", "value", "low", "high")
            },
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


def _bands(frame: pd.DataFrame, limits: pd.DataFrame) -> _Bands:
    seen = [frame["low"].min(), frame["high"].max(), frame["value"].min(), frame["value"].max()]
    for name in ("full", "lower"):
        if len(limits):
            seen += [limits[name].min(), limits[name].max()]
    known = [float(one) for one in seen if one == one]  # noqa: PLR0124 - not NaN
    low, high = (min(known), max(known)) if known else (0.0, 0.5)
    low, high = low // _STEP * _STEP, -(-high // _STEP) * _STEP
    return _Bands(depths=tuple(sorted(frame["depth_cm"].unique())), low=float(low),
                  high=float(high if high > low else low + _STEP))  # fmt: skip


# --- frame of each band ---------------------------------------------------------------------


def _frames(bands: _Bands, span: Span, palette: Palette, system: System) -> list[alt.Chart]:
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
    return words.encode(x=alt.value(x_px), y=span.y("at"), text="words:N")


# --- lines ----------------------------------------------------------------------------------


def _lines(
    frame: pd.DataFrame, bands: _Bands, span: Span, palette: Palette, system: System
) -> list[alt.Chart]:
    placed = frame.assign(at=bands.at(frame["depth_cm"], frame["value"]),
                          least=bands.at(frame["depth_cm"], frame["low"]),
                          most=bands.at(frame["depth_cm"], frame["high"]))  # fmt: skip
    layers = []
    for depth, some in placed.groupby("depth_cm"):
        title = f"{text(float(depth), DEPTH, system)}, {THETA.shown(system).unit}"  # type: ignore[arg-type]
        tips = [alt.Tooltip("from:T", title="Time", format="%d %b %Y %H:%M"),
                alt.Tooltip("value:Q", title=title, format=".3f")]  # fmt: skip
        base = alt.Chart(some.drop(columns=["depth_cm", "low", "high"])).encode(x=span.x())
        layers.append(base.mark_area(color=palette.edge, opacity=0.35).encode(
            y=span.y("least"), y2="most"))  # fmt: skip
        layers.append(base.mark_line(color=palette.ink, strokeWidth=1.1).encode(
            y=span.y("at"), tooltip=tips))  # fmt: skip
    return layers


_SURE = ("learned", "set")
_POINTS = ("full", "refill", "lower")


def _limit_lines(
    limits: pd.DataFrame, bands: _Bands, span: Span, palette: Palette
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
    rows: pd.DataFrame, name: str, look: dict[str, Any], bands: _Bands, span: Span
) -> alt.Chart | None:
    known = rows[rows[name].notna()]
    if known.empty:
        return None
    frame = pd.DataFrame({"at": bands.at(known["depth_cm"], known[name])})
    return alt.Chart(frame).mark_rule(**look).encode(y=span.y("at"))


def _full_spread(
    limits: pd.DataFrame, bands: _Bands, span: Span, palette: Palette
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
    return [band.encode(y=span.y("top"), y2="bottom")]


def _limit_names(
    limits: pd.DataFrame, bands: _Bands, span: Span, palette: Palette, band_px: int
) -> list[alt.Chart]:
    """Name the lines at their right ends, apart from one another."""
    rows = []
    for depth, some in limits[limits["depth_cm"].isin(bands.depths)].groupby("depth_cm"):
        last: float | None = None
        for name in _POINTS:
            value = some[name].iloc[-1]
            if pd.isna(value):
                continue
            at = float(bands.at(pd.Series([depth]), pd.Series([value])).iloc[0])
            last = at if last is None else max(at, last + _LABEL_PX / band_px)
            rows.append({"at": last, "words": name})
    if not rows:
        return []
    words = alt.Chart(pd.DataFrame(rows)).mark_text(
        align="left", baseline="middle", dx=6, fontSize=LEAST_PX, color=palette.muted
    )
    return [words.encode(x=alt.value("width"), y=span.y("at"), text="words:N")]


# --- flags ----------------------------------------------------------------------------------


def _flag_layers(
    flags: pd.DataFrame, bands: _Bands, span: Span, palette: Palette, band_px: int
) -> list[alt.Chart]:
    """Tick every flagged span along the foot of its band, and name it where there is room."""
    some = flags[flags["depth_cm"].isin(bands.depths)]
    frame = pd.DataFrame({"from": wall_times(some["from"]), "to": wall_times(some["to"]),
                          "depth_cm": some["depth_cm"].to_numpy(float),
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
    return [ticks.encode(x=span.x(), x2="to", y=span.y("at"), tooltip=tips),
            *_flag_names(frame, span, palette, band_px)]  # fmt: skip


def _flag_names(
    frame: pd.DataFrame, span: Span, palette: Palette, band_px: int
) -> list[alt.Chart]:
    named, ends = [], dict.fromkeys(frame["depth_cm"], float("-inf"))
    for row in frame.sort_values("from").to_dict("records"):
        left, depth = span.px(row["from"]), row["depth_cm"]
        wide = len(row["name"]) * _LETTER_PX
        left = min(left, span.width_px - wide)
        if left < ends[depth]:
            continue
        ends[depth] = left + wide + _LETTER_PX
        named.append(
            {"from": span.when(left), "at": row["at"] - 11 / band_px, "name": row["name"]}
        )
    base = alt.Chart(pd.DataFrame(named)).encode(x=span.x(), y=span.y("at"), text="name:N")
    put = {"align": "left", "baseline": "middle", "fontSize": LEAST_PX}
    return [base.mark_text(**put, stroke=palette.ground, strokeWidth=4, strokeJoin="round"),
            base.mark_text(**put, color=palette.ink)]  # fmt: skip
