"""What each layer gave to a crop: bars to scale, the layers to scale of depth."""

import altair as alt
import pandas as pd

from analytics.units import DEPTH, WATER, System, convert
from dashboard.charts.palette import Palette
from dashboard.charts.theme import LEAST_PX, layered
from dashboard.words import day_text, depth_text

HEIGHT = 300
_GAP_SHARE = 0.008  # of the depth, between two bars
_STEPS = (0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200)
_TICKS = 4
_ROOM = 2.6  # of the longest bar, so that what is said beside it has room


def drydown(
    layers: pd.DataFrame,
    palette: Palette,
    system: System,
    *,
    width: int | str = "container",
    height: int = HEIGHT,
) -> alt.LayerChart:
    """Draw what each layer gave to one crop, with when it was rooted and when it stopped.

    Parameters
    ----------
    layers : DataFrame
        top_cm, bottom_cm, gave_mm, peak_mm_d, rooted_on, stopped_on; one row a layer.
    palette : Palette
        Colours.
    system : {"in", "mm"}
        Units.
    width : int or "container"
        Px.
    height : int
        Px.
    """
    frame, top = _rows(layers, system), layers["top_cm"].min()
    depth = float(layers["bottom_cm"].max())
    most = float(max(frame["gave"].max(), 0.0)) or 1.0
    below = alt.Axis(title=None, values=_ticks(most), grid=False, format="~g")
    scale = alt.Scale(domain=[0, most * _ROOM], nice=False)
    x = alt.X("from:Q", scale=scale, axis=below)
    names = " : ".join(
        f"abs(datum.value - {one:.3f}) < 0.01 ? '{depth_text(one, system)}'"
        for one in (float(top), depth)
    )
    axis = alt.Axis(
        title=None, values=[float(top), depth], labelExpr=f"{names} : ''", grid=False
    )
    y = alt.Y("top:Q", scale=alt.Scale(domain=[depth, float(top)], nice=False), axis=axis)
    base = alt.Chart(frame)
    tips = [alt.Tooltip("layer:N", title=f"Layer, {DEPTH.shown(system).unit}"),
            alt.Tooltip("said:N", title="Gave")]  # fmt: skip
    bars = base.mark_rect(color=palette.partial, stroke=palette.edge, strokeWidth=1)
    words = base.mark_text(align="left", baseline="middle", dx=8, fontSize=LEAST_PX,
                           color=palette.ink)  # fmt: skip
    title = f"Gave to the crop, {WATER.shown(system).unit}; most in a day; rooted to stopped"
    marks = [
        bars.encode(x=x, x2=alt.X2("gave"), y=y, y2=alt.Y2("bottom"), tooltip=tips),
        words.encode(x=alt.X("gave:Q"), y=alt.Y("middle:Q"), text=alt.Text("said:N")),
    ]
    return layered(marks, palette, width=width, height=height, title=title)


def _ticks(most: float) -> list[float]:
    step = next(one for one in _STEPS if most / one <= _TICKS)
    return [round(i * step, 2) for i in range(int(most / step) + 1)]


def _rows(layers: pd.DataFrame, system: System) -> pd.DataFrame:
    gap = _GAP_SHARE * float(layers["bottom_cm"].max())
    depths = [convert(one, DEPTH, system) for one in layers["depth_cm"]]
    gave = layers["gave_mm"].to_numpy(float) * WATER.shown(system).factor
    return pd.DataFrame({
        "from": 0.0, "gave": [max(one, 0.0) if one == one else 0.0 for one in gave],  # noqa: PLR0124
        "top": layers["top_cm"].to_numpy(float) + gap,
        "bottom": layers["bottom_cm"].to_numpy(float) - gap,
        "middle": (layers["top_cm"].to_numpy(float) + layers["bottom_cm"].to_numpy(float)) / 2,
        "layer": [f"{one:.0f}" for one in depths],
        "said": [_said(row, system) for row in layers.to_dict("records")],
    })  # fmt: skip


def _said(row: dict, system: System) -> str:
    """Write one layer's bar: "1.2; 0.09 a day; 12 Jun to 30 Aug"."""
    factor = WATER.shown(system).factor
    digits = WATER.shown(system).digits
    if pd.isna(row["gave_mm"]):
        return "not known"
    gave = round(row["gave_mm"] * factor, digits) + 0.0  # no minus before nought
    said = [f"{gave:.{digits}f}".replace("-", "−")]
    if pd.notna(row["peak_mm_d"]) and row["peak_mm_d"] > 0:
        said.append(f"{row['peak_mm_d'] * factor:.{digits + 1}f} a day")
    if pd.isna(row["rooted_on"]):
        known = pd.notna(row.get("uptake_mm"))
        said.append("pull too small to date" if known else "uptake not known")
    else:
        until = day_text(row["stopped_on"], year=False)
        since = day_text(row["rooted_on"], year=False)
        said.append(f"from {since}" if until == "—" else f"{since} to {until}")
    return " · ".join(said)
