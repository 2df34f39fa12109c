"""How deep the soil is frozen, day by day."""

import numpy as np
import pandas as pd

from analytics.model import Daily, Floats

COLUMNS = ("site", "date", "top_cm", "bottom_cm")


def frost_zones(daily: Daily, freezing_c: float = 0.0) -> pd.DataFrame:
    """Find each day's frozen zones between the isotherms.

    The isotherm is interpolated linearly between sensors, z0 = z1 + (0 - T1)(z2 - z1)/(T2 - T1)
    (the reckoning of frost depth from temperatures at 5 to 100 cm, Contributions to Geophysics
    and Geodesy, Pohorelice 1971-2000, where frost tubes often read deeper). Soil above a frozen
    first sensor counts as frozen to the surface. Below a frozen last sensor nothing is known,
    so that zone's bottom, the last sensor's depth, is a lower bound.
    Thaw from above and below shows as a zone with a top below the surface.

    Parameters
    ----------
    daily : Daily
        ``temp_c`` (D, k) daily means, degrees C; sensors without one are passed over.
    freezing_c : float
        The isotherm, degrees C: colder than this is frozen.

    Returns
    -------
    DataFrame
        Columns site, date (datetime64), top_cm, bottom_cm: a row a day and frozen zone.
    """
    below = daily.temp_c - freezing_c
    rows = [
        (day, top, bottom)
        for day in np.flatnonzero((below <= 0).any(axis=1))
        for top, bottom in _zones(below[day], daily.depths_cm)
    ]
    which = np.array([row[0] for row in rows], np.intp)
    return pd.DataFrame(
        {
            "site": pd.Series([daily.site] * len(rows), dtype="str"),
            "date": daily.days[which].astype("datetime64[us]"),
            "top_cm": np.array([row[1] for row in rows], np.float64),
            "bottom_cm": np.array([row[2] for row in rows], np.float64),
        },
        columns=list(COLUMNS),
    )


def _zones(temp_c: Floats, depths_cm: Floats) -> list[tuple[float, float]]:
    """Walk down one day's sensors; a zone opens and closes where the line crosses zero."""
    have = np.isfinite(temp_c)
    t, z = temp_c[have], depths_cm[have]
    cold = t <= 0
    edges = [0.0] if cold[0] else []
    edges += [
        float(z[i] + (0.0 - t[i]) * (z[i + 1] - z[i]) / (t[i + 1] - t[i]))
        for i in np.flatnonzero(cold[1:] != cold[:-1])
    ]
    if cold[-1]:
        edges.append(float(z[-1]))
    return [(top, end) for top, end in zip(edges[::2], edges[1::2], strict=True) if end > top]
