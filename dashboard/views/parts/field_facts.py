"""All that a field's page is about, gathered once; and what its figures rest on."""

from dataclasses import dataclass
from html import escape
from typing import Any

import numpy as np
import pandas as pd
import streamlit as st

from analytics.units import AREA, DEPTH, System, text
from dashboard import data, words
from dashboard.charts.palette import Palette
from dashboard.views.parts import answers, frame, rows, spans
from dashboard.views.parts.controls import OneField


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """One field's probe on one day, as the page shows it.

    ``row`` is its row of the district for the deep zone; ``first_day`` and ``season_from``
    are ISO dates: where the record begins, and where the present season or off-season does.
    """

    store: data.Store
    palette: Palette
    system: System
    day: str
    field: str
    site: str
    row: dict[Any, Any]
    zones: pd.DataFrame
    layers: pd.DataFrame
    seasons: pd.DataFrame
    probe: pd.DataFrame
    first_day: str
    season_from: str

    @property
    def split_cm(self) -> float:
        """Depth that parts the zones."""
        return self.store.settings.zone_split_cm

    @property
    def root_limit_cm(self) -> float | None:
        """Depth of a layer that roots cannot pass, where the field tells of one."""
        limit = self.row["root_limit_cm"]
        return None if pd.isna(limit) else float(limit)

    @property
    def placed(self) -> str:
        """Soil, what stops roots, source, area and planting, as far as they are known."""
        row, planted, hectares = self.row, self.row["planted_on"], self.row["irrigated_ha"]
        limit = self.root_limit_cm
        stop = None if limit is None else f"roots to {text(limit, DEPTH, self.system)}"
        area = None if pd.isna(hectares) else text(hectares, AREA, self.system)
        to_come = None if pd.isna(planted) else words.day_text(planted, year=False)
        parts = (row["soil"], stop, row["source_name"], area, to_come and f"planting {to_come}")
        return " · ".join(one for one in parts if isinstance(one, str) and one)


def gathered(store: data.Store, palette: Palette, chosen: OneField, site: str) -> Shown:
    """Read everything that the page of one field's probe needs."""
    field, day = chosen.field, chosen.day
    row = _row(store, chosen, site, "deep")
    if pd.isna(row["deficit_mm"]):  # neither probe nor roots reach below the split
        row = _row(store, chosen, site, "profile")
    zones, layers = data.zones(store, field, day), data.layers_of(store, site, day)
    seasons, probe = data.seasons(store, field), data.probe(store, site)
    first = probe["first_day"].min()
    first_day = day if pd.isna(first) else f"{first:%Y-%m-%d}"
    past = seasons[seasons["harvested_on"] <= pd.Timestamp(day)]["harvested_on"].max()
    began = first_day if pd.isna(past) else max(first_day, f"{past:%Y-%m-%d}")
    return Shown(
        store=store, palette=palette, system=chosen.system, day=day, field=field, site=site,
        row=row,
        zones=zones[zones["site"] == site], layers=layers,
        seasons=seasons, probe=probe, first_day=first_day, season_from=began,
    )  # fmt: skip


def _row(store: data.Store, chosen: OneField, site: str, zone: str) -> dict[Any, Any]:
    row = _of_field(data.going_in(store, chosen.day, zone), chosen.field)
    if row["site"] != site:  # another probe of the field speaks for it in the list
        row = _of_field(data.going_in(store, chosen.day, zone, site), chosen.field)
    return {**row, "zone": zone}


def _of_field(every: pd.DataFrame, field: str) -> dict[Any, Any]:
    return every[every["field"] == field].to_dict("records")[0]


def headed(shown: Shown) -> None:
    """Show the field's answer, its evidence, and muted what it rests on."""
    frame.answer(*answered(shown))


def answered(shown: Shown) -> tuple[str, str, str]:
    """Give the field's answer, its evidence, and what it rests on."""
    row, tally = shown.row, data.tally(shown.store, shown.site, shown.day)
    whole = tally[tally["depth_cm"].isna()].head(1).to_dict("records")
    latest = whole[0] if whole else {"change_mm": None, "standing": False, "crop": None}
    brought = words.brought_words(
        latest["change_mm"], row["change_mm"] if row["zone"] == "deep" else None,
        shown.system, shown.split_cm,
        standing=latest["crop"] if latest["standing"] else None,
    )  # fmt: skip
    second = " ".join(one for one in (by_foot(shown), brought) if one)
    rests = answers.rests_of(row, shown.system)
    if note := rows.stale_of(row, shown.store, shown.day):
        rests = f"{rests} {note[0].upper()}{note[1:]}."
    elif told := _last_read(shown):
        rests = f"{rests} {told}."
    return answers.field_sentence(shown.store, row, shown.system), second, rests


