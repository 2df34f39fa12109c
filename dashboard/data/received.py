"""What each field received: put on under its last crop and since, and fallen since."""

import pandas as pd

from analytics.store.inputs import nearest
from dashboard.data import Store, _read


def received(store: Store, day: str) -> pd.DataFrame:
    """Give what each field had up to a day, by the rule that its tally follows.

    Returns
    -------
    DataFrame
        ``field``, ``crop_mm`` (put on under the last crop), ``since_mm`` (put on since its
        harvest) and ``fell_mm`` (rain and snow since: its own gauge's, and the nearest
        station's outside the days of which that tells).
    """
    put = _read(store, "show_put_on", date=day)
    near = _stations(store)
    fell = _read(store, "show_fell", date=day, fields=list(near), stations=list(near.values()))
    both = put.merge(fell, on="field", how="outer", suffixes=("", "_there"))
    whole = both[["fell_mm", "fell_mm_there"]].sum(axis=1, min_count=1)
    return both.drop(columns="fell_mm_there").assign(fell_mm=whole)


def _stations(store: Store) -> dict[str, str]:
    """Name the station nearest to each field's probe."""
    stations = _read(store, "advice_stations")
    places = _read(store, "show_places").dropna(subset=["latitude", "longitude"])
    if stations.empty:
        return {}
    return {
        str(row["field"]): str(nearest(stations, row["latitude"], row["longitude"]))
        for row in places.to_dict("records")
    }
