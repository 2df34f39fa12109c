"""Page set-up and navigation only."""

import pandas as pd
import streamlit as st

from analytics.errors import NotAllowed, OverwinterError
from analytics.model import WORDS_APART
from dashboard import data, state
from dashboard.data import session
from dashboard.views.parts import empty, frame, signing_in
from dashboard.words import NOT_NOW, signing

pd.set_option(*WORDS_APART)
st.set_page_config(page_title="Overwinter", layout="wide")
if session.must_sign_in():
    signing_in.ask()
    st.stop()
pages = [
    st.Page("views/going_in.py", title="Going in", default=True),
    st.Page("views/field.py", title="Field", url_path="field"),
    st.Page("views/order.py", title="Watering order", url_path="order"),
    st.Page("views/season.py", title="Season", url_path="season"),
    st.Page("views/neighbours.py", title="Neighbours", url_path="neighbours"),
    st.Page("views/meeting.py", title="Meeting", url_path="meeting"),
]
if session.may_write():  # who may only look has nothing to do there
    pages += [
        st.Page("views/points.py", title="Points", url_path="points"),
        st.Page("views/record.py", title="Record", url_path="record"),
    ]
# The first page's own address is the bare one; typed with its name it is found as well.
named = st.Page(lambda: st.switch_page(pages[0]), title="Going in", url_path="going-in",
                visibility="hidden")  # fmt: skip
page = st.navigation([*pages, named], position="top")


def shown(store: data.Store) -> None:
    """Show the page that is asked for, where this account and this store have one."""
    meeting = page.url_path == "meeting"
    frame.header(None if meeting else store)  # the district's name is a place
    signing_in.told()
    # Where nothing is there yet, Record is the page on which files are brought in.
    if not signing_in.is_guest() and (page.url_path == "record" or empty.ready(store)):
        if meeting:
            state.forget_address(page.url_path)
        else:
            state.carry(page.url_path)
        page.run()


try:
    opened = data.opened()
except OverwinterError as trouble:
    frame.header(None)
    empty.no_store(trouble)
else:
    try:
        shown(opened)
    except NotAllowed as why:
        frame.notice(signing.NOT_ALLOWED, str(why))
    except OverwinterError as trouble:  # as of a store that an earlier program assessed
        frame.notice(NOT_NOW, str(trouble))
