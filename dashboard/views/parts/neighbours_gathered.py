"""Which fields are set beside one, and what is read of each."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from analytics.units import System
from analytics.water.compare import Difference
from dashboard import data
from dashboard.charts.palette import Palette
from dashboard.data import neighbours
from dashboard.views.parts.controls import OneField

SET_BESIDE = 5
"""So many fields stand beside the one chosen: what a laptop shows side by side."""
SHARED = {"source": "source", "soil": "soil", "crop": "last_crop"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """One field of the group: its row of the district, its layers, and the comparison."""

    row: dict[Any, Any]
    layers: pd.DataFrame
    found: Difference | None
    floor_cm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """A field and those set beside it; ``every`` is the district on the day."""

    store: data.Store
    palette: Palette
    system: System
    day: str
    field: str
    mine: Beside
    others: list[Beside]
    every: pd.DataFrame
    winters: pd.DataFrame

    @property
    def split_cm(self) -> float:
        """Depth that parts the zones."""
        return self.store.settings.zone_split_cm

    @property
    def all(self) -> list[Beside]:
        """The field chosen, then those beside it."""
        return [self.mine, *self.others]

    @property
    def alone(self) -> bool:
        """Whether the district has no other field with a probe, whatever the likeness."""
        return nearest(self.every, pd.Series(self.mine.row), "").empty

    @property
    def found(self) -> list[Difference]:
        """The comparison with each of the others."""
        return [one.found for one in self.others if one.found is not None]


def gathered(
    store: data.Store, palette: Palette, chosen: OneField, site: str, likeness: str
) -> Group:
    """Read the field chosen and those nearest to it, of a likeness."""
    every = neighbours.others(store, chosen.day, site)
    mine = every[every["field"] == chosen.field].iloc[0]
    rows = nearest(every, mine, likeness)
    layers = neighbours.site_layers(store, chosen.day, [site, *rows["site"]])
    split = store.settings.zone_split_cm
    others = []
    for row in rows.to_dict("records"):
        limit = np.fmin(mine["root_limit_cm"], row["root_limit_cm"])
        found, floor = neighbours.compared(layers[site], layers[row["site"]], split, limit)
        others.append(Beside(row=row, layers=layers[row["site"]], found=found, floor_cm=floor))
    own = Beside(row=dict(mine), layers=layers[site], found=None, floor_cm=np.nan)
    return Group(
        store=store, palette=palette, system=chosen.system, day=chosen.day,
        field=chosen.field, mine=own, others=others, every=every,
        winters=neighbours.last_winters(store, chosen.day),
    )  # fmt: skip


def nearest(every: pd.DataFrame, mine: pd.Series, likeness: str) -> pd.DataFrame:
    """Give the nearest fields with a probe, of those that share what is asked for.

    A field that does not say its source, soil or crop shares it with nobody.
    """
    rows = every[(every["field"] != mine["field"]) & every["site"].notna()]
    if likeness in SHARED:
        rows = rows[rows[SHARED[likeness]].eq(mine[SHARED[likeness]]).fillna(value=False)]
    return rows.sort_values(["km", "name"], na_position="last").head(SET_BESIDE)
