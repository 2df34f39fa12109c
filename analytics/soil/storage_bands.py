"""Published shares of off-season water that stayed: context for a field's own, no judgement."""

from dataclasses import dataclass
from datetime import date

NORTH_DEG = 44.0
"""Between the northern stations (Sidney, Montana, 47.7 N) and the others (up to 40 N)."""
LONG_DAYS = 270
"""A fallow that holds a summer; a winter between two summer crops is shorter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Precipitation storage efficiency found in field trials, 0-1."""

    name: str
    low: float
    high: float
    source: str


OVERWINTER_NORTH = Band(
    name="overwinter, northern plains", low=0.333, high=0.711,
    source="Tanaka & Aase 1987, Soil Tillage Res. 9:307-316 (Sidney, Montana, to 1.70 m)",
)  # fmt: skip
WHOLE_FALLOW = Band(
    name="whole fallow, central and southern plains", low=0.18, high=0.35,
    source="Kansas Agric. Exp. Stn Res. Rep. 1(5):3, 2015 (18 %, no-till); Nielsen & Vigil "
    "2010, Agron. J. 102:537-543 (20 % tilled to 35 % no-till)",
)  # fmt: skip


def band_of(latitude: float, start: date, end: date) -> Band | None:
    """Find the published band that an off-season may be read beside.

    Parameters
    ----------
    latitude : float
        Degrees north.
    start, end : date

    Returns
    -------
    Band or None
        None where no trial known to us fits: a short winter in the south, a long northern
        fallow.
    """
    long = (end - start).days >= LONG_DAYS
    if latitude >= NORTH_DEG:
        return None if long else OVERWINTER_NORTH
    return WHOLE_FALLOW if long else None
