"""Write many tables into one GeoPackage, a layer each, for a GIS."""

from collections.abc import Mapping
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pyogrio

_SIMPLE = (str, float, int, bool)


def geopackage(tables: Mapping[str, pd.DataFrame], out: Path) -> int:
    """Write tables; those with places as layers on the map, the others as plain ones.

    Parameters
    ----------
    tables : mapping of layer name to DataFrame or GeoDataFrame
        Empty ones are left out.
    out : Path
        A file that exists is replaced only by a whole new one.

    Returns
    -------
    int
        How many layers were written.
    """
    unfinished = out.with_name(f".unfinished-{out.name}")
    unfinished.unlink(missing_ok=True)
    count = 0
    try:
        for name, frame in tables.items():
            if frame.empty:
                continue
            pyogrio.write_dataframe(_plain(frame), unfinished, layer=name, driver="GPKG",
                                    append=count > 0)  # fmt: skip
            count += 1
        unfinished.replace(out)
    finally:
        unfinished.unlink(missing_ok=True)
    return count


def _plain(frame: pd.DataFrame) -> pd.DataFrame:
    """Give columns types that a GeoPackage has; a list of words becomes one text."""
    out = frame.copy()
    for name in out.columns:
        values = out[name]
        if isinstance(out, gpd.GeoDataFrame) and name == out.geometry.name:
            continue
        if values.dtype == object:
            out[name] = [one if one is None or isinstance(one, _SIMPLE) else str(one)
                         for one in values]  # fmt: skip
    return out
