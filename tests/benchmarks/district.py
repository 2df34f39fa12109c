"""A district of any size, tiled from the demonstration and perturbed, for measuring."""

import os
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd

from analytics.cli import main
from analytics.model import Record
from analytics.store import layout, people, readings

DEPTHS = 12
APART_DEG = 0.35  # from one tile to the next
ACROSS = 6
PEOPLE = ("fields", "sources", "sites", "layers", "seasons", "water")
ONCE = ("stations", "weather")


def tiled(demo: Path, store: Path, files: Path, count: int) -> None:
    """Make a store of so many probes with twelve depths, each with its own field.

    Parameters
    ----------
    demo : Path
        The demonstration's store.
    store : Path
        Made here.
    files : Path
        Folder for the people's tables on their way in.
    count : int
        How many probes.
    """
    layout.create(store)
    files.mkdir(parents=True)
    base = _deep_sites(demo)
    names = [(base[n % len(base)], f"S{n:04d}", n // len(base)) for n in range(count)]
    _people(demo, files, names)
    if main(["import", str(store), str(files)]) != 0:
        raise SystemExit(1)
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        list(pool.map(_grow, *zip(*((demo, store, *one) for one in names), strict=True)))


def _deep_sites(demo: Path) -> list[str]:
    layers = pd.DataFrame(people.table(demo, "daily"))[["site", "depth_cm"]].drop_duplicates()
    counted = layers.groupby("site").size()
    return sorted(counted[counted == DEPTHS].index)


def perturbed(record: Record, site: str, seed: int) -> Record:
    """Give a record another name, its layers another level and its readings noise."""
    rng = np.random.default_rng(seed)
    level = rng.normal(1.0, 0.03, record.theta.shape[1])
    noise = rng.normal(0.0, 0.0004, record.theta.shape)
    return Record(
        site=site, times=record.times, depths_cm=record.depths_cm,
        theta=np.round(record.theta * level + noise, 4), temp_c=record.temp_c,
    )  # fmt: skip


def _grow(demo: Path, store: Path, of: str, site: str, tile: int) -> None:
    readings.merge(store, perturbed(readings.read(demo, of), site, int(site[1:])))


def _people(demo: Path, files: Path, names: Iterable[tuple[str, str, int]]) -> None:
    """Write everybody's tables: a field a probe, and sources of its own a tile."""
    tables = {name: people.table(demo, name) for name in (*PEOPLE, *ONCE)}
    sites = pd.DataFrame(tables["sites"])
    field_of = dict(zip(sites["site"], sites["field"], strict=True))
    parts: dict[str, list[pd.DataFrame]] = {name: [] for name in PEOPLE}
    for of, site, tile in names:
        own = {"site": site, "field": f"f{site[1:]}"}
        for name in PEOPLE:
            frame = tables[name]
            key = "site" if "site" in frame else "field" if "field" in frame else "source"
            some = frame[frame[key] == (of if key == "site" else field_of[of])].copy()
            parts[name].append(_moved(some, own, tile))
    sources = tables["sources"]
    tiles = sorted({tile for _, _, tile in names})
    parts["sources"] = [sources.assign(source=sources["source"] + f"-{one}") for one in tiles]
    for name in (*PEOPLE, *ONCE):
        whole = pd.concat(parts[name], ignore_index=True) if name in parts else tables[name]
        if name == "fields":
            gpd.GeoDataFrame(whole, crs="EPSG:4326").to_file(files / "fields.geojson")
        else:
            pd.DataFrame(whole).to_csv(files / f"{name}.csv", index=False)


def _moved(some: pd.DataFrame, own: dict[str, str], tile: int) -> pd.DataFrame:
    east, south = APART_DEG * (tile % ACROSS), -APART_DEG * (tile // ACROSS)
    for name, value in own.items():
        if name in some:
            some[name] = value
    if "geometry" in some:
        some["geometry"] = gpd.GeoSeries(some["geometry"]).translate(east, south)
        some["name"] = some["name"] + f" {own['site']}"
    if "source" in some:
        some["source"] = some["source"] + f"-{tile}"
    if "latitude" in some:
        some["longitude"], some["latitude"] = some["longitude"] + east, some["latitude"] + south
    return some


def logger_files(store: Path, folder: Path, sites: list[str], days: int) -> None:
    """Write wide logger files, one a site, of the latest days of a store's readings."""
    folder.mkdir(parents=True)
    for site in sites:
        record = readings.read(store, site)
        last = record.times >= record.times[-1] - np.timedelta64(days, "D")
        wide = {"time": pd.DatetimeIndex(record.times[last]).strftime("%Y-%m-%dT%H:%M:%SZ")}
        wide |= {f"vwc_{depth:g}cm": record.theta[last, at]
                 for at, depth in enumerate(record.depths_cm)}  # fmt: skip
        wide |= {f"soil_temp_{depth:g}cm": record.temp_c[last, at].round(2)
                 for at, depth in enumerate(record.depths_cm)}  # fmt: skip
        pd.DataFrame({"site": site, **wide}).to_csv(folder / f"{site}.csv", index=False)
