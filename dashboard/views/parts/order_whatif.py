"""What if: planting moves, a well drops out, it rains; the two plans side by side."""

from datetime import date, timedelta
from math import isnan, nan
from typing import Any

import streamlit as st

from analytics.errors import OverwinterError
from analytics.units import VOLUME, System, text
from analytics.water.queue import source_named
from dashboard import state
from dashboard.charts.order_compared import COMPARED_FOLDS, compared_figure
from dashboard.data import watering
from dashboard.data.watering import Laid, Told
from dashboard.state.order import control, depth
from dashboard.views.parts import frame
from dashboard.views.parts.order_drawing import wide_drawing
from dashboard.views.parts.order_page import Shown, of_source, pairs
from dashboard.words import order as said
from dashboard.words import percent
from dashboard.words import sources as source_words

NONE = "none"
_SAVED_AS = {"planting": "planting_days", "wait": "wait_days", "target": "target_mm"}


@st.fragment
def panel(shown: Shown) -> None:
    """Show the controls, and under them the present plan beside the changed one."""
    names = watering.source_names(shown.store)
    frame.heading("What if", "everything not changed stays as it is")
    told = _controls(shown, names)
    if not told:
        frame.muted("Change anything above to see the plan it would make beside the present.")
    else:
        _compared(shown, told)
    with st.expander("Keep this scenario, or open one again"):
        _scenarios(shown, told)


def _controls(shown: Shown, names: dict[str, str]) -> Told:
    columns = st.columns(4, gap="medium")
    with columns[0]:
        dates = _dates()
    with columns[1]:
        supply = _supply(shown, names)
    with columns[2]:
        limits = _limits(shown, names)
    with columns[3]:
        sky = _sky(shown)
    return {**dates, **supply, **limits, **sky}


def _dates() -> Told:
    planting = st.slider("Planting, days later (earlier: below 0)", -21, 21,
                         **control("planting", 0))  # fmt: skip
    wait = st.slider("Begin watering, days later", 0, 42, **control("wait", 0))
    told: Told = {"planting_days": planting} if planting else {}
    return {**told, "wait_days": wait} if wait else told


def _supply(shown: Shown, names: dict[str, str]) -> Told:
    off = st.selectbox("Source off", [NONE, *names], **control("off", NONE),
                       format_func=lambda one: names.get(one, str(one)))  # fmt: skip
    told: Told = {}
    if off != NONE:
        first = _first_day(shown)
        span = st.date_input("Off from and to", **control("off_days",
                             (first, first + timedelta(days=13))))  # fmt: skip
        if isinstance(span, tuple) and len(span) == 2:  # noqa: PLR2004 - from and to
            told["off"] = {"source": off, "from": f"{span[0]}", "to": f"{span[1]}"}
    of = st.selectbox("Capacity of", ["", *names], **control("capacity_of", ""),
                      format_func=lambda one: names.get(one, "all sources"))  # fmt: skip
    share = st.slider("Capacity, % of now", 0, 200, step=5, **control("capacity", 100))
    if share != 100:  # noqa: PLR2004 - per cent
        told["capacity"] = {"source": of, "share": share / 100}
    return told


def _first_day(shown: Shown) -> date:
    starts = shown.laid.order["starts_on"].dropna()
    return starts.min().date() if len(starts) else shown.today + timedelta(days=1)


def _limits(shown: Shown, names: dict[str, str]) -> Told:
    told: Told = {}
    of = st.selectbox("Allocation of", [NONE, *names], **control("allocation_of", NONE),
                      format_func=lambda one: names.get(one, str(one)))  # fmt: skip
    if of != NONE:
        now_mm = _allocation_mm(shown, of)
        label = "Its season’s allocation, {unit}"
        mm = depth(label, f"allocation_{of}", now_mm, shown.system)
        if mm != now_mm and not isnan(mm):
            told["allocation"] = {"source": of, "mm": mm}
    label = "Target on every field, {unit} (0: as it is)"
    target = depth(label, "target", 0.0, shown.system)
    if target > 0:
        told["target_mm"] = target
        frame.muted(said.NO_MORE_THAN_ROOM)
    usual = round(shown.store.settings.reliability * 100)
    sure = st.slider("Enough in so many of 100 years", 50, 95, step=5,
                     **control("sure", usual))  # fmt: skip
    if sure != usual:
        told["reliability"] = sure / 100
    now = round(shown.store.settings.ceiling * 100)
    most = st.slider("Fill the root zone at most to, %", 50, 100, step=5,
                     **control("ceiling", now))  # fmt: skip
    return {**told, "ceiling": most / 100} if most != now else told


