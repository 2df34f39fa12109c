"""What people say about flagged spans: confirm, dismiss, add, undo; each with who and why."""

from collections.abc import Callable
from datetime import datetime, time
from typing import Any

import pandas as pd
import streamlit as st

from analytics.errors import OverwinterError
from dashboard import state
from dashboard.data import probe_record
from dashboard.views.parts import frame
from dashboard.views.parts.record_probe import Probe
from dashboard.views.parts.record_tables import text_table
from dashboard.words import FLAG_NAMES, flag_name, percent
from dashboard.words import record as words

QUIET = frozenset({"frozen", "frost_edge", "spike", "step", "plateau"})
"""Flags that come by the dozen and seldom need a word; shown when asked for."""
LISTED = 200
SPAN_HEAD = ("Flag", "Sensors", "From", "To", "Readings")
PAST_HEAD = ("Made", "What", "Sensors", "From", "To", "By", "Why", "Undone")
EVERY = "every sensor"
EVERY_CM = -1.0  # stands for it among the depths


def spans(probe: Probe) -> None:
    """List the flagged spans, and let one be confirmed or dismissed."""
    found = probe_record.spans(probe.store, probe.site)
    frame.heading("Flagged spans, newest first", f"{len(found)} in all")
    kept = _of_kinds(found)
    if kept.empty:
        frame.muted(words.NO_SPANS)
        return
    told = {at: _cells(row, probe) for at, row in enumerate(kept.to_dict("records"))}
    text_table(SPAN_HEAD, [list(cells) for cells in told.values()], tall=True)
    if len(kept) == LISTED:
        frame.muted(f"The newest {LISTED} are listed. Choose fewer kinds to reach older ones.")
    _judge(probe, kept, {at: " · ".join(cells[:4]) for at, cells in told.items()})


def _of_kinds(found: pd.DataFrame) -> pd.DataFrame:
    there = list(dict.fromkeys(found["flag"]))
    wanted = st.multiselect(
        "Flags", there, default=[one for one in there if one not in QUIET],
        format_func=flag_name, key="flag_kinds", placeholder="none chosen",
    )  # fmt: skip
    return found[found["flag"].isin(wanted)].head(LISTED)


def _cells(row: dict[Any, Any], probe: Probe) -> tuple[str, ...]:
    first, last = (words.sensor_text(row[one], probe.system) for one in ("top_cm", "bottom_cm"))
    which = first if row["sensors"] == 1 else f"{row['sensors']} sensors, {first} to {last}"
    if row["sensors"] >= probe.sensors > 1:
        which = EVERY
    return (flag_name(row["flag"]), which, words.moment_text(row["wall_from"]),
            words.moment_text(row["wall_to"]), f"{row['readings']}")  # fmt: skip


def _judge(probe: Probe, kept: pd.DataFrame, names: dict[int, str]) -> None:
    with st.form("judge", border=False):
        at = st.selectbox(
            "Span", list(names), format_func=lambda one: names[one], key="judged_span"
        )
        who, why = _who_why("judge")
        with st.container(horizontal=True):
            confirmed = st.form_submit_button("Confirm", key="confirm_span")
            dismissed = st.form_submit_button("Dismiss", key="dismiss_span")
    if confirmed or dismissed:
        row = kept.iloc[at]
        _say(
            probe,
            [float(row["depth_cm"])] if row["sensors"] == 1 else _alike(probe, row),
            flag=str(row["flag"]), since=row["from"].to_pydatetime(),
            until=row["to"].to_pydatetime(), action="confirm" if confirmed else "dismiss",
            author=who, reason=why,
        )  # fmt: skip


def _alike(probe: Probe, row: pd.Series) -> list[float | None]:
    """Name the sensors of a span that several share; None where all do."""
    if row["sensors"] >= probe.sensors:
        return [None]
    return [float(one) for one in row["depths"].split(",")]


def _who_why(place: str) -> tuple[str, str]:
    left, right = st.columns([1, 2])
    with left:
        who = st.text_input("Your name", key=f"{place}_author")
    with right:
        why = st.text_input("Reason", key=f"{place}_reason")
    return who, why


