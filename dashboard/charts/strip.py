"""The strip of seasons above a record, and the rules at planting and harvest through it."""

from dataclasses import dataclass
from typing import Any

import altair as alt
import pandas as pd

from dashboard.charts.palette import Palette
from dashboard.charts.theme import TEXT_PX, time_axis, wall_times

_LETTER_PX = 7.0
_HALO_PX = 3.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """The plot a strip belongs to: its times, px width, and depths (or units) of its edges."""

    start: pd.Timestamp
    end: pd.Timestamp
    width_px: float
    strip_top: float
    plot_top: float
    plot_bottom: float
    axis: alt.Axis | None = None

    def px(self, when: pd.Timestamp) -> float:
        """Give the place of an instant on a plot of the nominal width."""
        return (when - self.start) / (self.end - self.start) * self.width_px

    def when(self, px: float) -> pd.Timestamp:
        """Give the instant at a place."""
        return self.start + (self.end - self.start) * (px / self.width_px)

    def x(self, field: str = "from") -> alt.X:
        """Encode a time of the shared axis."""
        return time_axis(self.start, self.end, field)

    def y(self, field: str) -> alt.Y:
        """Encode a depth: down the page, strip and plot on one scale."""
        scale = alt.Scale(domain=[self.plot_bottom, self.strip_top], nice=False, zero=False)
        return alt.Y(f"{field}:Q", scale=scale, axis=self.axis)


def strip_layers(strip: pd.DataFrame, span: Span, palette: Palette) -> list[alt.Chart]:
    """Draw the strip.

    Parameters
    ----------
    strip : DataFrame
        Columns from, to (dates), label, kind ("crop" or "offseason"). May be empty.
    span : Span
        The plot.
    palette : Palette
        Colours.

    Returns
    -------
    list of Chart
        To be layered over the plot, which shares its scales.
    """
    cut = _within(strip, span)
    if cut.empty:
        return []
    return [_tint(cut, span, palette), *_rules(cut, span, palette), *_names(cut, span, palette)]


def _within(strip: pd.DataFrame, span: Span) -> pd.DataFrame:
    cut = pd.DataFrame(
        {
            "from": wall_times(strip["from"]),
            "to": wall_times(strip["to"]),
            "label": list(strip["label"]),
            "kind": list(strip["kind"]),
        }
    )
    cut["to"] = cut["to"].fillna(span.end)
    cut = cut[(cut["to"] > span.start) & (cut["from"] < span.end)]
    cut["begins"], cut["ends"] = cut["from"] > span.start, cut["to"] < span.end
    cut["from"] = cut["from"].where(cut["begins"], span.start)
    cut["to"] = cut["to"].where(cut["ends"], span.end)
    return cut.reset_index(drop=True)


def _tint(cut: pd.DataFrame, span: Span, palette: Palette) -> alt.Chart:
    bands = cut.loc[cut["kind"] == "offseason", ["from", "to"]]
    bands = bands.assign(top=span.strip_top, bottom=span.plot_top)
    return (
        alt.Chart(bands)
        .mark_rect(fill=palette.tint, stroke=None)
        .encode(x=span.x(), x2=alt.X2("to"),
                y=span.y("top"), y2=alt.Y2("bottom"))
    )  # fmt: skip


def _rules(cut: pd.DataFrame, span: Span, palette: Palette) -> list[alt.Chart]:
    crops = cut[cut["kind"] == "crop"]
    times = [*crops.loc[crops["begins"], "from"], *crops.loc[crops["ends"], "to"]]
    lines = pd.DataFrame({"from": wall_times(times)}).assign(
        top=span.strip_top, bottom=span.plot_bottom
    )
    if lines.empty:
        return []
    base = alt.Chart(lines).encode(x=span.x(),
                                   y=span.y("top"), y2=alt.Y2("bottom"))  # fmt: skip
    return [base.mark_rule(color=palette.ground, strokeWidth=_HALO_PX),
            base.mark_rule(color=palette.ink, strokeWidth=1.2)]  # fmt: skip


def _names(cut: pd.DataFrame, span: Span, palette: Palette) -> list[alt.Chart]:
    """Name the seasons as far as the drawn width has room: whole, first word, or not at all."""
    long = cut["label"].astype(str)
    short = long.map(_shorter)
    frame = pd.DataFrame({
        "from": cut["from"] + (cut["to"] - cut["from"]) / 2, "kind": cut["kind"],
        "at": (span.strip_top + span.plot_top) / 2, "long": long, "short": short,
        "share": (cut["to"] - cut["from"]).dt.total_seconds()
        / (span.end - span.start).total_seconds(),
        "long_px": long.str.len() * _LETTER_PX, "short_px": short.str.len() * _LETTER_PX,
    })  # fmt: skip
    looks: tuple[tuple[str, dict[str, Any]], ...] = (
        ("crop", {"fontWeight": "bold", "color": palette.ink}),
        ("offseason", {"fontWeight": "normal", "color": palette.muted}),
    )
    return [
        _named(frame[frame["kind"] == kind], span).mark_text(
            **look, fontSize=TEXT_PX, baseline="middle"
        )
        for kind, look in looks
        if (frame["kind"] == kind).any()
    ]


def _shorter(label: str) -> str:
    """Shorten "Winter wheat 2022" to "Wheat"."""
    *most, _ = label.split(" ")
    return most[-1].capitalize() if most else label


def _named(some: pd.DataFrame, span: Span) -> alt.Chart:
    room = "datum.share * width"
    name = f"{room} >= datum.long_px ? datum.long : {room} >= datum.short_px ? datum.short : ''"
    chart = alt.Chart(some.drop(columns="kind")).transform_calculate(name=name)
    return chart.encode(x=span.x(), text=alt.Text("name:N"), y=span.y("at"))
