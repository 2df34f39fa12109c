"""A walk through the district for a room of growers, one thing a screen, in large type."""

from collections.abc import Callable

import streamlit as st

from analytics.water.contrast import contrasts
from dashboard import data, state
from dashboard.data import meeting
from dashboard.views.parts import frame, meeting_steps, take_report
from dashboard.views.parts.district import District
from dashboard.views.parts.measures import measure
from dashboard.views.parts.meeting_told import Room
from dashboard.words import meeting as said

DEEP = "deep"
BACK, LEAVE = "views/going_in.py", "leave meeting ×"


def show() -> None:
    """Show the page."""
    store = data.opened()
    top = st.container()
    with st.expander("Set up the walk"):
        room, note, names = _set_up(store)
        if not room.walk.rows.empty:
            take_report.slides(store, room)
    with top:
        _step(room, note, _district(store, room) if names else None)


def _set_up(store: data.Store) -> tuple[Room, str, bool]:
    with st.container(horizontal=True, vertical_alignment="bottom"):
        system = state.units(store.units)
        names = state.meeting.names_shown()
        grower = "" if names else state.meeting.unmasked()
    walk = meeting.walk(store, meeting.begun(store), names=names, deal=state.meeting.deal(),
                        grower=grower)  # fmt: skip
    if grower and not walk.unmasked:
        frame.muted(said.NOBODY)
    chosen = state.meeting.walk(dict(zip(walk.rows["letter"], walk.rows["name"], strict=True)))
    room = Room(
        walk=meeting.only(walk, chosen), palette=frame.palette(), system=system,
        split_cm=store.settings.zone_split_cm,
    )  # fmt: skip
    return room, said.OPEN if names else said.HIDDEN, names


def _district(store: data.Store, room: Room) -> District:
    """Give what the map is drawn from, which only a meeting with names shows."""
    day = meeting.begun(store)
    rows = data.going_in(store, day, DEEP)
    kept = rows[rows["field"].isin(room.walk.rows["field"])]
    shade = measure("short", DEEP, room.system, room.split_cm)
    return District(store=store, palette=room.palette, day=day, zone=DEEP, measure=shade,
                    system=room.system, every=rows, kept=kept)  # fmt: skip


def _step(room: Room, note: str, district: District | None) -> None:
    pairs = contrasts(room.walk.rows)
    steps: list[Callable[[], None]] = [
        lambda: meeting_steps.opening(room, district), lambda: meeting_steps.five(room),
        *(lambda pair=pair: meeting_steps.pair(room, pair) for pair in pairs),
        lambda: meeting_steps.order(room),
    ]  # fmt: skip
    at = state.meeting.step(len(steps))
    _bar(note, at, len(steps))
    if room.walk.rows.empty:
        frame.muted(said.DROPPED)
    else:
        steps[at - 1]()


def _bar(note: str, at: int, count: int) -> None:
    """Show whose names are withheld, and the way forward, back and out; arrow keys turn too."""
    with st.container(horizontal=True, vertical_alignment="center"):
        st.html(f'<p class="ow-room ow-muted">{note}</p>')
        st.html(f'<p class="ow-muted">{at} of {count}</p>', width="content")
        turn = state.meeting.turn
        st.button("Back", shortcut="Left", disabled=at == 1, on_click=turn,
                  args=(at - 1,))  # fmt: skip
        st.button("Forward", shortcut="Right", disabled=at == count, on_click=turn,
                  args=(at + 1,))  # fmt: skip
        st.page_link(BACK, label=LEAVE, width="content")


if __name__ == "__main__":
    show()
