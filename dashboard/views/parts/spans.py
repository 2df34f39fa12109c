"""Seasons and off-seasons along a time axis."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

_COLUMNS = ["from", "to", "label", "kind"]


def strip(seasons: pd.DataFrame, start: str, day: str) -> pd.DataFrame:
    """Lay crops and the off-seasons between them end to end over a stretch of days.

    Parameters
    ----------
    seasons : DataFrame
        crop, planted_on, harvested_on; first planted first.
    start, day : str
        ISO dates, first and last day of the stretch.

    Returns
    -------
    DataFrame
        from, to, label, kind ("crop" or "offseason"); ascending.
    """
    first, last = pd.Timestamp(start), pd.Timestamp(day)
    bare = "off-season" if len(seasons) else "no crop on record"
    spans: list[tuple[Any, ...]] = []
    free_from = first
    for crop, planted, end in _grown(seasons, last):
        if end <= first or planted > last:
            continue
        spans.append((free_from, planted, "off-season", "offseason"))
        spans.append((max(planted, first), end, f"{crop.capitalize()} {end.year}", "crop"))
        free_from = end
    spans.append((free_from, last, bare, "offseason"))
    return pd.DataFrame([one for one in spans if one[0] < one[1]], columns=_COLUMNS)


def emptied_by(seasons: pd.DataFrame, last_full: Any) -> str | None:
    """Name the crop that emptied a layer: the first harvested after it was last full.

    Parameters
    ----------
    seasons : DataFrame
        crop, planted_on, harvested_on; first planted first.
    last_full : timestamp or NaT
        Last day on which the layer was full.

    Returns
    -------
    str or None
        "2023 cotton"; None where no crop has been harvested since.
    """
    if pd.isna(last_full):
        return None
    since = seasons[seasons["harvested_on"] >= last_full]
    if since.empty:
        return None
    first = since.iloc[0]
    return f"{first['harvested_on'].year} {first['crop']}"


def _grown(
    seasons: pd.DataFrame, last: pd.Timestamp
) -> Iterator[tuple[str, pd.Timestamp, pd.Timestamp]]:
    """Give each crop with planting and end; one that still grows reaches to the last day."""
    columns = (seasons[name] for name in ("crop", "planted_on", "harvested_on"))
    for crop, planted, harvested in zip(*columns, strict=True):
        end = last if pd.isna(harvested) else min(pd.Timestamp(harvested), last)
        yield str(crop), pd.Timestamp(planted), end
