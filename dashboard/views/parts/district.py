"""What the map page shows: the store, what was chosen, and the rows that come of it."""

import hashlib
from dataclasses import dataclass

import pandas as pd

from analytics.units import System
from dashboard import data, words
from dashboard.charts.palette import Palette
from dashboard.views.parts.measures import Measure


@dataclass(frozen=True, slots=True, kw_only=True)
class District:
    """The district on one day, in one zone, coloured by one measure.

    ``every`` has one row a field as ``data.going_in`` gives it, shortest first; ``kept`` the
    rows that the filters leave.
    """

    store: data.Store
    palette: Palette
    day: str
    zone: str
    measure: Measure
    system: System
    every: pd.DataFrame
    kept: pd.DataFrame

    @property
    def split_cm(self) -> float:
        """Depth that parts the zones."""
        return self.store.settings.zone_split_cm

    @property
    def where(self) -> str:
        """The zone as a label: "below 3 ft"."""
        return words.zone_label(self.zone, self.system, self.split_cm)

    @property
    def key(self) -> tuple[str, ...]:
        """All that the rows and their pictures depend on beside the store."""
        kept = hashlib.sha256("\n".join(self.kept["field"]).encode()).hexdigest()
        return (self.day, self.zone, self.measure.title, self.system, self.palette.theme, kept)

    @property
    def counted(self) -> str:
        """How many fields are shown."""
        return words.counted(len(self.kept), "field")


def unique_names(rows: pd.DataFrame) -> dict[str, str]:
    """Name every field; where two share a name, the id stands behind it."""
    return data.names_apart(rows["field"], rows["name"])
