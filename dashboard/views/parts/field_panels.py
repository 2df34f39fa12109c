"""The panels of a field's page that show its soil: picture, core, winters, years."""

from html import escape
from typing import Any

import pandas as pd
import streamlit as st

from dashboard import data, words
from dashboard.charts.core import core_figure
from dashboard.charts.core_strip import core_layers, core_svg, data_uri
from dashboard.charts.depth_time import depth_by_time
from dashboard.charts.palette import Palette
from dashboard.charts.seasons import season_over_season
from dashboard.charts.spec import sent
from dashboard.views.parts import field_pictures, frame, rows, spans
from dashboard.views.parts.answers import standing_of
from dashboard.views.parts.downloads import drawing_makers, take
from dashboard.views.parts.drawing import drawing
from dashboard.views.parts.field_facts import Shown
from dashboard.views.parts.measures import bare
from dashboard.views.parts.notes import notes

PICTURE_PX = 320
YEARS_PX = 260
CORE_PX = (50.0, 190.0)
WINTERS = 6


def picture(shown: Shown, start: str) -> None:
    """Show each layer week by week, to scale, and beside it the core of the day."""
    left, right = st.columns([7, 3], gap="large")
    with left:
        frame.heading("Each layer, week by week, to scale", shown.placed)
        weekly = data.weekly(shown.store, shown.site, start, shown.day)
        if weekly.empty:
            frame.muted(words.EMPTY_DATE)
        else:
            _picture(shown, weekly, start)
    with right:
        _core(shown)


def _picture(shown: Shown, weekly: pd.DataFrame, start: str) -> None:
    noted = notes(shown, start, float(weekly["bottom_cm"].max()))
    seasons = spans.strip(shown.seasons, start, shown.day)
    told = ". ".join(noted["text"])
    field_pictures.picture(
        shown, "depth-by-time",
        f"Class of fill of each layer by week since {words.day_text(start)}. {told}",
        lambda palette, width: depth_by_time(
            weekly, seasons, noted, palette, shown.system,
            width=width, height=PICTURE_PX, split_cm=shown.split_cm,
            root_limit_cm=shown.root_limit_cm,
        ),
        lambda: weekly, start,
    )  # fmt: skip


def show(chart: Any, words_: str) -> None:
    """Draw a chart in our own theme."""
    st.vega_lite_chart(sent(chart), theme=None, width="stretch", alt=words_)


def _core(shown: Shown) -> None:
    frame.heading(words.day_text(shown.day))
    layers = core_layers(shown.layers)
    crop, standing = shown.row["last_crop"], standing_of(shown.row)
    tick = "tick: what the crop before left · " if standing else (
        f"tick: what {crop} left · " if isinstance(crop, str) else "")  # fmt: skip
    label = rows.label_of(shown.row, shown.system, shown.split_cm)

    def draw(palette: Palette) -> str:
        return core_figure(
            layers, shown.system, palette, label=label, height=260.0,
            upper_mm=_number(shown.row["upper_deficit_mm"]),
            deep_mm=_number(shown.row["deep_deficit_mm"]),
            foot=f"{tick}right edge: full", split_cm=shown.split_cm,
            root_limit_cm=shown.root_limit_cm,
        )  # fmt: skip

    drawing(draw(shown.palette), key="core")
    take(shown, "core", drawing_makers(draw, lambda: shown.layers))


def _number(value: Any) -> float | None:
    return None if pd.isna(value) else float(value)


def winters(shown: Shown) -> None:
    """Show the cores at each planting, and what the winter before put back."""
    zone = str(shown.row["zone"])  # the whole profile where none of it is deep
    below = words.zone_label(zone, shown.system, shown.split_cm)
    where = below if zone == "deep" else f"into the {below}"
    every = data.winters(shown.store, shown.site, zone, shown.day).tail(WINTERS)
    frame.heading(f"What winter put back {where}", words.counted(len(every), "off-season"))
    if every.empty:
        frame.muted(words.NO_TALLY)
        return
    frame.muted("Cores at planting (last: the date shown); tick: what the crop before left")
    kept = _by_day(data.plantings(shown.store, shown.site, shown.day))
    latest = max(kept, default="")
    figures = "".join(
        _winter(shown, one, kept.get(latest if one["open"] else f"{one['to']:%Y-%m-%d}"))
        for one in every.to_dict("records")
    )
    st.html(f'<div class="ow-cores">{figures}</div>')


def _by_day(rows_: pd.DataFrame) -> dict[str, pd.DataFrame]:
    days = rows_["date"].dt.strftime("%Y-%m-%d")
    return {str(day): part for day, part in rows_.groupby(days)}


def _winter(shown: Shown, one: dict[Any, Any], part: pd.DataFrame | None) -> str:
    layers = () if part is None else core_layers(part)
    put = one["change_mm"]
    figure = "—" if pd.isna(put) else bare(put, shown.system, signed=True)
    first, last = one["from"].year, one["to"].year
    years = f"{first}" if first == last else f"{first}–{last % 100:02d}"
    crop = one["crop"] if isinstance(one["crop"], str) else "a crop"
    after = f"{'under' if one['standing'] else 'after'} {crop}"
    label = f"{years}, {after}: {figure}"
    core = core_svg(layers, width=CORE_PX[0], height=CORE_PX[1], palette=shown.palette,
                    split_cm=shown.split_cm, label=label)  # fmt: skip
    return (
        f'<figure><img src="{data_uri(core)}" alt="{escape(label)}"><figcaption>'
        f"<b>{escape(figure)}</b>{escape(years)}<br>{escape(after)}</figcaption></figure>"
    )


def years(shown: Shown) -> None:
    """Show this year over the earlier ones, upper and deep."""
    month = int(shown.store.settings.years_month)
    frame.heading("This year over earlier ones", words.year_span(month))
    for column, zone in zip(st.columns(2, gap="medium"), ("deep", "upper"), strict=True):
        found = data.zone_days(shown.store, shown.site, zone, shown.day)
        label = words.zone_label(zone, shown.system, shown.split_cm)
        with column:
            if found["water_mm"].notna().sum() == 0:
                frame.muted(f"No water is known {label}.")
            else:
                _years(shown, zone, label, found)


def _years(shown: Shown, zone: str, label: str, found: pd.DataFrame) -> None:
    field_pictures.picture(
        shown, f"years-{zone}",
        f"Water {label} by day of the year, "
        f"{words.counted(found['season'].nunique(), 'year')}",
        lambda palette, width: season_over_season(
            found, label, shown.system, palette, width=width, height=YEARS_PX,
            month=int(shown.store.settings.years_month),
        ),
        lambda: found,
    )  # fmt: skip
