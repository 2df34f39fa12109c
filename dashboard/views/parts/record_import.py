"""Take a file into the store: looked at first, its mapping corrected by hand, then taken."""

from pathlib import Path
from typing import Any

import pandas as pd
import streamlit as st

from analytics.errors import LeftOpen, OverwinterError
from analytics.model import Delivery
from dashboard import data, state
from dashboard.data import probe_record
from dashboard.views.parts import frame
from dashboard.views.parts.record_mapping import CLOCKS, clock_of, corrected, rows_of, units
from dashboard.views.parts.record_tables import text_table
from dashboard.words import counted, percent, plain

BY_FILE = "as the file says"


def panel(store: data.Store) -> None:
    """Show the upload, what the file is read as, and the button that takes it."""
    frame.heading("Import a file", "a logger's file, or a table of fields, sites, seasons, …")
    given = st.file_uploader("File", key="record_file", label_visibility="collapsed")
    if given is None:
        frame.muted("Nothing is written until the file has been looked at.")
        return
    path = state.record.upload(given.name, given.getvalue(), probe_record.received)
    try:
        known = probe_record.known(store)
        opened = _opened(store, path, known)
        if opened is None:
            return
        delivery, first = opened
        if delivery.mapping:
            delivery, first = _by_hand(store, path, known, delivery)
    except OverwinterError as trouble:
        st.error(plain(str(trouble)))
        return
    _shown(delivery, first)
    if st.button("Import this file", key="take_file"):
        _take(store, delivery)


def _opened(store: data.Store, path: Path, known: Any) -> tuple[Delivery, pd.DataFrame] | None:
    """Read a file, asking what it leaves open; None until that is told."""
    told: dict[str, Any] = {}
    while True:
        try:
            return probe_record.opening(store, path, known, told or None)
        except LeftOpen as question:
            if any(part in told for one in question.answers.values() for part in one):
                raise  # told, and of no help
            frame.muted(f"{path.name}: {question.found}")
            key = f"left_open_{path.parent.name}_{len(told)}"
            said = state.record.answer(question.asks, [*question.answers], key)
            if said is None:
                return None
            told |= question.answers[said]


def _by_hand(
    store: data.Store, path: Path, known: Any, guess: Delivery
) -> tuple[Delivery, pd.DataFrame]:
    """Let the guessed mapping be corrected, and read the file by it."""
    mapping: dict[str, Any] = guess.mapping or {}
    frame.muted(
        "Read so, by the header and the first rows. Correct any cell; what is corrected is "
        "kept for this logger's next file."
    )
    rows = rows_of(mapping)
    quantities, every = units()
    edited = st.data_editor(
        rows, hide_index=True, width="stretch", key=f"mapping_{path.parent.name}",
        disabled=["column"], placeholder="—",
        column_config={
            "column": st.column_config.TextColumn("Column"),
            "quantity": st.column_config.SelectboxColumn("Quantity", options=quantities),
            "depth_cm": st.column_config.NumberColumn("Depth, cm", min_value=0.0),
            "unit": st.column_config.SelectboxColumn("Unit", options=every),
        },
    )  # fmt: skip
    left, middle, right = st.columns(3)
    with left:
        by_file = mapping["site"].get("value", BY_FILE)
        sites = list(dict.fromkeys([by_file, *sorted(known.sites)]))
        site = st.selectbox("Site", sites, key=f"mapping_site_{by_file}")
    with middle:
        form = st.text_input(
            "Time is written", mapping["time"].get("format", "ISO 8601"), key="mapping_time"
        )
    with right:
        clocks = list(dict.fromkeys([clock_of(mapping), *CLOCKS]))
        clock = st.selectbox(
            "Clock, where a time tells none", clocks, key=f"mapping_clock_{path.parent.name}",
            format_func=lambda one: CLOCKS.get(one, f"UTC{one}"),
        )  # fmt: skip
    changed = corrected(mapping, edited, None if site == by_file else site, form or "", clock)
    return probe_record.opening(store, path, known, changed)


def _shown(delivery: Delivery, first: pd.DataFrame) -> None:
    lost = delivery.rejects["line"].nunique() if len(delivery.rejects) else 0
    note = f"{counted(delivery.rows_in, 'row')}, {lost} of them cannot be taken"
    frame.heading(f"First rows, as {delivery.kind}", note)
    text_table([str(one) for one in first.columns], _cells(first))
    for sentence in delivery.notes:
        frame.muted(sentence)
    for row in delivery.rejects.head(3).to_dict("records"):
        frame.muted(f"Row {row['line']}, {row['column']} {row['value']!r}: {row['reason']}")


def _cells(first: pd.DataFrame) -> list[list[str]]:
    plain = first.drop(columns="geometry", errors="ignore")
    return [
        ["—" if pd.isna(cell) else f"{cell:.4g}" if isinstance(cell, float) else str(cell)
         for cell in row]
        for row in plain.head(6).itertuples(index=False)
    ]  # fmt: skip


def _take(store: data.Store, delivery: Delivery) -> None:
    try:
        with st.status("Taking the file…") as status:
            outcome = probe_record.take(store, delivery)
            status.update(label="Working out the results…")
            report = probe_record.bring_up(
                store, lambda share, site: status.update(label=f"{site}: {percent(share)} done")
            )
    except OverwinterError as trouble:
        st.error(plain(str(trouble)))
        return
    counts = outcome.counts
    said = (
        f"{Path(delivery.path).name}: rows in {outcome.rows_in} = {counts.taken} taken + "
        f"{counts.identical} identical + {counts.superseded} superseded + "
        f"{outcome.rejected} rejected."
    )
    again = "It was imported before; nothing changed." if outcome.already else ""
    told = [said, again, *outcome.notes, *report.failed.values()]
    state.record.remark(" ".join(one for one in told if one), fine=not report.failed)
    st.rerun()
