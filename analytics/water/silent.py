"""What today's profile holds where a sensor has been silent too long to ask."""

import numpy as np

from analytics.model import Bools, Floats, Layer
from analytics.soil.profile import thickness_mm


def stood_in(
    water_mm: Floats,
    full_mm: Floats,
    lower_mm: Floats,
    layers: tuple[Layer, ...],
    *,
    recent: Bools,
    least_share: float,
) -> Floats:
    """Take silent layers for as full as the nearest layer that reads.

    Water that was read a season ago says nothing of today: winter came between. What lies next
    to it dried and filled with it (ours, no source).

    Parameters
    ----------
    water_mm, full_mm, lower_mm : (k,) float
        The last water read, however old, and the points, mm of each layer.
    layers : k Layer
    recent : (k,) bool
        Which were read lately enough.
    least_share : float
        Share of the profile's thickness that must be.

    Returns
    -------
    (k,) float
        mm; NaN for the layers that were not read lately, where too little of the profile was.
    """
    known = recent & np.isfinite(water_mm)
    thick = thickness_mm(layers)
    now = np.where(known, water_mm, np.nan)
    if known.all() or not known.any() or thick[known].sum() < least_share * thick.sum():
        return now
    middle = np.array([(one.top_cm + one.bottom_cm) / 2 for one in layers])
    away = np.where(known, np.abs(middle[:, None] - middle), np.inf)
    nearest = away.argmin(axis=1)
    room = full_mm - lower_mm
    fill = (now - lower_mm) / np.where(room > 0.0, room, np.nan)
    return np.where(known, now, lower_mm + fill[nearest] * room)
