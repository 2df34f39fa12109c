"""Small tables as HTML: figures right, what is not known an em dash, never an empty word."""

from collections.abc import Sequence
from html import escape

import pandas as pd
import streamlit as st

from analytics.units import DEPTH, WATER, System
from dashboard import words
from dashboard.views.parts.measures import bare

_TALLY = (
    ("start_mm", "Left", False), ("gain_rain_mm", "Rain", True), ("gain_snow_mm", "Snow", True),
    ("gain_irrigation_mm", "Put on", True), ("gain_thaw_mm", "Thaw", True),
    ("gain_unexplained_mm", "Not explained", True), ("loss_mm", "Lost", True),
    ("change_mm", "Change", True), ("end_mm", "Held", False),
)  # fmt: skip


def table(head: Sequence[str], rows: Sequence[Sequence[str]], *, sums: int = 0) -> None:
    """Show a table; the last ``sums`` rows are set apart as sums."""
    heads = "".join(f'<th scope="col">{escape(one)}</th>' for one in head)
    body = "".join(
        f"<tr{' class=sum' if at >= len(rows) - sums else ''}>"
        + "".join(f"<td>{escape(cell)}</td>" for cell in row)
        + "</tr>"
        for at, row in enumerate(rows)
    )
    st.html(
        f'<div class="ow-scroll"><table class="ow-table"><thead><tr>{heads}</tr></thead>'
        f"<tbody>{body}</tbody></table></div>"
    )


def tally_table(rows: pd.DataFrame, system: System) -> None:
    """Show the tally of one off-season, layer by layer, the whole profile last."""
    unit, depth = WATER.shown(system).unit, DEPTH.shown(system).unit
    ordered = rows.sort_values("depth_cm", na_position="last")
    shown = [
        [
            "Profile" if pd.isna(row["depth_cm"])
            else words.layer_label(row["top_cm"], row["bottom_cm"], system),
            *(_water(-row[key] if key == "loss_mm" else row[key], system, signed=signed)
              for key, _, signed in _TALLY),
            words.day_text(row["last_full"]),
        ]
        for row in ordered.to_dict("records")
    ]  # fmt: skip
    head = [f"Layer, {depth}", *(f"{name}, {unit}" for _, name, _ in _TALLY), "Last full"]
    table(head, shown, sums=int(ordered["depth_cm"].isna().sum()))


def _water(value: float | None, system: System, *, signed: bool) -> str:
    return "—" if value is None or pd.isna(value) else bare(value, system, signed=signed)


def zones_table(zones: pd.DataFrame, system: System, split_cm: float) -> None:
    """Show what each zone holds now, how sure that is, and what it rests on."""
    unit = WATER.shown(system).unit
    named = {row["zone"]: row for row in zones.to_dict("records")}
    shown = []
    for zone in ("upper", "deep", "profile"):
        row = named.get(zone)
        if row is None or pd.isna(row["deficit_mm"]):
            continue
        sure = row["class_probability"]
        shown.append(
            [
                words.zone_label(zone, system, split_cm).capitalize(),
                _water(max(row["deficit_mm"], 0.0), system, signed=False),
                "—" if pd.isna(row["sd_mm"])
                else f"±{bare(words.EIGHT_IN_TEN * row['sd_mm'], system)}",
                _water(row["water_mm"], system, signed=False),
                words.class_name(row["class"]),
                "—" if pd.isna(sure) else f"{100 * sure:.0f} %",
                words.basis_words(row["basis"]),
            ]
        )  # fmt: skip
    table(
        ["Zone", f"Short, {unit}", "8 in 10", f"Water, {unit}", "Class", "Sure", "Full point"],
        shown,
    )
