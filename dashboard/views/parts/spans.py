"""Seasons and off-seasons along a time axis, and the notes that stand on the picture."""

from typing import Any

import pandas as pd

from analytics.units import System
from dashboard import words

SHORTEST_GAP = pd.Timedelta(days=7)
MONTH = pd.Timedelta(days=365.25 / 12)
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
    spans: list[tuple[Any, ...]] = []
    free_from = first
    for one in seasons.itertuples():
        if one.planted_on > last:
            break
        end = last if pd.isna(one.harvested_on) else min(one.harvested_on, last)
        if end <= first:
            continue
        spans.append((free_from, one.planted_on, "off-season", "offseason"))
        label = f"{str(one.crop).capitalize()} {end.year}"
        spans.append((max(one.planted_on, first), end, label, "crop"))
        free_from = end
    spans.append((free_from, last, "off-season", "offseason"))
    return pd.DataFrame([one for one in spans if one[0] < one[1]], columns=_COLUMNS)


def notes(
    row: dict[Any, Any], gaps: pd.DataFrame, frost: dict[str, Any], start: str, day: str,
    system: System, split_cm: float, bottom_cm: float,
) -> pd.DataFrame:  # fmt: skip
    """Choose what is written on the depth-by-time picture: date, depth_cm, text."""
    deep = (split_cm + bottom_cm) / 2 if split_cm < bottom_cm else bottom_cm / 2
    found = [
        _last_full(row, pd.Timestamp(start), pd.Timestamp(day), system, split_cm, deep),
        _longest_gap(gaps, bottom_cm),
        _frozen(frost),
    ]
    told = [one for some in found for one in some]
    return pd.DataFrame(told, columns=["date", "depth_cm", "text"])


def _last_full(
    row: dict[Any, Any], start: pd.Timestamp, day: pd.Timestamp, system: System,
    split_cm: float, deep_cm: float,
) -> list[tuple[Any, ...]]:  # fmt: skip
    last = row["last_full"]
    below = words.zone_label("deep", system, split_cm)
    if pd.isna(last):
        return []
    told: list[tuple[Any, ...]] = []
    if last >= start:
        told.append((last, deep_cm, f"last full {below}: {words.day_text(last)}"))
    months = int((day - last) / MONTH)
    if months > 1:
        middle = max(last, start) + (day - max(last, start)) * 0.7
        told.append((middle, split_cm, f"not refilled for {months} months"))
    return told


def _longest_gap(gaps: pd.DataFrame, bottom_cm: float) -> list[tuple[Any, ...]]:
    """Note the longest stretch in which the whole probe was silent."""
    ends = gaps.groupby("from", as_index=False).agg(to=("to", "min"), layers=("to", "size"))
    whole = ends[ends["layers"] == gaps["depth_cm"].nunique()]
    if whole.empty:
        return []
    length = whole["to"] - whole["from"]
    at = length.idxmax()
    if length[at] < SHORTEST_GAP:
        return []
    middle = whole.loc[at, "from"] + length[at] / 2
    return [(middle, 0.85 * bottom_cm, f"no readings, {length[at].days} days")]


def _frozen(frost: dict[str, Any]) -> list[tuple[Any, ...]]:
    last, deepest = frost["last_frozen"], frost["deepest_cm"]
    if pd.isna(last) or pd.isna(deepest):
        return []
    return [(last, deepest / 2, "frozen")]
