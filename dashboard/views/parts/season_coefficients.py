"""A crop's coefficients: those that hold, a person's own, and the versions there were."""

from typing import Any

import pandas as pd
import streamlit as st

from analytics.errors import OverwinterError
from analytics.water.demand import Crop
from dashboard import data, words
from dashboard.data import growing, session
from dashboard.views.parts import frame
from dashboard.views.parts.points_work import done, working
from dashboard.views.parts.tables import table
from dashboard.words import growing as said

LABELS = ("initial", "mid-season", "end")
STAGES = ("initial", "development", "mid-season", "late")


def show(store: data.Store, field: str, name: str, crop: str) -> None:
    """Show what holds for a crop in a field, and let a person set their own."""
    now = growing.coefficients_of(store, crop, field)
    if now is None:
        return
    with st.expander(f"Coefficients and stages of {crop}"):
        frame.muted(said.COEFFICIENTS)
        _set(store, field, name, crop, now)
        _history(store, crop)


def show_missing(store: data.Store) -> None:
    """Name every crop without coefficients, and let a person set them."""
    for crop, fields in growing.crops_without_coefficients(store).items():
        with st.expander(f"{crop}: no coefficients yet"):
            frame.muted(said.no_coefficients(crop, len(fields)))
            if session.may_write():
                _asked(store, crop, None, {"": "in every field"})


def _set(store: data.Store, field: str, name: str, crop: str, now: Crop) -> None:
    if not session.may_write():
        table(["", *LABELS], [["Coefficient", *(f"{one:.2f}" for one in now[:3])]])
        table(["", *STAGES], [["Days", *(str(one) for one in now.stages_d)]])
        return
    _asked(store, crop, now, {field: f"in {name} only", "": "in every field"})


def _asked(store: data.Store, crop: str, now: Crop | None, where: dict[str, str]) -> None:
    """Ask for a version, from what holds now or from nothing, and keep it."""
    with st.form(f"coefficients {next(iter(where))} {crop}", border=False):
        kcs = _numbers("Kc", LABELS, now[:3] if now else [None] * 3, (0.05, 1.6, 0.01))
        days = _numbers("Days", STAGES, now.stages_d if now else [None] * 4, (1, 300, 1))
        left, middle, right = st.columns(3)
        with left:
            holds = st.selectbox("Holds", list(where), format_func=lambda one: where[one])
        with middle:
            by = st.text_input("Set by")
        with right:
            why = st.text_input("Reason")
        if not st.form_submit_button("Save this version"):
            return
    if None in {*kcs, *days}:
        st.warning(said.SEVEN_FIGURES)
        return
    first, second, third, fourth = (int(one) for one in days)
    mine = Crop(float(kcs[0]), float(kcs[1]), float(kcs[2]), (first, second, third, fourth))
    try:
        with working() as tell:
            failed = growing.set_coefficients(store, crop, holds or "", mine, by, why, tell)
    except OverwinterError as trouble:
        st.warning(str(trouble))
        return
    done(failed, f"A version for {crop} is saved, and everything worked out anew.")


def _numbers(kind: str, labels: Any, values: Any, bounds: tuple[Any, Any, Any]) -> list[Any]:
    low, high, step = bounds
    columns = st.columns(len(labels))
    out = []
    for column, label, value in zip(columns, labels, values, strict=True):
        with column:
            out.append(st.number_input(f"{kind}, {label}", low, high, value, step))
    return out


def _history(store: data.Store, crop: str) -> None:
    """List the versions there were; one that holds can be taken back."""
    rows = growing.coefficient_versions(store, crop)
    if rows.empty:
        return
    names = {"": "every field"}
    head = ["Made", "Holds in", "Kc", "Days", "By", "Reason", "Taken back"]
    table(head, [_line(row, names) for row in rows.to_dict("records")])
    held = rows[rows["undone_at"].isna()]
    if held.empty or not session.may_write():
        return
    with st.form(f"undo {crop}", border=False):
        number = st.selectbox("Take back", list(held["id"]),
                              format_func=lambda one: _told(held, one))  # fmt: skip
        by = st.text_input("Taken back by")
        if not st.form_submit_button("Take this version back"):
            return
    try:
        with working() as tell:
            failed = growing.drop_coefficients(store, int(number or 0), by, tell)
    except OverwinterError as trouble:
        st.warning(str(trouble))
        return
    done(failed, f"A version for {crop} is taken back.")


def _told(held: pd.DataFrame, number: int) -> str:
    row = held[held["id"] == number].iloc[0]
    return f"Kc {row['kc_mid']:.2f}, by {row['author']}, {words.day_text(row['made_at'])}"


def _line(row: dict[Any, Any], names: dict[str, str]) -> list[str]:
    return [
        words.day_text(row["made_at"]), names.get(row["field"], str(row["field"])),
        f"{row['kc_ini']:.2f} {row['kc_mid']:.2f} {row['kc_end']:.2f}",
        "/".join(str(one) for one in row["stages_d"]), str(row["author"]), str(row["reason"]),
        "" if pd.isna(row["undone_at"]) else
        f"{words.day_text(row['undone_at'])} by {row['undone_by']}",
    ]  # fmt: skip
