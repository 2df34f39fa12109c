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


def going_in(store: data.Store) -> tuple[GoingIn, pd.DataFrame, pd.DataFrame]:
    """Show the controls of the map page in one row.

    Returns
    -------
    chosen : GoingIn
    every : DataFrame
        One row a field, as ``data.going_in`` gives it.
    kept : DataFrame
        The rows that the filters leave.
    """
    with st.container(horizontal=True, vertical_alignment="bottom"):
        zone = state.zone()
        measure = state.measure()
        day = state.date(data.dates(store), date_name)
        every = data.going_in(store, day, zone)
        kept = _filtered(every)
        system = state.units(store.units)
    return GoingIn(day=day, zone=zone, measure=measure, system=system), every, kept


def _filtered(rows: pd.DataFrame) -> pd.DataFrame:
    told = pd.DataFrame(
        {
            state.GROWER: rows["grower"].to_list(),
            state.SOURCE: rows["source_name"].to_list(),
            state.CROP: [crop_of(row) for row in rows.to_dict("records")],
        },
        index=rows.index,
    )
    wanted = state.filters({key: sorted(told[key].dropna().unique()) for key in told})
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


@dataclass(frozen=True, slots=True, kw_only=True)
class OneField:
    """What the reader chose on a field's page; without ``sites`` no probe has reported."""

    field: str
    name: str
    day: str
    system: System
    sites: tuple[str, ...]
    site: str


def field(store: data.Store) -> OneField | None:
    """Show field, probe, date and units; None where the store has no field at all.

    Until a person chooses one, the field shortest of deep water on the latest date is shown.
    """
    names = unique_names(data.going_in(store, data.dates(store)[0], "deep"))
    if not names:
        return None
    first = next(iter(names))
    asked = state.asked()
    if asked is not None and asked not in names.values():
        st.warning(f"No field here is called “{asked}”. {names[first]} is shown instead.")
    with st.container(horizontal=True, vertical_alignment="bottom"):
        chosen = state.field(names, placeholder=f"{names[first]} (shortest)", width=280) or first
        day = state.date(data.dates(store), date_name)
        zones = data.zones(store, chosen, day)
        sites = _by_need(zones)
        site = state.probe(sites) if sites else ""
        system = state.units(store.units)
    return OneField(field=chosen, name=names[chosen], day=day, system=system, sites=tuple(sites),
                    site=site)  # fmt: skip


def _by_need(zones: pd.DataFrame) -> list[str]:
    deep = zones[zones["zone"] == "deep"]
    return list(deep.sort_values("deficit_mm", ascending=False)["site"])
