"""The work list: which full points need a person, and which may be accepted at once."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pandas as pd
import streamlit as st

from analytics.errors import OverwinterError
from analytics.units import System
from dashboard import data, state
from dashboard.data import layer_points
from dashboard.views.parts import frame
from dashboard.words import plain
from dashboard.words import points as said

LISTED = 6
STATES = ("learned", "provisional", "not_yet_seen", "texture", "set")


def answered(judged: pd.DataFrame, system: System) -> None:
    """Answer the page's question."""
    need = judged[judged["why"] != ""]
    largest = need.iloc[0] if len(need) else None
    sentence = said.answer(
        layers=len(need), fields=need["field"].nunique(), system=system,
        largest="" if largest is None else str(largest["name"]),
        effect_mm=0.0 if largest is None else float(largest["effect_mm"]),
    )  # fmt: skip
    counted = judged["state"].value_counts()
    states = {one: int(counted.get(one, 0)) for one in STATES}
    frame.answer(sentence, said.second(states=states, sure=int(judged["sure"].sum())), "")
    told = state.points.told()
    if told:
        st.success(plain(told), icon=":material/check:")


def work(store: data.Store, judged: pd.DataFrame, system: System) -> None:
    """Show the work list, and beside it what may be accepted at once."""
    left, right = st.columns([7, 5], gap="small")
    with left, st.container(border=True):
        _listed(judged[judged["why"] != ""], system)
    with right, st.container(border=True):
        _accept(store, judged[judged["sure"]], system)


def _listed(need: pd.DataFrame, system: System) -> None:
    shown = need.head(LISTED)
    note = f"{len(shown)} of {len(need)}" if len(need) > LISTED else ""
    frame.heading("What needs a person, most consequential first", note)
    if need.empty:
        frame.muted("Nothing.")
    for at, row in enumerate(shown.to_dict("records")):
        st.button(
            said.work_line(row, system), key=f"work_{at}", type="tertiary",
            on_click=state.points.open_layer,
            args=(row["field"], row["site"], f"{row['depth_cm']:g}"),
        )  # fmt: skip


def _accept(store: data.Store, sure: pd.DataFrame, system: System) -> None:
    frame.heading("Accept all sure ones at once")
    if sure.empty:
        frame.muted(said.NOT_ACCEPTED)
        return
    within = float(sure["effect_mm"].max())
    frame.muted(said.accept_line(len(sure), sure["field"].nunique(), within, system))
    left, right = st.columns([2, 3])
    with left:
        by = st.text_input("Accepted by", key="accept_by")
    with right:
        why = st.text_input("Reason", key="accept_why")
    st.button(f"Accept all {len(sure)}", key="accept",
              on_click=lambda: state.points.accept(sure.to_dict("records")))  # fmt: skip
    accepted = state.points.accepted()
    if not accepted:
        return
    if not by.strip() or not why.strip():
        st.warning(said.NOT_SIGNED)
        return
    points = [_learned(store, row, by, why) for row in accepted]
    failed = carried_out(lambda tell: layer_points.set_all(store, points, tell))
    if failed is not None:
        done(failed, said.accepted(len(accepted)))


def _learned(store: data.Store, row: dict, by: str, why: str) -> layer_points.SetPoint:
    return layer_points.SetPoint(
        site=row["site"], placement=int(row["placement"]), depth_cm=row["depth_cm"],
        point="full", value=row["recorded"], sd=row["recorded_sd"],
        valid_from=layer_points.holds_from(store, row["site"]), set_by=by.strip(),
        reason=why.strip(),
    )  # fmt: skip


def carried_out(
    change: Callable[[Callable[[float, str], None]], dict[str, str]],
) -> dict[str, str] | None:
    """Carry out a change and work out anew what it touches, or say why it is refused.

    Returns
    -------
    dict of str or None
        A sentence for each site that failed; None where the change was refused.
    """
    try:
        with working() as tell:
            return change(tell)
    except OverwinterError as trouble:
        st.warning(plain(str(trouble)))
        return None


@contextmanager
def working() -> Iterator[Callable[[float, str], None]]:
    """Show how far the fields that a change touches are worked out anew."""
    bar = st.progress(0.0, "Working it out anew…")

    def tell(share: float, site: str) -> None:
        bar.progress(share, f"Worked out {site} anew")

    yield tell
    bar.empty()


def done(failed: dict[str, str], told: str) -> None:
    """Draw the page anew with what came of a change."""
    state.points.tell(" ".join([told, *failed.values()]))
    st.rerun()
