"""What each field received: put on under its last crop and since, and fallen since."""

import pandas as pd
import streamlit as st

from analytics.soil.wetting import GAUGE_RUNS
from analytics.store.inputs import nearest
from dashboard.data import Store, _frame, _read


def received(store: Store, day: str) -> pd.DataFrame:
    """Give what each field had up to a day, by the rule that its tally follows.

    Returns
    -------
    DataFrame
        ``field``, ``crop_mm`` (put on under the last crop), ``since_mm`` (put on since its
        harvest) and ``fell_mm`` (rain and snow since: its own gauge's, and the nearest
        station's outside the days of which that tells).
    """
    near = _stations(str(store.path), store.generation)
    fields, stations = list(near), list(near.values())
    return _read(store, "show_put_on", date=day, fields=fields, stations=stations,
                 gauge_days=int(GAUGE_RUNS.astype(int)))  # fmt: skip


@st.cache_data(max_entries=8, show_spinner=False)
def _stations(path: str, generation: str) -> dict[str, str]:
    """Name the station nearest to each field's probe."""
    stations = _frame(path, generation, "advice_stations")
    places = _frame(path, generation, "show_places").dropna(subset=["latitude", "longitude"])
    if stations.empty:
        return {}
    return {
        str(row["field"]): str(nearest(stations, row["latitude"], row["longitude"]))
        for row in places.to_dict("records")
    }
