"""Small tables as HTML: figures right, what is not known an em dash, never an empty word."""

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

import pandas as pd
import streamlit as st

from analytics.units import DEPTH, WATER, System
from dashboard import words
from dashboard.views.parts.answers import sure_class
from dashboard.views.parts.measures import bare
from dashboard.views.parts.scrolling import scrolling

_TALLY = (
    ("start_mm", "Left", False), ("gain_rain_mm", "Rain", True), ("gain_snow_mm", "Snow", True),
    ("gain_irrigation_mm", "Put on", True), ("gain_thaw_mm", "Thaw", True),
    ("gain_unexplained_mm", "Not explained", True), ("loss_up_mm", "Lost upward", True),
    ("loss_down_mm", "Lost downward", True), ("drainage_mm", "At least drained", True),
    ("loss_mm", "Lost in all", True),
    ("change_mm", "Change", True), ("end_mm", "Held", False),
)  # fmt: skip


Column = tuple[str, str, bool]
_STATES = ("start_mm", "change_mm", "end_mm")
_LOST = ("loss_up_mm", "loss_down_mm", "drainage_mm", "loss_mm")


def table(
    head: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    sums: int = 0,
    tall: bool = False,
) -> None:
    """Show a table; the last ``sums`` rows are set apart as sums; a tall one scrolls."""
    heads = "".join(f'<th scope="col">{escape(one)}</th>' for one in head)
    body = "".join(
        f"<tr{' class=sum' if at >= len(rows) - sums else ''}>"
        + "".join(f"<td>{escape(cell)}</td>" for cell in row)
        + "</tr>"
        for at, row in enumerate(rows)
    )
    made = (
        f'<table class="ow-table"><thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table>'
    )
    st.html(scrolling(made, head, tall=tall))


def tally_table(rows: pd.DataFrame, emptied: Sequence[str | None], system: System) -> None:
    """Show the tally of one off-season, layer by layer, the whole profile last.

    ``emptied`` names the crop that emptied each row's layer. A column in which nothing would
    show is left out.
    """
    table(*tally_rows(rows, emptied, system), sums=int(rows["depth_cm"].isna().sum()))


def tally_rows(
    rows: pd.DataFrame, emptied: Sequence[str | None], system: System
) -> tuple[list[str], list[list[str]]]:
    """Write the tally as head and rows, as `tally_table` shows them."""
    unit, depth = WATER.shown(system).unit, DEPTH.shown(system).unit
    named = pd.Series([*emptied], index=rows.index, dtype=object)
    ordered = rows.assign(emptied=named).sort_values("depth_cm", na_position="last")
    kept = [one for one in _TALLY if _worth(ordered, one[0], system)]
    shown = [[*_first(row, system), *_figures(row, kept, system), *_fullness(row, system)]
             for row in ordered.to_dict("records")]  # fmt: skip
    head = [f"Layer, {depth}", *(f"{name}, {unit}" for _, name, _ in kept), "Last full",
            "Emptied by", f"Most short since, {unit}"]  # fmt: skip
    return head, shown


def _worth(rows: pd.DataFrame, key: str, system: System) -> bool:
    """Tell whether a column is always there, or would show more than nought somewhere."""
    if key not in rows:
        return False
    if key == "loss_mm" and _told_apart(rows):
        return False
    shown = WATER.shown(system)
    seen = (rows[key].abs() * shown.factor).round(shown.digits) > 0
    return key in _STATES or bool(seen.any())


def _told_apart(rows: pd.DataFrame) -> bool:
    """Tell whether the ways that water was lost are known of every row whose loss is."""
    if "loss_up_mm" not in rows:
        return False
    return bool(rows.loc[rows["loss_mm"].notna(), "loss_up_mm"].notna().all())


def _first(row: Mapping[Any, Any], system: System) -> list[str]:
    if pd.isna(row["depth_cm"]):
        return ["Profile"]
    return [words.layer_label(row["top_cm"], row["bottom_cm"], system)]


def _figures(row: Mapping[Any, Any], kept: Sequence[Column], system: System) -> list[str]:
    return [
        _water(-row[key] if key in _LOST else row[key], system, signed=signed)
        for key, _, signed in kept
    ]


def _fullness(row: Mapping[Any, Any], system: System) -> list[str]:
    if pd.isna(row["depth_cm"]):
        return ["", "", ""]
    never = pd.isna(row["last_full"])
    return [
        "not seen"
        if never and not pd.isna(row["end_mm"])
        else words.day_text(row["last_full"]),
        row["emptied"] if isinstance(row["emptied"], str) else "—",
        "—" if never else _water(row["largest_deficit_mm"], system, signed=False),
    ]


def _water(value: float | None, system: System, *, signed: bool) -> str:
    return "—" if value is None or pd.isna(value) else bare(value, system, signed=signed)


def zones_table(zones: pd.DataFrame, system: System, split_cm: float) -> None:
    """Show what each zone holds now, how sure that is, and what it rests on."""
    table(*zones_rows(zones, system, split_cm))


def zones_rows(
    zones: pd.DataFrame, system: System, split_cm: float
) -> tuple[list[str], list[list[str]]]:
    """Write what each zone holds as head and rows, as `zones_table` shows them."""
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
                sure_class(row),
                "—" if pd.isna(sure) else f"{100 * sure:.0f} %",
                words.basis_words(row["basis"]),
            ]
        )  # fmt: skip
    head = [
        "Zone",
        f"Short, {unit}",
        "8 in 10",
        f"Water, {unit}",
        "Class",
        "Sure",
        "Full point",
    ]
    return head, shown
