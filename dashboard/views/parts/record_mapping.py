"""A logger's mapping as rows that a person can correct, and back again."""

from typing import Any

import pandas as pd

from analytics.intake.quantities import KINDS, SOIL

ASIDE = "kept aside"
CLOCKS = {
    "local": "the site’s time, summer time too", "standard": "winter time all year",
    "+00:00": "UTC",
}  # fmt: skip
"""The clocks that a logger may keep, where its times do not tell; others are offsets."""


def units() -> tuple[list[str], list[str]]:
    """List the quantities by their labels, and every unit there is."""
    labels = [ASIDE, *(one.label for one in KINDS.values())]
    return labels, list(dict.fromkeys(unit for one in KINDS.values() for unit in one.units))


def rows_of(mapping: dict[str, Any]) -> pd.DataFrame:
    """Lay a mapping out: column, quantity, depth_cm, unit; columns kept aside last."""
    rows = [
        (one["column"], KINDS[one["quantity"]].label, one.get("depth_cm"), one["unit"])
        for one in mapping["columns"]
    ]
    rows += [(one, ASIDE, None, None) for one in mapping.get("aside", ())]
    frame = pd.DataFrame(rows, columns=["column", "quantity", "depth_cm", "unit"])
    return frame.astype({"column": "str", "quantity": "str", "depth_cm": float, "unit": "str"})


def clock_of(mapping: dict[str, Any]) -> str:
    """Give the clock that a mapping reads times by."""
    return str(mapping["time"].get("clock", "local"))


def corrected(
    mapping: dict[str, Any], rows: pd.DataFrame, site: str | None, form: str, clock: str
) -> dict[str, Any]:
    """Give a mapping as the corrected rows say.

    Parameters
    ----------
    mapping : dict
        The guess; what the rows do not speak of stays.
    rows : DataFrame
        As ``rows_of`` gives them, after a person's corrections.
    site : str or None
        The one site that the whole file is from; None as the guess says.
    form : str
        How its times are written; ``ISO 8601`` for that.
    clock : str
        The one that they are read by, as a mapping has it.
    """
    codes = {one.label: code for code, one in KINDS.items()}
    before = {one["column"]: one for one in mapping["columns"]}
    told = rows.to_dict("records")
    taken = [row for row in told if row["quantity"] in codes]
    time = {key: value for key, value in mapping["time"].items() if key != "format"}
    if form.strip() and form.strip() != "ISO 8601":
        time["format"] = form.strip()
    if clock != clock_of(mapping):
        time["clock"] = clock
    changed = {
        "time": time,
        "site": mapping["site"] if site is None else {"value": site},
        "columns": [
            _entry(row, codes[row["quantity"]], before.get(row["column"], {})) for row in taken
        ],
        "aside": [row["column"] for row in told if row["quantity"] not in codes],
    }
    return {**mapping, **changed}


def _entry(row: dict[Any, Any], code: str, before: dict[str, Any]) -> dict[str, Any]:
    entry = {key: before[key] for key in ("calibration", "gives") if key in before}
    entry |= {"column": row["column"], "quantity": code}
    entry["unit"] = (
        row["unit"] if isinstance(row["unit"], str) else next(iter(KINDS[code].units))
    )
    if code in SOIL and not pd.isna(row["depth_cm"]):
        entry["depth_cm"] = float(row["depth_cm"])
    return entry
