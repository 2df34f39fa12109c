"""Which probes can be trusted, what is missing, and what to do about it."""

import pandas as pd
import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from analytics.units import System
from dashboard import data, state
from dashboard.data import probe_record
from dashboard.views.parts import (
    frame,
    record_edits,
    record_import,
    record_list,
    record_probe,
    record_summary,
)


def show() -> None:
    """Show the page."""
    store = data.opened()
    top = st.container()
    record_summary.remarked()
    if store.as_of is not None:
        _known(store, top)
    else:
        with top:
            record_summary.nothing_yet()
    with st.container(border=True):
        record_import.panel(store)
    frame.cautions()


def _known(store: data.Store, top: DeltaGenerator) -> None:
    probes = probe_record.probes(store)
    controls = st.container(horizontal=True, vertical_alignment="bottom")
    with controls:
        system = state.units(store.units)
    every = record_list.visits(store, probes, system)
    with top:
        record_summary.answer(store, probes, every)
    if probes.empty:
        return
    with controls:
        probe = _chosen(store, probes, every, system)
    with st.container(border=True):
        record_list.visits_panel(store, every)
    with st.container(border=True):
        record_probe.calendar(probe)
    left, right = st.columns(2, gap="small")
    with left, st.container(border=True):
        record_probe.gaps(probe)
    with right, st.container(border=True):
        record_edits.spans(probe)
    _words(probe)


def _words(probe: record_probe.Probe) -> None:
    left, right = st.columns(2, gap="small")
    with left, st.container(border=True):
        record_edits.history(probe)
    with right, st.container(border=True):
        frame.heading("Flag a span by hand")
        record_edits.add(probe, probe_record.depths(probe.store, probe.site))


def _chosen(
    store: data.Store, probes: pd.DataFrame, every: pd.DataFrame, system: System
) -> record_probe.Probe:
    names = {row["site"]: f"{row['name']} · {row['site']}" for row in probes.to_dict("records")}
    site = state.record.site(names, record_summary.first(store, probes, every))
    row = next(one for one in probes.to_dict("records") if one["site"] == site)
    first = row["first_day"]
    return record_probe.Probe(
        store=store, palette=frame.palette(), system=system, site=site, name=names[site],
        first_day=None if pd.isna(first) else first.date(),
        last_day=store.as_of or first.date(),
        sensors=0 if pd.isna(row["sensors"]) else int(row["sensors"]),
    )  # fmt: skip


if __name__ == "__main__":
    show()
