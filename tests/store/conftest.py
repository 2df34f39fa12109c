"""A small store: two fields, two probes, and what goes with them."""

import shutil
from collections.abc import Callable
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from analytics.model import Record
from analytics.store import layout, people


def frames() -> dict[str, pd.DataFrame]:
    """One frame for each table that people keep."""
    day = pd.Timestamp("2024-11-05")
    shapes = [shapely.Point(-101, 39).buffer(0.01), shapely.Point(-101, 39.1).buffer(0.01)]
    line = [shapely.LineString([(-101.1, 39), (-100.9, 39)])]
    return {
        "fields": gpd.GeoDataFrame(
            {"field": ["north", "south"], "name": ["North", None], "grower": "Ash",
             "source": "w1", "soil": ["silt loam", None], "irrigated_ha": [50.5, np.nan],
             "root_limit_cm": [np.nan, 90.0]},
            geometry=shapes, crs="EPSG:4326"),
        "sources": pd.DataFrame(
            {"source": ["w1"], "name": ["Wells"], "capacity_l_s": [50.0],
             "allocation_mm": [np.nan], "efficiency": [0.9], "max_pass_mm": [25.0],
             "available_from": [day], "available_until": [pd.NaT]}),
        "sites": pd.DataFrame(
            {"site": ["N1", "../S 1"], "field": ["north", "south"], "latitude": [39.0, 39.1],
             "longitude": [-101.0, -101.0], "timezone": "America/Denver",
             "installed_on": [pd.Timestamp("2018-04-01"), pd.NaT], "removed_on": pd.NaT}),
        "layers": pd.DataFrame(
            {"site": "N1", "depth_cm": [10.0, 5.08], "top_cm": [7.0, 0.0],
             "bottom_cm": [np.nan, 7.0], "texture": "loam", "full": [0.3, np.nan],
             "refill": np.nan, "lower": 0.12, "limits_from": day, "limits_by": "cores",
             "sand": 40.0, "silt": 40.0, "clay": 20.0}),
        "seasons": pd.DataFrame(
            {"field": "north", "crop": ["corn", "wheat"],
             "planted_on": [pd.Timestamp("2023-05-01"), pd.Timestamp("2024-09-20")],
             "harvested_on": [pd.Timestamp("2023-10-10"), pd.NaT], "emerged_on": pd.NaT,
             "matured_on": pd.NaT}),
        "water": pd.DataFrame(
            {"field": "north", "date": [day, day], "kind": ["rain", "snow"], "mm": [3.5, 0.0]}),
        "stations": pd.DataFrame(
            {"station": ["far", "near"], "latitude": [41.0, 39.0], "longitude": -101.0,
             "elevation_m": [1000.0, np.nan]}),
        "weather": pd.DataFrame(
            {"station": ["far", "near"], "date": day, "tmin_c": [-4.0, 1.0],
             "tmax_c": [np.nan, 9.0], "rain_mm": [0.0, 2.0], "snow_mm": np.nan,
             "wind_m_s": 3.0, "rs_mj_m2": 8.0, "tdew_c": np.nan, "rh_min": 30.0,
             "rh_max": 80.0}),
        "landmarks": gpd.GeoDataFrame(
            {"landmark": ["r1"], "kind": ["road"], "name": pd.array([None], dtype="str")},
            geometry=line,
            crs="EPSG:4326"),
    }  # fmt: skip


@pytest.fixture
def people_frames() -> dict[str, pd.DataFrame]:
    """Give one frame for each table that people keep."""
    return frames()


@pytest.fixture(scope="session")
def laid_out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Lay an empty store out once: its copies take a tenth of the time."""
    store = tmp_path_factory.mktemp("laid_out") / "store"
    layout.create(store, "in")
    return store


@pytest.fixture(scope="session")
def peopled(laid_out: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Fill a store with all tables that people keep once."""
    store = Path(shutil.copytree(laid_out, tmp_path_factory.mktemp("peopled") / "store"))
    for name, frame in frames().items():
        people.put(store, name, frame)
    return store


@pytest.fixture
def empty(laid_out: Path, tmp_path: Path) -> Path:
    """Give an empty store."""
    return Path(shutil.copytree(laid_out, tmp_path / "store"))


@pytest.fixture
def store(peopled: Path, tmp_path: Path) -> Path:
    """Give a store with all tables that people keep, without readings."""
    return Path(shutil.copytree(peopled, tmp_path / "store"))


@pytest.fixture
def record() -> Callable[..., Record]:
    """Give a maker of hourly records; equal seeds make equal values."""

    def make(
        site: str = "N1", start: str = "2023-12-28", hours: int = 200, seed: int = 1
    ) -> Record:
        rng = np.random.default_rng(seed)
        times = np.datetime64(start, "us") + np.arange(hours) * np.timedelta64(1, "h")
        return Record(
            site=site,
            times=times,
            depths_cm=np.array([5.08, 10.0]),
            theta=rng.uniform(0.1, 0.4, (hours, 2)).round(4),
            temp_c=rng.uniform(-5, 20, (hours, 2)).round(2),
        )

    return make
