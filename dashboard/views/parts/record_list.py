"""Which probes need a visit: one list to send a technician out with."""

from typing import Any

import pandas as pd
import streamlit as st

from analytics.units import System
from dashboard import data, state
from dashboard.data import probe_record
from dashboard.views.parts import frame
from dashboard.views.parts.downloads import csv_text
from dashboard.views.parts.offer import offer
from dashboard.views.parts.record_sheet import sheet
from dashboard.views.parts.record_tables import text_table
from dashboard.words import day_text
from dashboard.words import record as words

COLUMNS = [
    "kind", "field", "site", "latitude", "longitude", "wrong", "since", "todo", "window",
]  # fmt: skip
HEAD = ("Field", "Probe", "Place", "What is wrong", "Since", "What to do", "When it can be dug")


def visits(store: data.Store, probes: pd.DataFrame, system: System) -> pd.DataFrame:
    """Give one row a probe and trouble, the most urgent first.

    Returns
    -------
    DataFrame
        Columns ``COLUMNS``; ``since`` a day, ``wrong``, ``todo`` and ``window`` in words.
    """
    windows = probe_record.windows(store)
    rows = [*_found(probe_record.troubles(store), probes, system), *_old(store, probes)]
    frame_ = pd.DataFrame(rows, columns=[*COLUMNS[:6], "since", "todo", "window"])
    frame_["todo"] = [words.todo(one) for one in frame_["kind"]]
    frame_["window"] = [words.window_text(windows.get(one)) for one in frame_["site"]]
    order = frame_["kind"].map({one: at for at, one in enumerate(words.URGENCY)})
    return (
        frame_.assign(order=order)
        .sort_values(["order", "since", "field"], ignore_index=True)
        .drop(columns="order")
    )


def _found(
    troubles: pd.DataFrame, probes: pd.DataFrame, system: System
) -> list[dict[str, Any]]:
    """Tell what the record shows; a failing sensor is not told again as out of range."""
    known = {str(row["site"]): row for row in probes.to_dict("records")}
    failing = set(_sensors(troubles[troubles["kind"] == "failing"]))
    again = [
        kind == "range" and key in failing
        for kind, key in zip(troubles["kind"], _sensors(troubles), strict=True)
    ]
    rows = []
    told = troubles[~pd.Series(again, index=troubles.index, dtype=bool)]
    told = told[told["site"].isin(known)]
    for (site, kind, _), part in told.groupby(["site", "kind", _begun(told)], dropna=False):
        place = known[str(site)]
        which = words.sensors_text(list(part["depth_cm"]), int(place["sensors"]), system)
        lost = f", {words.hours_text(part['hours'].max())} lost" if kind == "gaps" else ""
        wrong = f"{words.KINDS[str(kind)]}, {which}{lost}"
        rows.append(_row(str(kind), str(site), place, wrong, part["since"].min()))
    return rows


def _begun(troubles: pd.DataFrame) -> pd.Series:
    """Part sensors whose trouble began on different days; lost hours are summed, not dated."""
    return troubles["since"].dt.normalize().mask(troubles["kind"] == "gaps").rename("day")


def _sensors(troubles: pd.DataFrame) -> list[tuple[str, float]]:
    return list(zip(troubles["site"], troubles["depth_cm"], strict=True))


def _old(store: data.Store, probes: pd.DataFrame) -> list[dict[str, Any]]:
    rules = store.settings
    due = probes[probes["age_years"] >= rules.due_years]
    return [
        _row("due", str(row["site"]), row,
             f"{words.KINDS['due']}, {row['age_years']:.1f} years in the ground",
             row["installed_on"])
        for row in due.to_dict("records")
    ]  # fmt: skip


def _row(kind: str, site: str, place: Any, wrong: str, since: Any) -> dict[str, Any]:
    return {
        "kind": kind, "field": place["name"], "site": site, "latitude": place["latitude"],
        "longitude": place["longitude"], "wrong": wrong, "since": since,
    }  # fmt: skip


def visits_panel(store: data.Store, every: pd.DataFrame) -> None:
    """Show the list with its choice of kinds, and give it to take away."""
    frame.heading("Visits, most urgent first", f"{len(every)} to make")
    if every.empty:
        frame.muted(words.NO_TROUBLE)
        return
    kept = _chosen(every)
    rows = texts(kept)
    text_table(HEAD, rows, tall=True)
    name = f"visits-{store.as_of}"
    printed = sheet(f"Visits, {store.name}", day_text(store.as_of), HEAD, rows)
    with st.container(horizontal=True):
        offer("The list as CSV", csv_text(kept.drop(columns="kind")), file_name=f"{name}.csv",
              mime="text/csv", key="visits_csv")  # fmt: skip
        offer("The list to print", printed, file_name=f"{name}.html", mime="text/html",
              key="visits_print")  # fmt: skip


def _chosen(every: pd.DataFrame) -> pd.DataFrame:
    counts = every["kind"].value_counts()
    options = {
        one: f"{words.KINDS[one]} ({counts[one]})" for one in words.URGENCY if one in counts
    }
    wanted = state.record.kinds(options)
    return every[every["kind"].isin(wanted)] if wanted else every


def texts(rows: pd.DataFrame) -> list[list[str]]:
    """Write the rows as a person reads them."""
    return [
        [row["field"], row["site"], f"{row['latitude']:.5f}, {row['longitude']:.5f}",
         row["wrong"], day_text(row["since"]), row["todo"], row["window"]]
        for row in rows.to_dict("records")
    ]  # fmt: skip
