"""What is written on the depth-by-time picture, where it happened."""

from typing import Any

import pandas as pd

from dashboard import data, words
from dashboard.views.parts.field_facts import Shown

SHORTEST_GAP = pd.Timedelta(days=7)
MONTH = pd.Timedelta(days=365.25 / 12)
Note = tuple[pd.Timestamp, float, str]


def notes(shown: Shown, start: str, bottom_cm: float) -> pd.DataFrame:
    """Choose the notes: a pan, last full, how long not refilled, the longest gap, frost.

    Parameters
    ----------
    shown : Shown
        The field's page.
    start : str
        First day of the picture, ISO.
    bottom_cm : float
        Its lower edge.

    Returns
    -------
    DataFrame
        Columns date, depth_cm, text; at most five rows, what is gravest first.
    """
    gaps = data.gaps(shown.store, shown.site, start, shown.day)
    gaps = gaps[gaps["to"] > pd.Timestamp(start) + SHORTEST_GAP]  # not what came before
    frost = data.frost(shown.store, shown.site, start, shown.day)
    told = [
        *_roots_stop(shown, start, bottom_cm),
        *_last_full(shown, start, bottom_cm),
        *longest_gap(gaps, shown.day, bottom_cm),
        *_frozen(frost),
    ]
    return pd.DataFrame(told, columns=["date", "depth_cm", "text"])


def _roots_stop(shown: Shown, start: str, bottom_cm: float) -> list[Note]:
    limit = shown.root_limit_cm
    if limit is None or limit >= bottom_cm:
        return []
    return [(pd.Timestamp(start), limit, "roots stop")]


def _last_full(shown: Shown, start: str, bottom_cm: float) -> list[Note]:
    last, day, first = shown.row["last_full"], pd.Timestamp(shown.day), pd.Timestamp(start)
    if pd.isna(last):
        return []
    bottom = min(bottom_cm, shown.root_limit_cm or bottom_cm)
    deep = shown.row["zone"] == "deep"
    top = shown.split_cm if deep else 0.0
    where = f" {words.zone_label('deep', shown.system, shown.split_cm)}" if deep else ""
    told: list[Note] = []
    if last >= first:
        told.append((last, (top + bottom) / 2, f"last full{where}: {words.day_text(last)}"))
    months = int((day - last) / MONTH)
    if months > 1:
        since = max(last, first)
        told.append((since + (day - since) * 0.7, top or bottom / 2,
                     f"not refilled for {months} months"))  # fmt: skip
    return told


def longest_gap(gaps: pd.DataFrame, day: str, bottom_cm: float) -> list[Note]:
    """Note the longest stretch in which the whole probe was silent.

    Parameters
    ----------
    gaps : DataFrame
        Columns depth_cm, from, to (wall time).
    day : str
        The day that is looked at, ISO; what is later is not known on it.
    bottom_cm : float
        Lower edge of the picture.

    Returns
    -------
    list of (time, depth_cm, text)
        At most one.
    """
    today = pd.Timestamp(day)
    ends = gaps.groupby("from", as_index=False).agg(to=("to", "min"), layers=("to", "size"))
    whole = ends[ends["layers"] == gaps["depth_cm"].nunique()]
    if whole.empty:
        return []
    spans = [
        (pd.Timestamp(a), min(pd.Timestamp(b), today))
        for a, b in whole[["from", "to"]].to_numpy()
    ]
    opens, closes = max(spans, key=lambda one: one[1] - one[0])
    if closes - opens < SHORTEST_GAP:
        return []
    middle = opens + (closes - opens) / 2
    long = (words.silent_days(opens, today) if closes == today
            else words.counted((closes - opens).days, "day"))  # fmt: skip
    return [(middle, 0.85 * bottom_cm, f"no readings, {long}")]


def _frozen(frost: dict[Any, Any]) -> list[Note]:
    last, deepest = frost["last_frozen"], frost["deepest_cm"]
    if pd.isna(last) or pd.isna(deepest):
        return []
    return [(last, deepest / 2, "frozen")]
