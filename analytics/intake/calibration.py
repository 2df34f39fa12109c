"""A logger's column into the unit inside: by its unit, or by its sensor's own curve."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.polynomial.polynomial import polyval
from numpy.typing import NDArray

from analytics.errors import InputRefused
from analytics.intake.quantities import KINDS, RAW
from analytics.model import Floats

MOST_TERMS = 7  # a sixth-degree polynomial; makers' curves have at most five (no source)


def gives(entry: Mapping[str, Any]) -> str:
    """Tell the unit that a calibration gives: the entry's own word, else the first unit."""
    return str(entry.get("gives", next(iter(KINDS[entry["quantity"]].units))))


def is_curve(said: object) -> bool:
    """Tell whether this is a curve: coefficients from the constant term up, or one a site."""
    if isinstance(said, dict):
        return bool(said) and all(_is_terms(one) for one in said.values())
    return _is_terms(said)


def _is_terms(said: object) -> bool:
    if not isinstance(said, list) or not 1 < len(said) <= MOST_TERMS:
        return False
    return all(_is_finite(one) for one in said)


def _is_finite(said: object) -> bool:
    if isinstance(said, bool) or not isinstance(said, int | float):
        return False
    return math.isfinite(said)


def inside(
    entry: Mapping[str, Any], read: Floats, code: NDArray[np.int64], sites: Sequence[str]
) -> Floats:
    """Give a mapped column in the unit inside.

    Parameters
    ----------
    entry : mapping
        One of a mapping's ``columns``.
    read : (n,) float
        As the file has them.
    code : (n,) int
        Each row's place in ``sites``; -1 where the site is not known.
    sites : sequence of str

    Raises
    ------
    InputRefused
        When a site of the file has no calibration.
    """
    units = KINDS[entry["quantity"]].units
    if entry["unit"] != RAW:
        return units[entry["unit"]](read)
    curve = entry["calibration"]
    if isinstance(curve, list):
        return units[gives(entry)](np.asarray(polyval(read, curve), dtype=np.float64))
    worked = np.full(len(read), np.nan)
    for one in np.unique(code[code >= 0]):
        rows = code == one
        worked[rows] = polyval(read[rows], _of_site(entry, sites[int(one)]))
    return units[gives(entry)](worked)


def _of_site(entry: Mapping[str, Any], site: str) -> list[float]:
    curves = entry["calibration"]
    if site not in curves:
        where = f"mapping, column {entry['column']!r}"
        found = f"there is no calibration for the site {site} (only for {', '.join(curves)})."
        raise InputRefused(where, found, "Add that site's coefficients to the mapping.")
    return curves[site]