def _say(probe: Probe, depths: list[float | None], **said: Any) -> None:
    """Keep an edit for each sensor named, assess again, and start the page anew."""

    def act(tell: Callable[[float, str], None]) -> dict[str, str]:
        return probe_record.edit(probe.store, probe.site, depths, tell, **said)

    verb = words.ACTIONS[said["action"]]
    _carried_out(act, f"{flag_name(said['flag']).capitalize()} {verb} by {said['author']}.")


def _carried_out(
    act: Callable[[Callable[[float, str], None]], dict[str, str]], done: str
) -> None:
    try:
        with st.status("Keeping it and working out the results…") as status:
            failed = act(
                lambda share, site: status.update(label=f"{site}: {percent(share)} done")
            )
    except OverwinterError as trouble:
        st.error(str(trouble))
        return
    sentence = " ".join([done, *failed.values()])
    state.record.remark(
        sentence if failed else f"{sentence} The results follow it.", fine=not failed
    )
    st.rerun()


def add(probe: Probe, depths_cm: list[float]) -> None:
    """Let a span be flagged by hand."""
    options = [EVERY_CM, *depths_cm]
    today = datetime.combine(probe.last_day, time(0))
    with st.form("add", border=False):
        left, right = st.columns(2)
        with left:
            depth = st.selectbox(
                "Sensor", options, key="added_sensor",
                format_func=lambda one: (
                    EVERY if one == EVERY_CM else words.sensor_text(one, probe.system)
                ),
            )  # fmt: skip
            since = _moment("From", "added_from", today)
        with right:
            flag = st.selectbox(
                "Flag", list(FLAG_NAMES), index=list(FLAG_NAMES).index("failing"),
                format_func=flag_name, key="added_flag",
            )  # fmt: skip
            until = _moment("To", "added_to", today.replace(hour=23))
        who, why = _who_why("add")
        added = st.form_submit_button("Add this span", key="add_span")
    if added:
        ends = {
            name: probe_record.instant(probe.store, probe.site, wall)
            for name, wall in (("since", since), ("until", until))
        }
        sensor = None if depth == EVERY_CM else depth
        _say(probe, [sensor], flag=flag, action="add", author=who, reason=why, **ends)


def _moment(label: str, key: str, value: datetime) -> datetime:
    day, hour = st.columns(2)
    with day:
        on = st.date_input(label, value.date(), key=f"{key}_day")
    with hour:
        at = st.time_input("at", value.time(), key=f"{key}_time")
    return datetime.combine(on, at)


def history(probe: Probe) -> None:
    """List every edit, and let one that holds be undone."""
    past = probe_record.history(probe.store, probe.site)
    frame.heading("What people said", f"{len(past)} kept")
    if past.empty:
        frame.muted(words.NO_EDITS)
        return
    rows = [_past(row, probe) for row in past.to_dict("records")]
    text_table(PAST_HEAD, rows, tall=True)
    holding = past[past["undone_at"].isna()]
    if len(holding):
        _undo(probe, holding)


def _past(row: dict[Any, Any], probe: Probe) -> list[str]:
    undone = "" if pd.isna(row["undone_at"]) else (
        f"by {row['undone_by']}, {words.moment_text(row['undone_at'])}")  # fmt: skip
    return [words.moment_text(row["made_at"]), _what(row), _sensor(row, probe),
            words.moment_text(row["from"]), words.moment_text(row["to"]), row["author"],
            row["reason"], undone]  # fmt: skip


def _what(row: dict[Any, Any]) -> str:
    return f"{flag_name(row['flag'])} {words.ACTIONS[row['action']]}"


def _sensor(row: dict[Any, Any], probe: Probe) -> str:
    return (
        EVERY if pd.isna(row["depth_cm"]) else words.sensor_text(row["depth_cm"], probe.system)
    )


def _undo(probe: Probe, holding: pd.DataFrame) -> None:
    names = {
        int(row["id"]): f"{_what(row)}, {_sensor(row, probe)}, {words.moment_text(row['from'])}"
        for row in holding.to_dict("records")
    }
    with st.form("undo", border=False):
        number = st.selectbox(
            "Edit", list(names), format_func=lambda one: names[one], key="undone_edit"
        )
        who = st.text_input("Your name", key="undo_author")
        undone = st.form_submit_button("Undo it", key="undo_edit")
    if undone:
        _carried_out(
            lambda tell: probe_record.undo(probe.store, number, who, tell),
            f"Undone by {who}.",
        )
