"""What each step of the walk says and draws, for the screen and for slides alike."""

from dataclasses import dataclass
from typing import Any, NamedTuple

import pandas as pd

from analytics.units import WATER, System, text
from analytics.water.contrast import Contrast
from dashboard import words
from dashboard.charts.core_strip import core_label, core_layers, core_svg
from dashboard.charts.palette import Palette
from dashboard.charts.tiles import Tile, tiles
from dashboard.data.meeting import Walk
from dashboard.views.parts.answers import line_mm, of_the_season
from dashboard.views.parts.measures import bare
from dashboard.words import meeting as said

CORE_PX = (150.0, 460.0)
NAMED = "Field "
ORDERED = 10
"""Rows of the order that a room can read."""
ORDER_HEAD = ("Field", "Begins", "Put on, net", "Stays unfilled")
FIVE_HEAD = "The off-season, in five figures."


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Room:
    """What every step is drawn from."""

    walk: Walk
    palette: Palette
    system: System
    split_cm: float


class Drawn(NamedTuple):
    """A drawing with its title and what it says in words."""

    title: str
    svg: str
    told: str


class Core(NamedTuple):
    """One field's core: name, drawing, its words, and what stands beside each zone."""

    name: str
    svg: str
    label: str
    zones: tuple[tuple[str, str], tuple[str, str]]  # (how short, which zone): upper, deep


def opening(room: Room) -> tuple[str, str]:
    """Say what the district is short of, and which fields that does not count."""
    standing, told = of_the_season(room.walk.rows)
    known = told["deep_deficit_mm"].dropna()
    over = line_mm(known, room.system)
    answer = words.district_answer(short=int((known > over).sum()), of=len(known), over_mm=over,
                                   standing=standing, system=room.system,
                                   split_cm=room.split_cm)  # fmt: skip
    return answer, words.not_counted(len(room.walk.rows) - len(told))


def fields_as_tiles(room: Room, marked: set[str]) -> Drawn:
    """Draw every field as a tile, shortest first."""
    rows = room.walk.rows.to_dict("records")
    title = said.tiles_title(len(rows), room.system, room.split_cm)
    shown = [
        Tile(name=_short(row["name"]), marked=row["field"] in marked,
             code=row["class"] if isinstance(row["class"], str) else None,
             figure="?" if pd.isna(row["deep_deficit_mm"]) else
             bare(max(row["deep_deficit_mm"], 0.0), room.system))
        for row in rows
    ]  # fmt: skip
    told = f"{title}: " + ", ".join(f"{one.name} {one.figure}" for one in shown)
    return Drawn(title, tiles(shown, room.palette, label=told), told)


def _short(name: str) -> str:
    return name.removeprefix(NAMED)


def lower(name: str) -> str:
    """Write a field's name within a sentence."""
    return f"field {_short(name)}" if name.startswith(NAMED) else name


def five(room: Room) -> list[tuple[str, str]]:
    """Tell the off-season in five figures, each with what it is."""
    system = room.system
    _, rows = of_the_season(room.walk.rows)  # as the opening counts them
    gained = rows["change_mm"].dropna()
    none = sum(not words.is_short(one, system) for one in gained)  # as a field's page has it
    short = rows["deep_deficit_mm"].clip(lower=0)
    figures = (
        text(rows["fell_mm"].median(), WATER, system),
        text(max(gained.median(), 0.0) if len(gained) else None, WATER, system),
        text(short.median(), WATER, system), text(short.max(), WATER, system),
        f"{none} of {len(gained)}",
    )  # fmt: skip
    return list(zip(figures, said.five_titles(system, room.split_cm), strict=True))


def pair(room: Room, found: Contrast) -> tuple[str, tuple[Core, Core]]:
    """Set two fields side by side: the sentence, and a core each."""
    rows = {row["field"]: row for row in room.walk.rows.to_dict("records")}
    first, second = rows[found.shorter], rows[found.other]
    sentence = said.contrast_sentence(found, (lower(first["name"]), lower(second["name"])),
                                      room.system, room.split_cm)  # fmt: skip
    return sentence, (_core(room, first), _core(room, second))


def _core(room: Room, row: dict[Any, Any]) -> Core:
    rows = room.walk.layers[room.walk.layers["site"] == row["site"]]
    upper, deep = (None if pd.isna(row[key]) else row[key]
                   for key in ("upper_deficit_mm", "deep_deficit_mm"))  # fmt: skip
    label = core_label(row["name"], upper, deep, room.system, room.split_cm)
    drawn = core_svg(core_layers(rows), width=CORE_PX[0], height=CORE_PX[1],
                     palette=room.palette, split_cm=room.split_cm, label=label)  # fmt: skip
    above, below = (words.zone_label(one, room.system, room.split_cm)
                    for one in ("upper", "deep"))  # fmt: skip
    zones = ((words.short_words(upper, room.system), above),
             (words.short_words(deep, room.system), below))  # fmt: skip
    return Core(row["name"], drawn, label, zones)


def order(room: Room) -> tuple[str, list[list[str]]]:
    """Say who is watered first, and list those who follow; no rows where nobody is."""
    rows = room.walk.order.dropna(subset=["starts_on"]).sort_values(["starts_on", "rank"])
    rows = rows[[words.is_short(one, room.system) for one in rows["net_mm"]]]
    if rows.empty:
        return said.NO_ORDER, []
    names = room.walk.rows.set_index("field")["name"].to_dict()
    first = rows.iloc[0]
    sentence = said.first_sentence(lower(names[first["field"]]), first["starts_on"],
                                   elsewhere=first["rank"] > 1)  # fmt: skip
    lines = [[names[row["field"]], *said.order_line(row, room.system)]
             for row in rows.head(ORDERED).to_dict("records")]  # fmt: skip
    return sentence, lines
