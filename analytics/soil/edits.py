"""What people say about flags: confirmed, dismissed or added, laid over what is found."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.errors import InputRefused
from analytics.model import Record
from analytics.soil.flags import Flag

COLUMNS = ("depth_cm", "flag", "from", "to", "action")
ACTIONS = ("confirm", "dismiss", "add")


def no_edits() -> pd.DataFrame:
    """Give an empty table of edits, with its columns."""
    return pd.DataFrame(
        {
            "depth_cm": pd.Series(dtype="float64"),
            "flag": pd.Series(dtype="str"),
            "from": pd.Series(dtype="datetime64[us, UTC]"),
            "to": pd.Series(dtype="datetime64[us, UTC]"),
            "action": pd.Series(dtype="str"),
        }
    )


def apply_edits(
    record: Record, flags: NDArray[np.uint16], edits: pd.DataFrame
) -> NDArray[np.uint16]:
    """Lay people's edits over the flags that were found; the later edit wins.

    Parameters
    ----------
    record : Record
    flags : (n, k) uint16
        Left as they are.
    edits : DataFrame
        Columns depth_cm (blank: every sensor), flag (lower-case name), from, to (UTC, both
        ends included), action: ``add`` and ``confirm`` set the flag on every reading of the
        span, so that a confirmed one outlives a change of rules; ``dismiss`` clears it. In the
        order in which they were made.

    Returns
    -------
    (n, k) uint16
        0 where there is no reading.

    Raises
    ------
    InputRefused
        When an edit names no known flag or action.
    """
    edited = flags.copy()
    if not len(edits):
        return edited
    there = np.isfinite(record.theta)
    spans = zip(*(edits[name] for name in COLUMNS), strict=True)
    for depth_cm, name, since, until, action in spans:
        bit = _bit(str(name), str(action))
        first = np.searchsorted(record.times, _naive(since))
        after = np.searchsorted(record.times, _naive(until), side="right")
        sensors = _sensors(record, depth_cm)
        block = edited[first:after, sensors]
        if action == "dismiss":
            edited[first:after, sensors] = block & ~bit
        else:
            edited[first:after, sensors] = block | (there[first:after, sensors] * bit)
    return edited


def _bit(name: str, action: str) -> np.uint16:
    if name.upper() not in Flag.__members__:
        known = ", ".join(one.lower() for one in Flag.__members__)
        where = f"flag {name!r}"
        raise InputRefused(where, "there is no such flag.", f"Known: {known}.")
    if action not in ACTIONS:
        where, remedy = f"action {action!r}", f"Use one of {', '.join(ACTIONS)}."
        raise InputRefused(where, "is nothing that can be done.", remedy)
    return np.uint16(Flag[name.upper()])


def _naive(instant: pd.Timestamp) -> np.datetime64:
    return pd.Timestamp(instant).tz_convert("UTC").tz_localize(None).to_datetime64()


def _sensors(record: Record, depth_cm: float) -> NDArray[np.intp]:
    if pd.isna(depth_cm):
        return np.arange(len(record.depths_cm))
    return np.flatnonzero(np.isclose(record.depths_cm, depth_cm))
