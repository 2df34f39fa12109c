"""The first rows of a logger's file as they would be taken, for a person to look at."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from analytics.intake.known import Known
from analytics.intake.read import read
from analytics.intake.zones import to_wall
from analytics.model import Delivery, Record

SHOWN = 10


def preview(
    path: Path, known: Known, mapping: Mapping[str, Any] | None = None, *, rows: int = SHOWN
) -> pd.DataFrame:
    """Show the first instants of a readings file by depth.

    Parameters
    ----------
    path : Path
    known : Known
    mapping : dict, optional
        As ``read`` takes it: a whole mapping, or parts laid over the guess.
    rows : int
        Instants of each site at most.

    Returns
    -------
    DataFrame
        site, time (the site's wall clock), then a column a depth: ``vwc 30 cm`` in m3/m3,
        ``temp 30 cm`` in degrees C where there is any.

    Raises
    ------
    InputRefused
        As ``read`` does.
    """
    return preview_of(read(Path(path), known, mapping=mapping), known, rows=rows)


def preview_of(delivery: Delivery, known: Known, *, rows: int = SHOWN) -> pd.DataFrame:
    """Do the same for a file that has been read already."""
    frames = [_first(one, known.sites[one.site], rows) for one in delivery.readings]
    if not frames:
        return pd.DataFrame(columns=pd.Index(["site", "time"]))
    whole = pd.concat(frames, ignore_index=True)
    return whole[["site", "time", *sorted({*whole.columns[2:]}, key=_order)]]


def _first(record: Record, zone: str, rows: int) -> pd.DataFrame:
    times = record.times[:rows]
    columns: dict[str, Any] = {
        "site": pd.Series(record.site, index=range(len(times)), dtype="str"),
        "time": to_wall(times, zone),
    }
    for word, values in (("vwc", record.theta), ("temp", record.temp_c)):
        for j, depth in enumerate(record.depths_cm):
            if np.isfinite(values[:, j]).any():
                columns[f"{word} {depth:g} cm"] = values[:rows, j]
    return pd.DataFrame(columns)


def _order(name: str) -> tuple[bool, float]:
    word, depth, _ = name.split(" ")
    return word != "vwc", float(depth)
