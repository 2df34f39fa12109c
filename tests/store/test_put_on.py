"""What fell on a field since its harvest: its own gauge, else the nearest station."""

from pathlib import Path

import pandas as pd
import pytest

from analytics.soil.wetting import GAUGE_RUNS, received_water
from analytics.store import people
from analytics.store.statements import query

HARVEST, DAY = "2024-10-01", "2025-03-01"


@pytest.mark.parametrize(("rows", "mm"), [
    ([], 151.0),
    (["2024-10-05", "2024-10-15"], 20.0 + 151 - 11),
    (["2024-10-05", "2024-11-04"], 20.0 + 151 - 31),  # thirty days apart: it ran between
    (["2024-10-05", "2024-11-05"], 20.0 + 151 - 2),  # of more the gauge does not tell
    (["2024-09-20", "2024-10-10", "2025-02-20"], 20.0 + 151 - 10 - 1),
    (["2025-02-20", "2025-03-10"], 10.0 + 151 - 9),
])  # fmt: skip
def test_a_gauge_tells_of_no_day_in_a_hole_of_its_own(
    empty: Path, people_frames: dict[str, pd.DataFrame], rows: list[str], mm: float
) -> None:
    days = pd.date_range("2024-09-01", "2025-03-31")
    weather = pd.DataFrame({"station": "near", "date": days, "rain_mm": 1.0, "snow_mm": 0.0})
    water = pd.DataFrame({"field": "north", "date": pd.to_datetime(rows), "kind": "rain",
                          "mm": 10.0})  # fmt: skip
    season = pd.DataFrame({"field": ["north"], "crop": "corn",
                           "planted_on": pd.Timestamp("2024-05-01"),
                           "harvested_on": pd.Timestamp(HARVEST)})  # fmt: skip
    told = {"fields": people_frames["fields"], "stations": people_frames["stations"],
            "weather": weather, "water": water, "seasons": season}  # fmt: skip
    for table, frame in told.items():
        people.put(empty, table, frame)
    row = query(empty, "show_put_on", date=DAY, fields=["north"], stations=["near"],
                gauge_days=int(GAUGE_RUNS.astype(int)))  # fmt: skip
    assert pd.DataFrame(row)["fell_mm"].tolist() == [pytest.approx(mm)]
    every = received_water(water, weather)  # the tally's own
    inside = every["date"].between(HARVEST, pd.Timestamp(DAY) - pd.Timedelta(days=1))
    assert every.loc[inside, "mm"].sum() == pytest.approx(mm)