def _allocation_mm(shown: Shown, source: str) -> float:
    found = source_named(shown.laid.inputs.sources, source)
    return nan if found is None else found.allocation_mm


def _sky(shown: Shown) -> Told:
    mm = depth("Rain still to come, {unit}", "rain", 0.0, shown.system)
    soon = shown.today + timedelta(days=14)
    day = st.date_input("It falls on", **control("rain_day", soon))
    st.button("Back to the present plan", on_click=state.order.assume, args=({},))
    return {"rain": {"mm": mm, "day": f"{day}"}} if mm > 0 and isinstance(day, date) else {}


def _compared(shown: Shown, told: Told) -> None:
    try:
        then = of_source(watering.what_if(shown.store, told), shown.chosen)
    except OverwinterError as trouble:
        st.error(str(trouble))
        return
    rows = pairs(shown.laid, then)
    st.html(f'<p class="ow-second">{_verdict(shown.laid, then, shown.system)}</p>')
    for short in source_words.unmet_words(then.sources, shown.system):
        frame.muted(short)
    last = max(day for laid in (shown.laid, then) for day in _last_days(laid, shown.today))
    wide_drawing(
        compared_figure(rows, shown.today, last, shown.system, shown.palette),
        key="order_compared", folds=COMPARED_FOLDS,
    )  # fmt: skip
    frame.muted(said.QUICK)


def _last_days(laid: Laid, today: date) -> list[date]:
    ends = laid.plan["date"]
    return [today if ends.empty else ends.max().date()]


def _verdict(now: Laid, then: Laid, system: System) -> str:
    old, new = said.partly(now.order), said.partly(then.order)
    after, before = (said.unfilled(one, system) for one in (new, old))
    count = f" in {len(new)} {'field' if len(new) == 1 else 'fields'}" if len(new) else ""
    water = [text(float(one.order["net_m3"].sum()), VOLUME, system) for one in (then, now)]
    stay = "stay" if len(new) else "stays"
    return (f"<b>{after}</b> {stay} unfilled{count} (now {before.lower()}); "
            f"{water[0]} put on in all (now {water[1]}){_spent(now, then)}.")  # fmt: skip


def _spent(now: Laid, then: Laid) -> str:
    """Say what share of the one source's allocation either plan spends."""
    shares = [one.sources["share_of_allocation"] for one in (then, now)]
    if any(len(one) != 1 or one.isna().any() for one in shares):
        return ""
    after, before = (percent(one.iloc[0]) for one in shares)
    return f", {after} of the season’s allocation (now {before})"


def _scenarios(shown: Shown, told: Told) -> None:
    saved = watering.saved(shown.store)
    left, right = st.columns(2, gap="large")
    with left:
        name = st.text_input("Name", key="scenario_name")
        author = st.text_input("Saved by", key="scenario_by")
        if st.button("Save", disabled=not told, key="scenario_save"):
            try:
                watering.save(shown.store, name, told, author)
            except OverwinterError as trouble:
                st.error(str(trouble))
            else:
                st.rerun()
    with right:
        if not saved:
            frame.muted("No scenario has been saved yet.")
            return
        picked = st.selectbox("Saved scenarios", list(saved), key="scenario_of")
        kept, by, when = saved[picked]
        frame.muted(f"By {by}, {when:%-d %b %Y}.")
        with st.container(horizontal=True):
            st.button("Open", key="scenario_open", on_click=_open, args=(kept,))
            st.button("Forget", key="scenario_drop", on_click=watering.drop,
                      args=(shown.store, picked))  # fmt: skip


def _open(told: Told) -> None:
    """Set every control to what a scenario says, and all others back."""
    values: dict[str, Any] = {
        name: told[key] for name, key in _SAVED_AS.items() if key in told
    }  # fmt: skip
    if off := told.get("off"):
        span = tuple(date.fromisoformat(off[end]) for end in ("from", "to"))
        values |= {"off": off["source"], "off_days": span}
    if capacity := told.get("capacity"):
        values |= {
            "capacity_of": capacity["source"],
            "capacity": round(capacity["share"] * 100),
        }
    if allocation := told.get("allocation"):
        of = allocation["source"]
        values |= {"allocation_of": of, f"allocation_{of}": allocation["mm"]}
    if rain := told.get("rain"):
        values |= {"rain": rain["mm"], "rain_day": date.fromisoformat(rain["day"])}
    for name, key in (("sure", "reliability"), ("ceiling", "ceiling")):
        if key in told:
            values[name] = round(told[key] * 100)
    state.order.assume(values)