def _last_read(shown: Shown) -> str:
    """Say what part of the zone's shortage rests on sensors that are silent by now."""
    layers = shown.layers[shown.layers["seen"] < 1]
    top, bottom = layers["top_cm"], layers["bottom_cm"].clip(upper=shown.root_limit_cm)
    if shown.row["zone"] == "deep":
        top = top.clip(lower=shown.split_cm)
    share = ((bottom - top) / (layers["bottom_cm"] - layers["top_cm"])).clip(0, 1)
    mm = float((layers["deficit_mm"] * share).sum())
    if not words.is_short(mm, shown.system):
        return ""
    return words.last_read_note(mm, layers.loc[share > 0, "read_on"].min(), shown.system)


def by_foot(shown: Shown) -> str:
    """Say what the soil that roots reach holds foot by foot, and since when it is not full."""
    limit = np.inf if shown.root_limit_cm is None else shown.root_limit_cm
    held = [_held(shown, one, min(limit, one["bottom_cm"]))
            for one in shown.layers.to_dict("records") if one["top_cm"] < limit]  # fmt: skip
    return words.foot_by_foot(held, shown.system)


def _held(shown: Shown, layer: dict[Any, Any], bottom_cm: float) -> words.Held:
    share = (bottom_cm - layer["top_cm"]) / (layer["bottom_cm"] - layer["top_cm"])
    last, short = layer["last_full"], share * layer["deficit_mm"]
    room = share * (layer["full_mm"] - layer["lower_mm"])
    known = not (pd.isna(short) or pd.isna(room))
    crop = spans.emptied_by(shown.seasons, last)
    never = pd.isna(last)
    return words.Held(
        top_cm=layer["top_cm"], bottom_cm=bottom_cm,
        short_mm=max(float(short), 0.0) if known else None,
        room_mm=float(room) if known else None,
        since=None if never else f"the {crop}" if crop else words.day_text(last),
        order=float("-inf") if never else float(last.toordinal()),
    )  # fmt: skip


def hidden(shown: Shown, start: str) -> str:
    """Say what a view from a day on leaves out of the record; empty where nothing."""
    row = shown.row
    zone = words.zone_label(row["zone"], shown.system, shown.split_cm)
    where = zone if row["zone"] == "deep" else f"in the {zone}"
    return words.short_view(start, shown.first_day, row["last_full"], where)


def facts(shown: Shown) -> None:
    """Show what the page's figures rest on, as a list of facts."""
    frame.heading("What this rests on")
    told = "".join(
        f'<div><span class="ow-muted">{escape(name)}</span>{escape(fact)}</div>'
        for name, fact in listed(shown)
    )
    st.html(f'<div class="ow-facts">{told}</div>')
    for line in answers.told_of(shown.row, shown.system):
        frame.muted(line)


def listed(shown: Shown) -> list[tuple[str, str]]:
    """Give what the page's figures rest on, as names and facts."""
    row = shown.row
    frost = data.frost(shown.store, shown.site, shown.season_from, shown.day)
    frozen = int(frost["frozen_days"])
    past = shown.day != data.dates(shown.store)[0]
    age = words.age_words(row["read_on"], shown.day, past=past)
    read = f"{words.day_text(row['read_on'])}, {age}"
    below = words.zone_label(row["zone"], shown.system, shown.split_cm)
    full = "not seen" if pd.isna(row["last_full"]) else words.day_text(row["last_full"])
    told = [
        (f"Last full, {below}", full),
        ("Full points", words.basis_words(row["basis"])),
        ("Placement", _placement(shown.probe)),
        ("Last reading", read),
        ("Seen of its layers", words.percent(row["seen"])),
    ]
    if frozen:
        deepest = text(frost["deepest_cm"], DEPTH, shown.system)
        told.append(("Frost this off-season", f"{words.counted(frozen, 'day')}, to {deepest}"))
    return told


def _placement(probe: pd.DataFrame) -> str:
    known = probe["installed_on"].dropna()
    if known.empty:
        return "not known"
    since = f"since {words.day_text(known.iloc[-1])}"
    return f"{since}, not moved" if len(known) == 1 else f"{since}, in its {len(known)}. hole"
