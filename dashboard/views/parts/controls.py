"""The controls of a page, in a row, and what was chosen with them."""

from dataclasses import dataclass

import pandas as pd
import streamlit as st

from analytics.units import System
from dashboard import data, state, words
from dashboard.views.parts.answers import crop_of
from dashboard.views.parts.measures import Measure


@dataclass(frozen=True, slots=True, kw_only=True)
class GoingIn:
    """What the reader chose on the map page."""

    day: str
    zone: str
    measure: str
    system: System


def date_name(day: str) -> str:
    """Write an ISO date for the date choice."""
    return words.day_text(day)


def going_in(store: data.Store) -> GoingIn:
    """Show zone, measure, date and units; the filters follow with ``filtered``."""
    with st.container(horizontal=True, vertical_alignment="bottom"):
        zone = state.zone()
        measure = state.measure()
        day = state.date(data.dates(store), date_name)
        system = state.units(store.units)
    return GoingIn(day=day, zone=zone, measure=measure, system=system)


def filtered(rows: pd.DataFrame) -> pd.DataFrame:
    """Show the filters and keep the rows that match all of them."""
    told = pd.DataFrame(
        {
            state.GROWER: rows["grower"].to_list(),
            state.SOURCE: rows["source_name"].to_list(),
            state.CROP: [crop_of(row) for row in rows.to_dict("records")],
        },
        index=rows.index,
    )
    choices = {key: sorted(told[key].dropna().astype(str).unique()) for key in told}
    with st.container(horizontal=True, vertical_alignment="bottom"):
        wanted = state.filters(choices)
    keep = pd.Series(data=True, index=rows.index)
    for key, values in wanted.items():
        if values:
            keep &= told[key].isin(values)
    return rows[keep]


def unique_names(rows: pd.DataFrame) -> dict[str, str]:
    """Name every field; where two share a name, the id stands behind it."""
    twice = rows["name"].duplicated(keep=False)
    named = rows["name"].where(~twice, rows["name"] + " (" + rows["field"] + ")")
    return dict(zip(rows["field"], named, strict=True))


def map_key(step: Measure) -> str:
    """Say how to read the map."""
    return (
        f"Number in a field: {step.number}. Dotted rim: frozen, value held. Hatched half: a "
        "sensor is silent. Hatched with “?”: not known. Ring: the selected field."
    )
