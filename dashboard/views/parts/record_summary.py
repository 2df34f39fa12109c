"""What the Record page answers first, and the probe it opens with."""

from datetime import date
from typing import Any

import pandas as pd
import streamlit as st

from dashboard import data, state
from dashboard.data import probe_record, watering
from dashboard.views.parts import frame
from dashboard.words import day_text
from dashboard.words import record as words

COMING_DAYS = 92
"""A window that opens later is not the coming one."""


def answer(store: data.Store, probes: pd.DataFrame, every: pd.DataFrame) -> None:
    """Answer how many probes are silent, how many sensors fail, how many probes are due."""
    troubles = probe_record.troubles(store)
    due = every[every["kind"] == "due"]
    whole = every[every["kind"] == "silent"]
    frame.answer(
        words.record_answer(
            silent=whole["site"].nunique(),
            failing=int((troubles["kind"] == "failing").sum()),
            mute=int((troubles["kind"] == "mute").sum()),
            due=len(due), of=len(probes), before=_before(store, due),
        ),
        _worst(every),
        words.record_rests(
            read_on=probes["last_day"].max(), oldest_years=probes["age_years"].max(),
            due_years=store.settings.due_years,
        ),
    )  # fmt: skip


def _before(store: data.Store, due: pd.DataFrame) -> date | None:
    """Give the day by which the first of the windows has closed."""
    windows = probe_record.windows(store)
    soonest = [
        one.closes
        for site in due["site"]
        if (one := windows.get(site)) is not None
        and one.closes is not None
        and store.as_of is not None
        and (one.opens - store.as_of).days < COMING_DAYS
    ]
    return min(soonest, default=None)


def _worst(every: pd.DataFrame) -> str:
    urgent = every[~every["kind"].isin(["due", "settling"])].head(2)
    return " ".join(_told(row) for row in urgent.to_dict("records"))


def _told(row: dict[Any, Any]) -> str:
    wrong = f"{row['wrong'][0].lower()}{row['wrong'][1:]}"
    return f"{row['field']}: {wrong}, since {day_text(row['since'])}."


def nothing_yet() -> None:
    """Say that there is no record yet."""
    frame.answer(words.IMPORT_FIRST, "", "")


def remarked() -> None:
    """Show once what the last action did."""
    told = state.record.remarked()
    if told is not None:
        sentence, fine = told
        (st.info if fine else st.warning)(sentence)


def first(store: data.Store, probes: pd.DataFrame, every: pd.DataFrame) -> str:
    """Choose the probe to open with: the chosen field's, else the one most in need."""
    field = state.picked(watering.field_names(store))
    own = probes.loc[probes["field"] == field, "site"]
    if len(own):
        return str(own.iloc[0])
    urgent = every["site"]
    return str(urgent.iloc[0]) if len(urgent) else str(probes["site"].iloc[0])
