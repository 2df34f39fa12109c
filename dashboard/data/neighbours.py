"""What the Neighbours page reads: places, last winters, water put on."""

from typing import Any

import numpy as np
import pandas as pd
from pyproj import Geod

from analytics.water.compare import Difference, difference, footing, zone_sum
from dashboard.data import Store, _read, going_in, layers
from dashboard.data.received import received

_ELLIPSOID = Geod(ellps="WGS84")


def distances_km(store: Store, site: str) -> pd.Series:
    """Give how far every other probe stands from one, km on the ellipsoid, by site."""
    places = _read(store, "show_places").set_index("site")
    if site not in places.index:
        return pd.Series(dtype=float)
    here = places.loc[site]
    there = places.drop(index=site)
    count = len(there)
    _, _, metres = _ELLIPSOID.inv(
        np.full(count, here["longitude"]), np.full(count, here["latitude"]),
        there["longitude"].to_numpy(float), there["latitude"].to_numpy(float),
    )  # fmt: skip
    return pd.Series(np.asarray(metres, float) / 1000, index=there.index)


def others(store: Store, day: str, site: str) -> pd.DataFrame:
    """Give every field as `going_in` does for the deep zone, with distance and water put on.

    Adds km (0 for the field of ``site``, NaN where no place is known), crop_mm (put on under
    the last crop), since_mm (put on since its harvest) and fell_mm (rain and snow since).
    """
    rows = going_in(store, day, "deep", site)
    far = distances_km(store, site)
    far[site] = 0.0
    return rows.merge(received(store, day), on="field", how="left").assign(
        km=rows["site"].map(far)
    )


def last_winters(store: Store, day: str) -> pd.DataFrame:
    """Give each layer's tally of the last off-season, of every site."""
    return _read(store, "show_last_winters", date=day)


def site_layers(store: Store, day: str, sites: list[str]) -> dict[str, pd.DataFrame]:
    """Give the layers of several sites on a day, from the surface down."""
    found = layers(store, day)
    return {one: found[found["site"] == one].sort_values("top_cm") for one in sites}


def compared(
    one: pd.DataFrame, other: pd.DataFrame, split_cm: float, root_limit_cm: float
) -> tuple[Difference, float]:
    """Compare the deep shortage of two probes down to the depth that both reach (cm).

    And no deeper than roots can go in either field (NaN: nothing stops them).
    """
    known = [rows.dropna(subset=["deficit_mm", "sd_mm"]) for rows in (one, other)]
    deepest = [float(rows["bottom_cm"].max()) for rows in known if len(rows)]
    floor = float(np.fmin(min(deepest, default=0.0), root_limit_cm))
    if floor <= split_cm:
        nothing = difference((np.nan, np.nan, "not known"), (np.nan, np.nan, "not known"))
        return nothing, floor
    return difference(_deep(one, split_cm, floor), _deep(other, split_cm, floor)), floor


def _deep(rows: pd.DataFrame, top: float, bottom: float) -> Any:
    states = [str(one) for one in rows["basis"]]
    inside = (rows["top_cm"] < bottom) & (rows["bottom_cm"] > top)
    deep = [one for one, in_zone in zip(states, inside, strict=True) if in_zone]
    edges = rows[["top_cm", "bottom_cm"]].to_numpy(float)
    total, sd = zone_sum(edges, rows["deficit_mm"].to_numpy(float),
                         rows["sd_mm"].to_numpy(float), states, (top, bottom))  # fmt: skip
    return total, sd, footing(deep)
