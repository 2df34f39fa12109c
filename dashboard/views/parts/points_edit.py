"""A person's own value for a point: entered, seen before and after, saved, taken back."""

from typing import Any

import pandas as pd
import streamlit as st

from analytics.errors import OverwinterError
from analytics.units import WATER
from dashboard import data, state, words
from dashboard.charts.core import core_layers, core_svg, data_uri
from dashboard.data import layer_points
from dashboard.state.points import Version
from dashboard.views.parts import frame
from dashboard.views.parts.answers import sure_class
from dashboard.views.parts.measures import bare
from dashboard.views.parts.points_layer import NOT_CHOSEN, Layer
from dashboard.views.parts.points_work import carried_out, done
from dashboard.views.parts.tables import table
from dashboard.words import points as said

LOWEST, HIGHEST, STEP = 0.02, 0.60, 0.001  # m3/m3, of the entry
CORE_PX = (60.0, 180.0)


def entry(layer: Layer) -> float:
    """Show the entry of a value, with its author and reason; give the value entered."""
    frame.heading("Make it your own")
    now, holds = min(max(float(layer.row["value"]), LOWEST), HIGHEST), _holds(layer)
    of = f"{layer.site} {layer.placement} {layer.depth_cm} {layer.point}"
    state.points.enter(of, holds, now)
    offered = _offered(layer)
    st.selectbox(
        "Choose from", [state.points.TYPED, *offered], key=state.points.FROM, on_change=_chose,
        args=(offered,), format_func=lambda one: _named(one, offered),
    )  # fmt: skip
    left, right = st.columns([2, 3], vertical_alignment="bottom")
    with left:
        value = st.number_input(
            "Value, m³/m³", LOWEST, HIGHEST, state.points.first(now), step=STEP, format="%.3f",
            key=state.points.VALUE, on_change=state.points.follow, args=(state.points.VALUE,),
        )  # fmt: skip
    state.points.level(float(value))
    with right:
        st.slider("Drag", LOWEST, HIGHEST, step=STEP, format="%.3f", key=state.points.DRAG,
                  on_change=state.points.follow, args=(state.points.DRAG,))  # fmt: skip
    _signed(layer, holds, float(value), offered)
    return round(float(value), 3)


def _offered(layer: Layer) -> dict[str, dict[Any, Any]]:
    """List what may be chosen: an earlier placement is for comparison only."""
    rows = layer.others[layer.others["value"].between(LOWEST, HIGHEST)]
    return {
        f"{row['kind']} {at}": row
        for at, row in enumerate(rows.to_dict("records"))
        if row["kind"] not in NOT_CHOSEN and not row["kind"].startswith("previous")
    }


def _named(one: str, offered: dict[str, dict[Any, Any]]) -> str:
    if one not in offered:
        return "typed or dragged"
    return f"{offered[one]['name']}, {said.theta(offered[one]['value'])}"


def _chose(offered: dict[str, dict[Any, Any]]) -> None:
    one = offered.get(str(state.recall(state.points.FROM)))
    if one is not None:
        state.points.offer(float(one["value"]))


def _signed(
    layer: Layer, holds: Version, value: float, offered: dict[str, dict[Any, Any]]
) -> None:
    left, right = st.columns([2, 3])
    with left:
        by = st.text_input("Set by", key="point_by")
    with right:
        why = st.text_input("Reason", key=state.points.WHY)
    pinned = st.checkbox("Pin it: accepting all sure ones leaves it alone", value=True,
                         key="point_pin")  # fmt: skip
    with st.container(horizontal=True):
        save = _save_button(holds, value)
        back = holds.number > 0 and st.button(
            words.plain(said.take_back(holds.told)), key="point_back",
            on_click=state.points.press, args=(state.points.BACK, holds),
        )  # fmt: skip
    if state.points.overtaken(holds):
        st.warning(words.plain(said.overtaken(layer.point, holds.told, value)))
    what, drawn = state.points.pressed() or ("", None)
    if what == state.points.BACK and drawn is not None and drawn != holds:
        st.warning(words.plain(said.not_taken_back(drawn.told, holds.told)))
    if not save and not back:
        return
    if drawn is None:
        st.warning(said.ANEW)
    elif not by.strip() or not why.strip():
        st.warning(said.NOT_SIGNED)
    elif drawn != holds:
        return  # said above
    elif back:
        _take_back(layer, holds, by.strip(), why.strip())
    else:
        mine = _point(layer, value, offered, by=by.strip(), why=why.strip(), pinned=pinned)
        _save(layer, mine, holds)


def _save_button(holds: Version, value: float) -> bool:
    """Show the button that saves; another one, once what holds changed during the entry.

    Another button, so that the second half of a double click does not save over the change.
    """
    label, key = "Save this point", "point_save"
    if state.points.overtaken(holds):
        label, key = said.save_over(value), "point_over"
    return st.button(label, key=key, on_click=state.points.press,
                     args=(state.points.SAVE, holds))  # fmt: skip


def _save(layer: Layer, mine: layer_points.SetPoint, over: Version) -> None:
    failed = carried_out(
        lambda tell: layer_points.set_all(layer.store, [mine], tell, over=over.number)
    )
    if failed is not None:
        state.points.finish()
        done(failed, said.saved(layer.point, mine.value, layer.name))


def _point(
    layer: Layer, value: float, offered: dict[str, dict[Any, Any]], *,
    by: str = "", why: str = "", pinned: bool = True,
) -> layer_points.SetPoint:  # fmt: skip
    """Make the version that would be saved: what was chosen counts with all its digits."""
    one = offered.get(str(state.recall(state.points.FROM)))
    exact = one is not None and round(float(one["value"]), 3) == round(value, 3)
    sd = float(one["sd"]) if one is not None and exact and pd.notna(one["sd"]) else None
    return layer_points.SetPoint(
        site=layer.site, placement=layer.placement, depth_cm=layer.depth_cm, point=layer.point,
        value=float(one["value"]) if one is not None and exact else round(value, 3), sd=sd,
        valid_from=layer_points.holds_from(layer.store, layer.site), set_by=by, reason=why,
        pinned=pinned,
    )  # fmt: skip


