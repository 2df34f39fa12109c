"""One layer of one probe: what is chosen, what stands in force, and what else it might be."""

from dataclasses import dataclass
from typing import Any

import pandas as pd
import streamlit as st

from analytics.units import System
from dashboard import data, state
from dashboard.charts.palette import Palette
from dashboard.charts.points import DRAGGED, points_record
from dashboard.charts.spec import sent
from dashboard.data import layer_points
from dashboard.views.parts import frame, spans
from dashboard.views.parts.controls import told_if_not_there
from dashboard.views.parts.district import unique_names
from dashboard.words import day_text
from dashboard.words import points as said

STEP = 0.005  # m3/m3, of the histogram
SURE = ("learned", "set")
NOT_CHOSEN = ("drained",)  # single wettings are marks, not candidates
_CHART = "point_chart"
COLUMNS = ["kind", "name", "value", "on", "sd"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer's point: ``row`` is the version in force, ``others`` what else it might be.

    ``versions`` are those of this layer and point in its placement, ``others`` has columns
    kind, name, value, on, sd.
    """

    store: data.Store
    palette: Palette
    system: System
    field: str
    name: str
    site: str
    placement: int
    depth_cm: float
    top_cm: float
    bottom_cm: float
    point: str
    row: dict[Any, Any]
    versions: pd.DataFrame
    others: pd.DataFrame

    @property
    def label(self) -> str:
        """The layer as a label: "30–42 in"."""
        return said.layer_name(self.top_cm, self.bottom_cm, self.system)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """What the controls chose; ``layer`` is None where no probe of the field has points."""

    system: System
    layer: Layer | None


def controls(store: data.Store, palette: Palette, judged: pd.DataFrame) -> Chosen:
    """Show field, probe, layer, point and units; first what would change most."""
    names = unique_names(data.going_in(store, data.dates(store)[0], "deep"))
    first = _first(judged, names)
    told_if_not_there(names, names[first])
    with st.container(horizontal=True, vertical_alignment="bottom"):
        field = state.field(names, placeholder=names[first], width=240) or first
        mine = judged[judged["field"] == field]
        if mine.empty:
            return Chosen(system=state.units(store.units), layer=None)
        site = state.probe(list(dict.fromkeys(mine["site"])))
        own = mine[mine["site"] == site]
        ordered = own.sort_values("depth_cm")
        slot = st.container(width="content")
        point = state.points.point()
        system = state.units(store.units)
        with slot:
            depth = state.points.layer(_layers(ordered, system), _first_layer(own))
    row = ordered[ordered["depth_cm"] == float(depth)].to_dict("records")[0]
    layer = _gathered(store, palette, system, row, names[field], point)
    return Chosen(system=system, layer=layer)


def _first(judged: pd.DataFrame, names: dict[str, str]) -> str:
    known = judged[judged["field"].isin(names)]
    needed = known[known["why"] != ""]
    some = needed if len(needed) else known
    return str(some["field"].iloc[0]) if len(some) else next(iter(names))


def _first_layer(own: pd.DataFrame) -> str:
    """Give the layer of a probe that needs a person most, else its top one."""
    need = own.loc[own["why"] != "", "depth_cm"]
    return f"{need.iloc[0] if len(need) else own['depth_cm'].min():g}"


def _layers(rows: pd.DataFrame, system: System) -> dict[str, str]:
    return {
        f"{row['depth_cm']:g}": said.layer_name(row["top_cm"], row["bottom_cm"], system)
        for row in rows.to_dict("records")
    }


def _gathered(  # noqa: PLR0917 - what was chosen
    store: data.Store, palette: Palette, system: System, row: dict[Any, Any], name: str,
    point: str,
) -> Layer:  # fmt: skip
    site, placement, depth = str(row["site"]), int(row["placement"]), float(row["depth_cm"])
    every = layer_points.versions(store, site)
    at = every[(every["depth_cm"] == depth) & (every["point"] == point)]
    here = at[at["placement"] == placement]
    return Layer(
        store=store, palette=palette, system=system, field=str(row["field"]), name=name,
        site=site, placement=placement, depth_cm=depth, top_cm=float(row["top_cm"]),
        bottom_cm=float(row["bottom_cm"]), point=point, row=here.to_dict("records")[-1],
        versions=here, others=_others(store, site, placement, depth, point, at),
    )  # fmt: skip


def _others(  # noqa: PLR0917 - one layer's whereabouts
    store: data.Store, site: str, placement: int, depth: float, point: str, at: pd.DataFrame
) -> pd.DataFrame:
    """Gather what else a point might be: the record's own, candidates, an earlier placement."""
    rows = []
    here, before = at[at["placement"] == placement], at[at["placement"] < placement]
    own = here[here["state"] != "set"].tail(1)
    if len(own) and here["state"].iloc[-1] == "set":
        rows += [_other("record", one["value"], None, one["sd"]) for one in _rows(own)]
    found = layer_points.candidates(store, site)
    if len(found):
        mine = found[(found["placement"] == placement) & (found["depth_cm"] == depth)
                     & (found["point"] == point)]  # fmt: skip
        rows += [_other(one["kind"], one["value"], one["on"], None) for one in _rows(mine)]
    if not any(one["kind"].startswith("previous") for one in rows):
        last = before.tail(1)
        rows += [_other("previous placement", one["value"], None, None) for one in _rows(last)]
    frame_ = pd.DataFrame(rows, columns=COLUMNS)
    return frame_.astype({"value": float, "sd": float, "on": "datetime64[us]"})


def _rows(frame_: pd.DataFrame) -> list[dict[Any, Any]]:
    return frame_.to_dict("records")


def _other(kind: str, value: float, on: object, sd: float | None) -> dict[str, Any]:
    when = None if pd.isna(on) else on  # type: ignore[arg-type]
    return {"kind": kind, "name": said.candidate(kind, when), "value": value, "on": when,
            "sd": float("nan") if sd is None else sd}  # fmt: skip


def headed(layer: Layer) -> None:
    """Head the panel: which point of which layer, what is carried, and whether it drifts."""
    frame.heading(f"{layer.name}, {layer.label}: {said.POINT_NAMES[layer.point]}",
                  str(layer.row["reason"]))  # fmt: skip
    frame.muted(said.carried(layer.point, layer.row))
    found = layer_points.drift(layer.store, layer.site)
    if len(found):
        mine = found[(found["placement"] == layer.placement) & (found["point"] == layer.point)
                     & (found["depth_cm"] == layer.depth_cm)]  # fmt: skip
        for row in _rows(mine):
            note = said.drift_note(row, layer.bottom_cm - layer.top_cm, layer.system)
            if note:
                frame.muted(note)


def picture(layer: Layer, value: float) -> None:
    """Draw the layer's record, its histogram and the candidates, with the value entered."""
    every = layer_points.layer_days(layer.store, layer.site, layer.depth_cm)
    days = every[every["placement"] == layer.placement]
    if days["value"].notna().sum() == 0:
        frame.muted("Nothing good was read of this layer.")
        return
    histogram = layer_points.layer_histogram(
        layer.store, layer.site, layer.depth_cm, layer.placement, STEP
    )
    proposed = None if value == round(layer.row["value"], 3) else value
    point = {"name": "carried", "value": layer.row["value"], "sd": layer.row["sd"],
             "sure": layer.row["state"] in SURE, "proposed": proposed}  # fmt: skip
    start, end = (f"{one:%Y-%m-%d}" for one in (days["time"].min(), days["time"].max()))
    strip = spans.strip(data.seasons(layer.store, layer.field), start, end)
    chart = points_record(days, histogram, layer.others, strip, point, layer.palette,
                          layer.system, step=STEP)  # fmt: skip
    kinds = layer.others["kind"].value_counts()
    told = ", ".join(f"{n} {said.candidate(str(kind), None)}" for kind, n in kinds.items())
    since = day_text(start)
    shown(chart, f"{layer.label} since {since}, {said.carried(layer.point, layer.row)} {told}")
    frame.muted(
        "Ink line: carried, dashed where unsure, its 8-in-10 interval tinted. Dots: drained to "
        "after a wetting. Short bars: each season's own estimate. Drag a band up or down over "
        "the chart: its middle becomes your value."
    )


def shown(chart: Any, words_: str) -> None:
    """Draw the chart; a band that is dragged over it is entered as a value."""
    st.vega_lite_chart(
        sent(chart), theme=None, width="stretch", alt=words_, key=_CHART,
        on_select=_dragged, selection_mode=DRAGGED,
    )  # fmt: skip


def _dragged() -> None:
    told = state.recall(_CHART) or {}
    band = told.get("selection", {}).get(DRAGGED, {}).get("value")
    if band:
        state.points.offer(sum(band) / len(band))
        state.points.retype()
