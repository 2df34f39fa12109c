"""The controls of a page, in a row, and what was chosen with them."""

from dataclasses import dataclass

import pandas as pd
import streamlit as st

from analytics.units import System
from dashboard import data, state, words
from dashboard.charts.palette import Palette
from dashboard.views.parts.answers import TELL_CROP, crop_of
from dashboard.views.parts.district import District, unique_names
from dashboard.views.parts.measures import measure

FILTERS = (state.GROWER, state.SOURCE, state.CROP)


def date_name(day: str) -> str:
    """Write an ISO date for the date choice."""
    return words.day_text(day)


def going_in(store: data.Store, palette: Palette) -> District:
    """Show the controls of the map page in one row, and give what they choose."""
    with st.container(horizontal=True, vertical_alignment="bottom"):
        zone = state.zone()
        chosen = state.measure()
        day = state.date(data.dates(store), date_name)
        every = data.going_in(store, day, zone)
        kept = _filtered(every)
        system = state.units(store.units)
    step = measure(chosen, zone, system, store.settings.zone_split_cm)
    return District(
        store=store,
        palette=palette,
        day=day,
        zone=zone,
        measure=step,
        system=system,
        every=every,
        kept=kept,
    )


def _filtered(rows: pd.DataFrame) -> pd.DataFrame:
    told = pd.DataFrame(
        {
            state.GROWER: rows["grower"].to_list(),
            state.SOURCE: rows["source_name"].to_list(),
            state.CROP: [crop_of(row) for row in rows[[*TELL_CROP]].to_dict("records")],
        },
        index=rows.index,
    )
    options: dict[str, list[str]] = {
        key: sorted(told[key].dropna().unique()) for key in FILTERS
    }
    wanted = state.filters(options)
    keep = pd.Series(data=True, index=rows.index)
    for key, values in wanted.items():
        if values:
            keep &= told[key].isin(values)
    return rows[keep]


@dataclass(frozen=True, slots=True, kw_only=True)
class OneField:
    """What the reader chose on a field's page; ``site`` is None where no probe has reported."""

    field: str
    name: str
    day: str
    system: System
    site: str | None


def field(store: data.Store) -> OneField:
    """Show field, probe, date and units; the store has at least one field.

    Until a person chooses one, the field shortest of deep water on the latest date is shown.
    """
    names = unique_names(data.going_in(store, data.dates(store)[0], "deep"))
    first = next(iter(names))
    told_if_not_there(names, names[first])
    with st.container(horizontal=True, vertical_alignment="bottom"):
        chosen = (
            state.field(names, placeholder=f"{names[first]} (shortest)", width=280) or first
        )
        day = state.date(data.dates(store), date_name)
        zones = data.zones(store, chosen, day)
        sites = by_need(zones)
        site = state.probe(sites) if sites else None
        system = state.units(store.units)
    return OneField(field=chosen, name=names[chosen], day=day, system=system, site=site)


def told_if_not_there(names: dict[str, str], shown: str) -> None:
    """Warn where the address names a field that is not among these; say which one is shown."""
    asked = state.asked()
    if asked is not None and asked not in names.values():
        st.warning(words.no_such_field(asked, shown))


def by_need(zones: pd.DataFrame) -> list[str]:
    """List a field's probes, the one shortest of deep water first."""
    deep = zones[zones["zone"] == "deep"]
    return list(deep.sort_values("deficit_mm", ascending=False)["site"])
