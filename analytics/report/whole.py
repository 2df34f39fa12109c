"""Write many tables into one GeoPackage, a layer each, for a GIS."""

from collections.abc import Mapping
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pyogrio
from pyogrio.errors import DataLayerError, DataSourceError

from analytics import outfile
from analytics.errors import InputRefused

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

    Raises
    ------
    InputRefused
        When every table is empty, or the file cannot be written.
    """
    laid = {name: frame for name, frame in tables.items() if not frame.empty}
    if not laid:
        found = "there is nothing to write in it: every table is empty."
        raise InputRefused(str(out), found, "Import files into the store first.")
    try:
        with outfile.unfinished(out) as beside:
            for place, (name, frame) in enumerate(laid.items()):
                pyogrio.write_dataframe(_plain(frame), beside, layer=name, driver="GPKG",
                                        append=place > 0)  # fmt: skip
    except (DataSourceError, DataLayerError) as why:
        found = f"cannot be written ({' '.join(str(why).split())})."
        raise InputRefused(str(out), found, "Make room, or name another file.") from why
    return len(laid)


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
