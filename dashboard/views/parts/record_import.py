"""Take files into the store: looked at first, a lone one's mapping corrected, then taken."""

from pathlib import Path
from typing import Any

import pandas as pd
import streamlit as st

from analytics.errors import LeftOpen, OverwinterError, some_of
from analytics.model import Delivery
from dashboard import data, state
from dashboard.data import probe_record
from dashboard.data.probe_record import Outcome
from dashboard.views.parts import frame
from dashboard.views.parts.record_mapping import CLOCKS, clock_of, corrected, rows_of, units
from dashboard.views.parts.record_tables import text_table
from dashboard.words import counted, percent, plain

BY_FILE = "as the file says"
CHOOSE_IT = "Choose it alone, and you are asked."
MOST_NAMED = 3


def panel(store: data.Store) -> None:
    """Show the upload, what its files are read as, and the button that takes them."""
    frame.heading("Import files", "loggers’ files, or tables of fields, sites, seasons, …")
    given = st.file_uploader(
        "Files", key="record_file", label_visibility="collapsed", accept_multiple_files=True
    )
    if not given:
        frame.muted("Nothing is written until the files have been looked at.")
        return
    paths = state.record.uploads(
        [(one.name, one.getvalue()) for one in given], probe_record.received
    )
    known = probe_record.known(store)
    if len(paths) == 1:
        _alone(store, paths[0], known)
    else:
        _many(store, paths, known)


def _alone(store: data.Store, path: Path, known: Any) -> None:
    """Show one file's rows, with its mapping to be corrected by hand."""
    try:
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
        _take(store, [delivery])


def _many(store: data.Store, paths: list[Path], known: Any) -> None:
    """List what each of many files is read as; those that can be taken are taken at once."""
    readable: list[Delivery] = []
    lines: list[list[str]] = []
    for path in paths:
        try:
            delivery, _ = probe_record.opening(store, path, known, None)
        except LeftOpen as question:
            told = f"{question.found[0].upper()}{question.found[1:]} {CHOOSE_IT}"
            lines.append([path.name, "—", "—", told])
        except OverwinterError as trouble:
            lines.append([path.name, "—", "—", str(trouble)])
        else:
            readable.append(delivery)
            lines.append([path.name, delivery.kind, f"{delivery.rows_in}", _known_of(delivery)])
    text_table(["File", "Read as", "Rows", "What to know"], lines)
    what = counted(len(readable), "file")
    if readable and st.button(f"Import {what}", key="take_file"):
        _take(store, readable)


def _known_of(delivery: Delivery) -> str:
    """Say which rows are lost, and what else a person should know before a file is taken."""
    lost = _lost(delivery)
    rows = f"{counted(lost, 'row')} cannot be taken." if lost else ""
    return " ".join(filter(None, [rows, *delivery.notes])) or "—"


def _lost(delivery: Delivery) -> int:
    """Count the rows that cannot be taken whole."""
    return delivery.rejects["line"].nunique() if len(delivery.rejects) else 0


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
    note = f"{counted(delivery.rows_in, 'row')}, {_lost(delivery)} of them cannot be taken"
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


def _take(store: data.Store, deliveries: list[Delivery]) -> None:
    """Take files one by one, of which none holds back another; then work the results out."""
    taken: list[tuple[str, Outcome]] = []
    against: list[str] = []
    with st.status("Taking the files…") as status:
        for delivery in deliveries:
            name = Path(delivery.path).name
            status.update(label=f"Taking {name}…")
            try:
                taken.append((name, probe_record.take(store, delivery)))
            except OverwinterError as trouble:
                against.append(str(trouble))
        status.update(label="Working out the results…")
        try:
            report = probe_record.bring_up(
                store, lambda share, site: status.update(label=f"{site}: {percent(share)} done")
            )
            against += report.failed.values()
        except OverwinterError as trouble:
            against.append(str(trouble))
    state.record.remark(" ".join([*_told(taken), *against]), fine=not against)
    st.rerun()


def _told(taken: list[tuple[str, Outcome]]) -> list[str]:
    """Add up what was taken; then what should be known of it, each sentence once."""
    if not taken:
        return []
    what = taken[0][0] if len(taken) == 1 else counted(len(taken), "file")
    counts = [one.counts for _, one in taken]
    said = (
        f"{what}: rows in {sum(one.rows_in for _, one in taken)} = "
        f"{sum(one.taken for one in counts)} taken + "
        f"{sum(one.identical for one in counts)} identical + "
        f"{sum(one.superseded for one in counts)} superseded + "
        f"{sum(one.rejected for _, one in taken)} rejected."
    )
    again = [name for name, one in taken if one.already]
    before = f"Imported before, and nothing changed: {some_of(again, MOST_NAMED)}."
    notes = dict.fromkeys(note for _, one in taken for note in one.notes)
    return [said, *([before] if again else []), *notes]
