"""What the page lets a person take away: valve page, calendar, tables, places."""

import io
from datetime import UTC, date, datetime, timedelta
from typing import Any

import geopandas as gpd
import pandas as pd
import streamlit as st

from analytics.report import export, ics, valves
from analytics.units import WATER, System, convert
from analytics.water.pumping import M3_PER_MM_HA
from dashboard import words
from dashboard.data import watering
from dashboard.views.parts import frame
from dashboard.views.parts.downloads import csv_text
from dashboard.views.parts.offer import offer
from dashboard.views.parts.order_page import Shown, blocks
from dashboard.words import order as said

DAYS_AHEAD = 10


def panel(shown: Shown) -> None:
    """Show the valve page's first day and a button for each thing to take away."""
    frame.heading("For the person who turns the valves")
    usual = first_day(shown.laid.plan, shown.today)
    first = st.date_input("First day of the page", usual, key="valves_from")
    day = first if isinstance(first, date) else usual
    of = shown.chosen or "all"
    offer("Page to print", lambda: valve_page(shown, day), mime="text/html",
          file_name=f"valves-{of}-from-{day}.html", key="take_valves")  # fmt: skip
    frame.muted("That day and the next ten, large; opens without a network.")
    frame.heading("The plan, for other programs")
    with st.container(horizontal=True):
        for form, mime, make in _makers(shown):
            offer(form, make, file_name=f"watering-order-{of}-{shown.today}.{_ENDS[form]}",
                  mime=mime, key=f"take_order_{_ENDS[form]}")  # fmt: skip
    frame.muted("CSV and GeoJSON: water in mm, whatever is shown above.")


def first_day(plan: pd.DataFrame, today: date) -> date:
    """Give today, or the plan's first day where the days on a page from today have none."""
    coming = plan.loc[plan["date"] >= pd.Timestamp(today), "date"]
    if coming.empty:
        return today
    day = coming.min().date()
    return today if day <= today + timedelta(days=DAYS_AHEAD) else day


_ENDS = {"Order, CSV": "csv", "Days, CSV": "days.csv", "GeoJSON": "geojson",
         "Calendar": "ics"}  # fmt: skip


def _makers(shown: Shown) -> list[tuple[str, str, Any]]:
    return [
        ("Order, CSV", "text/csv", lambda: csv_text(shown.laid.order)),
        ("Days, CSV", "text/csv", lambda: csv_text(shown.laid.plan)),
        ("GeoJSON", "application/geo+json", lambda: geojson(shown)),
        ("Calendar", "text/calendar", lambda: calendar(shown)),
    ]


def geojson(shown: Shown) -> bytes:
    """Write the order with each field's boundary."""
    fields, sites = watering.boundaries(shown.store)
    out = io.BytesIO()
    placed = export.place(shown.laid.order, fields, sites)
    assert isinstance(placed, gpd.GeoDataFrame)  # noqa: S101 - fields have boundaries
    export.write(placed, "geojson", out)
    return out.getvalue()


def calendar(shown: Shown) -> str:
    """Write one all-day event for each stretch of watering."""
    plan, names = shown.laid.plan, watering.field_names(shown.store)
    events = [
        _event(field, names.get(field, field), first, last, plan, shown.system)
        for field, spans in blocks(plan).items() for first, last in spans
    ]  # fmt: skip
    events.sort(key=lambda one: (one.first, one.title))
    made = shown.store.made_at
    stamp = datetime.now(UTC) if made is None else made.to_pydatetime()
    return ics.calendar(events, f"Watering order, {shown.store.name}", stamp)


def _event(  # noqa: PLR0917 - each is a fact of one stretch
    field: str, name: str, first: date, last: date, plan: pd.DataFrame, system: System
) -> ics.Event:
    own = plan[(plan["field"] == field) & (plan["date"] >= pd.Timestamp(first))
               & (plan["date"] <= pd.Timestamp(last))]  # fmt: skip
    net, gross = (said.little(own[key].sum(), system) for key in ("net_mm", "gross_mm"))
    return ics.Event(
        uid=f"{field}-{first:%Y%m%d}@overwinter.invalid", first=first, last=last,
        title=f"Water {name}: {net} net", place=name,
        note=f"{gross} gross from {own['source_name'].iloc[0]}. {said.FIRST}",
    )  # fmt: skip


def valve_page(shown: Shown, first: date) -> str:
    """Write the page for the person who turns the valves: a day and the next ten."""
    plan = shown.laid.plan
    days = [first + timedelta(days=at) for at in range(DAYS_AHEAD + 1)]
    told = [valves.Day(name=said.long_day(day), turns=_turns(shown, plan, day)) for day in days]
    who = "all sources" if not shown.chosen else str(shown.laid.sources["name"].iloc[0])
    coming = plan[plan["date"] >= pd.Timestamp(first)].sort_values("date")
    next_ones = list(coming.loc[coming["date"] == coming["date"].min(), "name"])
    lead = "No more water is planned." if coming.empty else (
        f"Next water: {said.listed(next_ones)} on {said.long_day(coming['date'].min())}."
    )  # fmt: skip
    lead = f"{lead} Worked out {words.day_text(shown.today)}. Net is what reaches the soil."
    title = f"Water, {who}: {said.span_text(days[0], days[-1])}"
    return valves.page(title, lead, told, words.CAUTIONS)


def _turns(shown: Shown, plan: pd.DataFrame, day: date) -> tuple[valves.Turn, ...]:
    rows = plan[plan["date"] == pd.Timestamp(day)].to_dict("records")
    return tuple(_turn(shown, row) for row in rows)


def _turn(shown: Shown, row: dict[Any, Any]) -> valves.Turn:
    given = shown.laid.inputs
    one = next(it for it in given.fields if it.field == row["field"])
    source = given.source_of(one)
    m3 = row["gross_mm"] * one.area_ha * M3_PER_MM_HA
    hours = 0.0 if source is None else m3 / source.m3_a_day * 24.0
    ends = shown.laid.order.set_index("field").loc[row["field"], "ends_on"]
    last = "last day" if pd.Timestamp(row["date"]) == ends else ""
    depth = f"{_fine(row['net_mm'], shown.system)} net"
    return valves.Turn(field=row["name"], source=row["source_name"], depth=depth,
                       hours=f"{hours:.1f} h", note=last)  # fmt: skip


def _fine(mm: float, system: System) -> str:
    """Write a day's depth: to a hundredth of an inch, or a tenth of a mm."""
    return f"{convert(mm, WATER, system):.2f} in" if system == "in" else f"{mm:.1f} mm"
