"""The off-season tally: what was there, what came, what went, what is held."""

import math
from collections.abc import Mapping
from typing import Any

import altair as alt
import pandas as pd

from analytics.units import WATER, System, convert
from dashboard.charts.palette import Palette
from dashboard.charts.theme import choice, layered
from dashboard.words import SPLIT_CM, depth_text, layer_label

_GAINS = (
    ("gain_rain_mm", "Rain"),
    ("gain_snow_mm", "Snow"),
    ("gain_irrigation_mm", "Irrigation"),
    ("gain_thaw_mm", "Thaw"),
    ("gain_unexplained_mm", "Not|explained"),
)
_BAR_PX = 48.0
_ROOM = 1.12  # share of the axis above the highest bar, for its figure


def tally_waterfall(
    row: Mapping[str, Any] | pd.Series,
    system: System,
    palette: Palette,
    *,
    width: int | str = "container",
    height: int = 280,
) -> alt.LayerChart:
    """Draw the profile's tally as steps from what the crop left to what is held.

    Parameters
    ----------
    row : mapping
        A row of ``tally`` of a whole profile.
    system : {"in", "mm"}
        Units of the axis and figures.
    palette : Palette
        Colours.
    width : int or "container"
        Px.
    height : int
        Px.
    """
    frame = _steps(row, system)
    unit = "inches of water" if system == "in" else "mm of water"
    bottom = _real(row, "bottom_cm")
    where = "" if bottom != bottom else f", 0 to {depth_text(bottom, system)}"  # noqa: PLR0124
    layers = [*_links(frame, palette), *_bars(frame, palette), *_figures(frame, palette)]
    return layered(layers, palette, width=width, height=height,
                                          title=f"{unit}{where}")  # fmt: skip


def _real(row: Mapping[str, Any] | pd.Series, key: str) -> float:
    value = row.get(key)
    return float("nan") if value is None or pd.isna(value) else float(value)


def _steps(row: Mapping[str, Any] | pd.Series, system: System) -> pd.DataFrame:
    """Lay the steps end to end, in display units.

    A step that rounds to nought is left out: its number would say nothing.
    """
    steps: list[tuple[str, str, float]] = [("state", _start(row), _real(row, "start_mm"))]
    steps += [("gain", name, _real(row, key)) for key, name in _GAINS if _told(row, key)]
    steps += _losses(row)
    steps.append(("state", _end(row), _real(row, "end_mm")))
    return _laid([one for one in steps if _drawn(*one, system)], system)


def _start(row: Mapping[str, Any] | pd.Series) -> str:
    """Name the first step; under a standing crop the tally begins with its planting."""
    crop = row.get("crop")
    if row.get("standing"):
        return "At its|planting"
    return f"Left by|{crop.replace(' ', '|')}" if isinstance(crop, str) and crop else (
        "At|harvest")  # fmt: skip


def _losses(row: Mapping[str, Any] | pd.Series) -> list[tuple[str, str, float]]:
    """Part what left: upward, downward within the probe's reach, and out through its bottom.

    ``loss_mm`` is all that left; what drained below, a lower estimate, is part of it. Where
    upward and downward are not told apart they are one loss.
    """
    drained = _real(row, "drainage_mm")
    rest = _real(row, "loss_mm") - (0.0 if math.isnan(drained) else drained)
    up, down = _real(row, "loss_up_mm"), _real(row, "loss_down_mm")
    if not math.isnan(up):
        below = 0.0 if math.isnan(down) else down
        steps = [("Lost|upward", up), ("Lost|downward", below),
                 ("Lost,|way not|known", _real(row, "loss_mm") - up - below)]  # fmt: skip
    elif math.isnan(drained):
        steps = [("Lost", rest)]
    else:
        steps = [("Lost|upward", rest), ("Drained,|at least", drained)]
    return [("loss", name, -mm) for name, mm in steps if not math.isnan(mm)]


def _drawn(kind: str, name: str, mm: float, system: System) -> bool:
    del name
    water = convert(mm, WATER, system)
    return kind == "state" or round(abs(water), WATER.shown(system).digits) > 0


def _end(row: Mapping[str, Any] | pd.Series) -> str:
    """Name the last step; ``early`` marks an open off-season whose probe fell silent."""
    if not _open(row):
        return "At|green-up" if row.get("standing") else "At|planting"
    return "Held when|last read" if row.get("early") else "Held|today"


def _open(row: Mapping[str, Any] | pd.Series) -> bool:
    value = row.get("open")
    return value is not None and not pd.isna(value) and bool(value)


