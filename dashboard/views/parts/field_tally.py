"""The tally of one off-season: waterfall, table, and the change of each layer."""

import pandas as pd
import streamlit as st

from analytics.soil.storage_bands import Band, band_of
from analytics.units import WATER, text
from dashboard import data, state, words
from dashboard.charts.tally import tally_layers, tally_waterfall
from dashboard.views.parts import frame, spans
from dashboard.views.parts.downloads import csv_text, take
from dashboard.views.parts.field_facts import Shown
from dashboard.views.parts.field_pictures import picture
from dashboard.views.parts.tables import tally_table
from dashboard.words import tally as told

WATERFALL_PX = 220
LAYERS_PX = 240


def chosen(shown: Shown) -> pd.DataFrame:
    """Show the choice of off-season and give its rows; empty where there is none."""
    every = data.tally(shown.store, shown.site, shown.day)
    frame.heading("Off-season tally", "")
    options = {f"{one['from']:%Y-%m-%d}": _name(one, shown) for one in
               every[every["depth_cm"].isna()].to_dict("records")}  # fmt: skip
    first = state.winter(options)
    for crop in data.unharvested(shown.store, shown.field).to_dict("records"):
        frame.muted(told.harvest_asked(crop["crop"], crop["planted_on"]))
    if first is None:
        frame.muted(words.NO_TALLY)
        return every.head(0)
    return every[every["from"] == pd.Timestamp(first)]


def _name(one: dict, shown: Shown) -> str:
    today = one["open"] and not _early(one, shown)
    end = "today" if today else words.day_text(one["to"])
    under = f", under {one['crop']}" if one["standing"] else ""
    return f"{words.day_text(one['from'])} to {end}{under}"


def _early(one: dict, shown: Shown) -> bool:
    """Tell whether an open off-season's record ends before the day the store looks at."""
    as_of = shown.store.as_of
    return bool(one["open"]) and as_of is not None and one["to"].date() < as_of


def waterfall(shown: Shown, rows: pd.DataFrame) -> None:
    """Show the whole profile's tally as steps."""
    whole = rows[rows["depth_cm"].isna()].to_dict("records")[0]
    frame.muted(stayed(whole, shown))
    if whole["standing"]:
        frame.muted(told.under_crop(whole["crop"]))
    elif band := _band(whole, shown):
        frame.muted(told.band_told(band))
    if pd.isna(whole["start_mm"]) or pd.isna(whole["end_mm"]):
        frame.muted("The record does not reach both ends of this off-season.")
        return
    change = text(whole["change_mm"], WATER, shown.system, signed=True)
    row = {**deepest(whole, rows), "early": _early(whole, shown)}
    picture(
        shown, "tally", f"Off-season tally: change {change}",
        lambda palette, width: tally_waterfall(
            row, shown.system, palette, width=width, height=WATERFALL_PX
        ),
        lambda: rows, f"{whole['from']}",
    )  # fmt: skip


def deepest(whole: dict, rows: pd.DataFrame) -> dict:
    """Tell how deep a profile's figures reach: a silent layer at the bottom is not in them."""
    known = rows["depth_cm"].notna() & rows["change_mm"].notna()
    return {**whole, "bottom_cm": rows.loc[known, "bottom_cm"].max()}


def _band(whole: dict, shown: Shown) -> Band | None:
    """Find the published trials that a share which is known may be read beside."""
    latitude = shown.probe["latitude"].dropna()
    if pd.isna(whole["storage_efficiency"]) or latitude.empty:
        return None
    return band_of(float(latitude.iloc[-1]), whole["from"].date(), whole["to"].date())


def stayed(whole: dict, shown: Shown) -> str:
    """Say what share of the water received stayed, and how much of the span was seen."""
    share, received = whole["storage_efficiency"], whole["received_mm"]
    seen = whole["coverage"]
    parts = []
    if not pd.isna(share) and not pd.isna(received):
        water = text(received, WATER, shown.system)
        parts.append(f"{100 * share:.0f} % of {water} received stayed" if share >= 0 else
                     f"{water} received, and more than that was lost")  # fmt: skip
    if not pd.isna(seen):
        parts.append(f"{100 * seen:.0f} % of days seen")
    return " · ".join(parts)


def by_layer(shown: Shown, rows: pd.DataFrame) -> None:
    """Show the tally layer by layer, as a table and as a chart of changes."""
    left, right = st.columns([7, 4], gap="medium")
    layers = rows[rows["depth_cm"].notna()]
    with left:
        frame.heading("The tally, layer by layer")
        tally_table(rows, emptied(shown, rows), shown.system)
        if adds := told.sums_told(len(layers), int(layers["change_mm"].notna().sum())):
            frame.muted(adds)
        take(shown, "tally-by-layer", {"CSV": lambda: csv_text(rows)})
    with right:
        frame.heading("Change of each layer")
        picture(
            shown, "change-by-layer", "Change of each layer over the off-season",
            lambda palette, width: tally_layers(
                rows, shown.system, palette, width=width, height=LAYERS_PX,
                split_cm=shown.split_cm,
            ),
            lambda: layers, f"{layers['from'].iloc[0]}",
        )  # fmt: skip


def emptied(shown: Shown, rows: pd.DataFrame) -> list[str | None]:
    """Name the crop that emptied each layer: as the tally has it, else by its last full day."""
    told = rows["emptied_by"] if "emptied_by" in rows else pd.Series(None, rows.index, object)
    return [
        one if isinstance(one, str) else spans.emptied_by(shown.seasons, last)
        for one, last in zip(told, rows["last_full"], strict=True)
    ]
