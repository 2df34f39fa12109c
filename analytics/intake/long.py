"""Plain long readings: one row a sensor and instant, in the contract's own columns."""

import numpy as np
import pyarrow as pa

from analytics.contract import READINGS
from analytics.errors import InputRefused
from analytics.intake import cells
from analytics.intake import sheet as sheets
from analytics.intake.guess import MISSING
from analytics.intake.known import Known
from analytics.intake.look import Seen
from analytics.intake.people import require
from analytics.intake.quantities import DEEPEST_CM
from analytics.intake.records import from_long, together
from analytics.intake.sheet import Sheet
from analytics.intake.sift import Check, sift
from analytics.intake.stamps import read_stamps
from analytics.intake.taken import Taken, groups, instants, refuse_if_blank, refuse_if_nothing
from analytics.intake.whose import codes
from analytics.model import Floats
from analytics.settings import Settings

VALUES = ("depth_cm", "vwc", "soil_temp_c")
TYPES = {
    "site": pa.string(),
    "time": pa.string(),
    **dict.fromkeys(VALUES, pa.float64()),
}


def read_long(seen: Seen, known: Known) -> Taken:
    """Read long readings; rows that cannot be taken are put aside with a reason.

    Raises
    ------
    InputRefused
        When a column is missing, not one row can be taken, or moisture is no share of a volume.
    """
    require(seen.name, READINGS, seen.columns)
    types = {name: kind for name, kind in TYPES.items() if name in seen.columns}
    strict = sheets.fast(seen, types)
    taken = None if strict is None else _take(strict, known)
    if taken is None:
        taken = _take(sheets.whole(seen, tuple(types)), known)
    if taken is None:
        raise AssertionError  # a sheet with exact lines is always taken
    return taken


def _take(sheet: Sheet, known: Known) -> Taken | None:
    """Take a sheet; None where a row must be named but the sheet does not know its line."""
    sites, zones = list(known.sites), list(known.sites.values())
    code = codes(sheet, {"column": "site"}, sites)
    values, checks = _values(sheet)
    stamps = read_stamps(sheet.table.column("time"), None)
    when = instants(stamps, code, zones, _track(code, values["depth_cm"]), "time")
    unknown = Check(bad=code < 0, column="site", reason="there is no such site")
    good, rejects = sift(sheet, [unknown, *when.checks, *checks])
    if not sheet.exact and not good.all():
        return None
    refuse_if_nothing(sheet, int(good.sum()), rejects)
    made = [
        from_long(sites[one], when.utc[rows], *(values[name][rows] for name in VALUES))
        for one, rows in groups(np.where(good, code, -1)).items()
    ]
    records = tuple(one.record for one in made)
    refuse_if_blank(sheet.name, records, weather=False)
    _refuse_if_no_share(sheet.name, values["vwc"][good])
    return Taken(
        records=records, weather=None, rejects=rejects, notes=tuple(when.notes),
        rows_in=len(code) + len(sheet.ragged), **together(made),
    )  # fmt: skip


def _refuse_if_no_share(name: str, vwc: Floats) -> None:
    """Refuse moisture in another unit: it would take the place of good readings.

    A spike or two are for the flags to find.
    """
    known = vwc[np.isfinite(vwc)]
    usual = float(np.median(known)) if len(known) else 0.0
    if usual > Settings().fraction_to:
        found = f"half of its moisture lies above {usual:.3g} m3/m3, which no soil holds."
        remedy = "Give m3/m3 in the column vwc: percent divided by 100."
        where = f"{name}, column 'vwc'"
        raise InputRefused(where, found, remedy)


def _values(sheet: Sheet) -> tuple[dict[str, Floats], list[Check]]:
    """Give depths (positive down), moisture and temperature, with a check of each."""
    nothing = np.full(sheet.table.num_rows, np.nan)
    values: dict[str, Floats] = dict.fromkeys(VALUES, nothing)
    checks = []
    for name in VALUES:
        if name in sheet.table.column_names:
            codes_of = () if name == "depth_cm" else MISSING
            values[name], bad = cells.numbers(sheet.table.column(name), codes_of)
            reason = "not a finite number"
            if name == "depth_cm":
                values[name] = np.abs(values[name])
                bad, reason = bad | ~(values[name] <= DEEPEST_CM), "not a depth in cm"
            checks.append(Check(bad=bad, column=name, reason=reason))
    return values, checks


def _track(code: np.ndarray, depth: np.ndarray) -> np.ndarray:
    """Give every sensor a number; its rows follow one another in time."""
    levels = np.unique(depth, return_inverse=True)[1].ravel()
    return code * (int(levels.max(initial=0)) + 1) + levels