def _told(row: Mapping[str, Any] | pd.Series, key: str) -> bool:
    """Tell whether there was any of a gain."""
    return _real(row, key) > 0


def _laid(steps: list[tuple[str, str, float]], system: System) -> pd.DataFrame:
    rows, level = [], 0.0
    for kind, name, mm in steps:
        water = convert(mm, WATER, system)
        low, high = (0.0, water) if kind == "state" else (level, level + water)
        level = high
        rows.append({"kind": kind, "step": name, "low": min(low, high), "high": max(low, high),
                     "level": level, "figure": _figure(water, kind, system)})  # fmt: skip
    frame = pd.DataFrame(rows)
    frame["next"] = frame["step"].shift(-1)
    return frame


def _figure(water: float, kind: str, system: System) -> str:
    if water != water:  # noqa: PLR0124 - NaN
        return "—"
    digits = WATER.shown(system).digits
    number = round(water, digits) + 0.0
    if kind == "loss" and number == 0:
        return f"{0:.{digits}f}"
    sign = "+" if kind == "gain" and number > 0 else ""
    return f"{sign}{number:.{digits}f}".replace("-", "−")


def _x(frame: pd.DataFrame) -> alt.X:
    axis = alt.Axis(title=None, labelAngle=0, labelExpr="split(datum.label, '|')", domain=False,
                    ticks=False, labelLimit=0, labelOverlap=False)  # fmt: skip
    scale = alt.Scale(paddingInner=0.22, paddingOuter=0.1)
    return alt.X("step:N", sort=[*frame["step"]], axis=axis, scale=scale)


def _y(frame: pd.DataFrame, field: str) -> alt.Y:
    """Make the water axis: from nought, the highest figure within it."""
    top = float(frame["high"].max()) * _ROOM
    scale = alt.Scale(domain=[0, top if top > 0 else 1.0], zero=True, nice=False)
    return alt.Y(f"{field}:Q", scale=scale,
                 axis=alt.Axis(title=None, tickCount=5, domain=False, ticks=False))  # fmt: skip


_LOOKS = {
    "state": lambda palette: {"fill": palette.muted, "strokeWidth": 0},
    "gain": lambda palette: {"fill": palette.edge, "strokeWidth": 0},
    "loss": lambda palette: {"fill": palette.ground, "stroke": palette.ink, "strokeWidth": 1.4},
}


def _bars(frame: pd.DataFrame, palette: Palette) -> list[alt.Chart]:
    layers = []
    for kind, look in _LOOKS.items():
        some = frame.loc[frame["kind"] == kind, ["step", "low", "high"]]
        if not some.empty:
            layers.append(alt.Chart(some).mark_bar(**look(palette)).encode(
                x=_x(frame), y=_y(frame, "low"), y2=alt.Y2("high")))  # fmt: skip
    return layers


def _links(frame: pd.DataFrame, palette: Palette) -> list[alt.Chart]:
    """Join the end of each step to the start of the next."""
    some = frame.dropna(subset=["next"])[["step", "next", "level"]]
    base = alt.Chart(some).mark_rule(color=palette.edge, strokeWidth=1)
    return [base.encode(x=_x(frame), x2=alt.X2("next"), y=_y(frame, "level"))]


def _figures(frame: pd.DataFrame, palette: Palette) -> list[alt.Chart]:
    words = alt.Chart(frame[["step", "high", "figure"]]).mark_text(
        dy=-6, baseline="bottom", fontWeight=700, color=palette.ink)  # fmt: skip
    return [words.encode(x=_x(frame), y=_y(frame, "high"), text=alt.Text("figure:N"))]


# --- by layer -------------------------------------------------------------------------------


def tally_layers(
    rows: pd.DataFrame,
    system: System,
    palette: Palette,
    *,
    width: int | str = "container",
    height: int = 280,
    split_cm: float = SPLIT_CM,
) -> alt.LayerChart:
    """Draw the change of each layer over an off-season, depth to scale.

    Parameters
    ----------
    rows : DataFrame
        Rows of ``tally`` of one site and off-season; only those of layers are used.
    system : {"in", "mm"}
        Units.
    palette : Palette
        Colours.
    width : int or "container"
        Px.
    height : int
        Px.
    split_cm : float
        Depth of the dashed line, cm.
    """
    frame = _layer_frame(rows, system)
    bottom = float(frame["bottom_cm"].max())
    y = {"scale": alt.Scale(domain=[bottom, 0], nice=False),
         "axis": _depth_axis(bottom, split_cm, system)}  # fmt: skip
    unit = WATER.shown(system).unit
    layers: list[alt.Chart] = []
    if split_cm < bottom:
        layers.append(alt.Chart(pd.DataFrame({"depth": [split_cm]})).mark_rule(
            color=palette.ink, strokeDash=[4, 3], strokeWidth=1.2).encode(
            y=alt.Y("depth:Q", **y)))  # fmt: skip
    layers += [*_change_bars(frame, palette, y), *_change_words(frame, palette, y)]
    title = f"change of each layer's water, {unit}"
    return layered(layers, palette, width=width, height=height, title=title)