def _held(layer: Layer) -> dict[Any, Any] | None:
    """Give the set version in force that may be taken back, if there is one."""
    rows = _mine(layer)
    rows = rows[rows["reverted_at"].isna()]
    ordered = rows.sort_values(["valid_from", "id"])
    return None if ordered.empty else ordered.to_dict("records")[-1]


def _mine(layer: Layer) -> pd.DataFrame:
    every = layer_points.set_points(layer.store, layer.site)
    return every[(every["depth_cm"] == layer.depth_cm) & (every["point"] == layer.point)
                 & (every["placement"] == layer.placement)]  # fmt: skip


def _holds(layer: Layer) -> Version:
    """Name the version in force: a set one as soon as it is kept, not once it is assessed."""
    held = _held(layer)
    one = layer.row if held is None else held
    by = one["set_by"] if isinstance(one["set_by"], str) else ""
    basis = words.BASIS_NAMES.get(str(one["state"]), str(one["state"]))
    return Version(number=0 if held is None else int(held["id"]),
                   told=said.holds(one["value"], by, basis))  # fmt: skip


def _take_back(layer: Layer, held: Version, by: str, why: str) -> None:
    failed = carried_out(
        lambda tell: layer_points.take_back(layer.store, held.number, by, why, tell)
    )
    if failed is not None:
        state.points.finish()
        done(failed, said.taken_back(layer.point, held.told, layer.name))


def before_after(layer: Layer, value: float) -> None:
    """Show what the value entered would change in this field, before it is saved."""
    frame.heading("Before and after", "nothing is saved by looking")
    store, day = layer.store, data.dates(layer.store)[0]
    zones = data.zones(store, layer.field, day)
    layers = data.layers_of(store, layer.site, day)
    before = pd.concat([zones[zones["site"] == layer.site], layers])
    after = before
    if value != round(float(layer.row["value"]), 3):
        try:
            with st.spinner("Working it out…"):
                after = layer_points.preview(store, _point(layer, value, _offered(layer)))
        except OverwinterError as trouble:
            st.warning(words.plain(str(trouble)))
    _compared(layer, before, after, value)
    if after is before:
        frame.muted(said.NO_PREVIEW)


def _compared(layer: Layer, before: pd.DataFrame, after: pd.DataFrame, value: float) -> None:
    left, right = st.columns([2, 3], gap="medium")
    with left:
        cores = [_core(layer, before, "now")]
        if after is not before:
            cores.append(_core(layer, after, f"with {value:.3f}"))
        st.html(f'<div class="ow-cores">{"".join(cores)}</div>')
    unit = WATER.shown(layer.system).unit
    with right:
        table(["Zone", f"Short, {unit}", "after", "Class", "after"],
              _zones(layer, before, after))  # fmt: skip


def _core(layer: Layer, rows: pd.DataFrame, name: str) -> str:
    split = layer.store.settings.zone_split_cm
    width, height = CORE_PX
    drawn = core_svg(core_layers(rows), width=width, height=height, palette=layer.palette,
                     split_cm=split, label=f"{layer.name} {name}")  # fmt: skip
    return (
        f'<figure><img src="{data_uri(drawn)}" alt="{name}"><figcaption><b>{name}</b>'
        "</figcaption></figure>"
    )


def _zones(layer: Layer, before: pd.DataFrame, after: pd.DataFrame) -> list[list[str]]:
    split, told = layer.store.settings.zone_split_cm, []
    for zone in ("upper", "deep", "profile"):
        pair = [one[one["zone"] == zone].to_dict("records")[:1] for one in (before, after)]
        if not all(pair) or pd.isna(pair[0][0]["deficit_mm"]):
            continue
        (was,), (will,) = pair
        told.append([
            words.zone_label(zone, layer.system, split).capitalize(),
            *(bare(max(one["deficit_mm"], 0.0), layer.system) for one in (was, will)),
            *(sure_class(one) for one in (was, will)),
        ])  # fmt: skip
    return told


def history(layer: Layer) -> None:
    """List every version of this point: learned, given, set, and taken back."""
    mine = _mine(layer)
    rows = [_set_row(one) for one in mine.to_dict("records")]
    ours = layer.versions[~layer.versions["valid_from"].isin(
        mine.loc[mine["reverted_at"].isna(), "valid_from"])]  # fmt: skip
    rows += [_own_row(one) for one in reversed(ours.to_dict("records"))]
    table(["Holds from", "m³/m³", "8 in 10", "By", "Reason", "State"], rows)


def _set_row(one: dict[Any, Any]) -> list[str]:
    if pd.isna(one["reverted_at"]):
        stands = "pinned" if one["pinned"] else "set, not pinned"
    else:
        when = words.day_text(one["reverted_at"])
        stands = f"taken back {when} by {one['reverted_by']}: {one['reverted_why']}"
    return [words.day_text(one["valid_from"]), said.theta(one["value"]),
            said.spread(one["sd"]), one["set_by"], one["reason"], stands]  # fmt: skip


def _own_row(one: dict[Any, Any]) -> list[str]:
    by = one["set_by"] if isinstance(one["set_by"], str) else "—"
    return [words.day_text(one["valid_from"]), said.theta(one["value"]),
            said.spread(one["sd"]), by, str(one["reason"]),
            words.BASIS_NAMES.get(one["state"], str(one["state"]))]  # fmt: skip