def _layer_frame(rows: pd.DataFrame, system: System) -> pd.DataFrame:
    some = rows[rows["depth_cm"].notna()].sort_values("top_cm")
    change = some["change_mm"].astype(float) * WATER.shown(system).factor
    unit = "in" if system == "in" else "cm"
    return pd.DataFrame({
        "top_cm": some["top_cm"].astype(float), "bottom_cm": some["bottom_cm"].astype(float),
        "middle": (some["top_cm"] + some["bottom_cm"]) / 2, "change": change, "zero": 0.0,
        "figure": [_signed(one, system) for one in change],
        "layer": [f"{layer_label(a, b, system)} {unit}"
                  for a, b in zip(some["top_cm"], some["bottom_cm"], strict=True)],
    }).reset_index(drop=True)  # fmt: skip


def _signed(water: float, system: System) -> str:
    if water != water:  # noqa: PLR0124 - NaN
        return "not known"
    kind = "gain" if water > 0 else "loss"
    return _figure(water, kind, system)


def _change_x(frame: pd.DataFrame, field: str) -> alt.X:
    low, high = min(float(frame["change"].min()), 0.0), max(float(frame["change"].max()), 0.0)
    room = 0.18 * max(high - low, 0.1)
    scale = alt.Scale(
        domain=[low - room if low < 0 else low - room / 3, high + room], nice=False
    )
    axis = alt.Axis(title=None, tickCount=4, grid=True, domain=False, ticks=False)
    return alt.X(f"{field}:Q", scale=scale, axis=axis)


def _change_bars(frame: pd.DataFrame, palette: Palette, y: dict[str, Any]) -> list[alt.Chart]:
    tips = [alt.Tooltip("layer:N", title="Layer"), alt.Tooltip("figure:N", title="Change")]
    looks = ((frame["change"] > 0, _LOOKS["gain"]), (frame["change"] < 0, _LOOKS["loss"]))
    bars = [
        alt.Chart(frame[some]).mark_rect(**look(palette), yOffset=1, y2Offset=-1).encode(
            x=_change_x(frame, "zero"), x2=alt.X2("change"), y=alt.Y("top_cm:Q", **y),
            y2=alt.Y2("bottom_cm"), tooltip=tips)
        for some, look in looks if some.any()
    ]  # fmt: skip
    zero = alt.Chart(pd.DataFrame({"zero": [0.0]})).mark_rule(
        color=palette.ink, strokeWidth=1.4
    )
    return [*bars, zero.encode(x=_change_x(frame, "zero"))]


def _change_words(frame: pd.DataFrame, palette: Palette, y: dict[str, Any]) -> list[alt.Chart]:
    layers = []
    looks = ((frame["change"] < 0, "right", -6), (~(frame["change"] < 0), "left", 6))
    for some, align, dx in looks:
        if some.any():
            told = frame.loc[some, ["middle", "figure"]].assign(at=frame["change"].fillna(0.0))
            base = alt.Chart(told).encode(x=_change_x(frame, "at"), y=alt.Y("middle:Q", **y),
                                          text=alt.Text("figure:N"))  # fmt: skip
            put = {"align": align, "dx": dx, "fontWeight": 600, "baseline": "middle"}
            layers += [
                base.mark_text(**put, stroke=palette.ground, strokeWidth=4, strokeJoin="round"),
                base.mark_text(**put, color=palette.ink),
            ]
    return layers


def _depth_axis(bottom: float, split_cm: float, system: System) -> alt.Axis:
    depths = [0.0, split_cm, bottom] if split_cm < bottom else [0.0, bottom]
    labels = {one: depth_text(one, system) for one in depths}
    return alt.Axis(
        values=depths,
        labelExpr=choice("datum.value", labels),
        title=None,
        grid=False,
        domain=False,
    )
