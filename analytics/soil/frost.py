"""How deep the soil is frozen, day by day and winter by winter."""

import numpy as np
import pandas as pd

from analytics.model import Daily, Floats
from analytics.settings import Settings

COLUMNS = ("site", "date", "top_cm", "bottom_cm")


def frost_zones(
    daily: Daily,
    air_c: Floats | None = None,
    *,
    freezing_c: float = 0.0,
    curtain_c: float = 0.0,
) -> pd.DataFrame:
    """Find each day's frozen zones between the isotherms.

    The isotherm is interpolated linearly between sensors, z0 = z1 + (0 - T1)(z2 - z1)/(T2 - T1)
    (the reckoning of frost depth from temperatures at 5 to 100 cm, Contributions to Geophysics
    and Geodesy, Pohorelice 1971-2000, where frost tubes often read deeper). Soil above a frozen
    first sensor counts as frozen to the surface, unless the air is known to be warmer than the
    isotherm: then the line from the air to the sensor tells how far it has thawed from above.
    Cold air over an unfrozen first sensor makes no zone: a night's crust is not frozen ground.
    Below a frozen last sensor nothing is known, so that zone's bottom, the last sensor's depth,
    is a lower bound. Thaw from above and below shows as a zone with a top below the surface.

    A layer whose water is still held for frost has not thawed while it stands within
    ``curtain_c`` above the isotherm (zero curtain; Outcalt, Nelson & Hinkel 1990): it counts as
    far below the isotherm as it reads above it.

    Parameters
    ----------
    daily : Daily
        ``temp_c`` (D, k) daily means, degrees C; sensors without one are passed over.
    air_c : (D,) float, optional
        Mean air temperature of the same days, degrees C, NaN where unknown.
    freezing_c : float
        The isotherm, degrees C: colder than this is frozen.
    curtain_c : float
        Half width of the zero curtain, K; 0 leaves it out.

    Returns
    -------
    DataFrame
        Columns site, date (datetime64), top_cm, bottom_cm: a row a day and frozen zone.
    """
    below = daily.temp_c - freezing_c
    icy = (daily.frozen | daily.held) & (below > 0) & (below <= curtain_c)
    below = np.where(icy, -below, below)
    air = np.full(len(below), np.nan) if air_c is None else air_c - freezing_c
    rows = [
        (day, top, bottom)
        for day in np.flatnonzero((below <= 0).any(axis=1))
        for top, bottom in _zones(below[day], daily.depths_cm, float(air[day]))
    ]
    which = np.array([row[0] for row in rows], np.intp)
    return pd.DataFrame(
        {
            "site": pd.array([daily.site] * len(rows), dtype="str"),
            "date": daily.days[which].astype("datetime64[us]"),
            "top_cm": np.array([row[1] for row in rows], np.float64),
            "bottom_cm": np.array([row[2] for row in rows], np.float64),
        },
        columns=list(COLUMNS),
    )


def frost_told(daily: Daily, weather: pd.DataFrame, settings: Settings) -> pd.DataFrame:
    """Find each day's frozen zones by a store's thresholds and its station's air.

    Parameters
    ----------
    daily : Daily
    weather : DataFrame
        As ``air_of`` takes it.
    settings : Settings
        Uses frozen_c, zero_curtain_c.
    """
    return frost_zones(
        daily, air_of(daily, weather), freezing_c=settings.frozen_c,
        curtain_c=settings.zero_curtain_c,
    )  # fmt: skip


def air_of(daily: Daily, weather: pd.DataFrame) -> Floats:
    """Give the mean of the day's extremes of air temperature for each day of a record.

    Parameters
    ----------
    daily : Daily
        D days.
    weather : DataFrame
        Columns date, tmin_c, tmax_c, degrees C; may be empty.

    Returns
    -------
    (D,) float
        NaN on days without both.
    """
    air = np.full(len(daily.days), np.nan)
    if not len(weather) or not len(air):
        return air
    at = (weather["date"].to_numpy().astype("datetime64[D]") - daily.days[0]).astype(np.int64)
    mean = (weather["tmin_c"].to_numpy(float) + weather["tmax_c"].to_numpy(float)) / 2.0
    inside = (at >= 0) & (at < len(air))
    air[at[inside]] = mean[inside]
    return air


def winters_frost(frost: pd.DataFrame, month: int) -> pd.DataFrame:
    """Sum up each winter's frost, from one summer to the next, so that none is cut in two.

    Parameters
    ----------
    frost : DataFrame
        As `frost_zones` gives it; several sites may stand in it.
    month : int
        In which one winter and the next are parted.

    Returns
    -------
    DataFrame
        Columns site, winter (the year in which its twelve months began), deepest_cm,
        deepest_on, days, first, last: a row a site and winter with frost. ``deepest_cm`` is a
        lower bound where the last sensor froze.
    """
    winter = frost["date"].dt.year - (frost["date"].dt.month < month)
    own = frost.assign(winter=winter.astype("int64"))
    deepest = own.sort_values("bottom_cm", kind="stable").groupby(["site", "winter"]).tail(1)
    deepest = deepest.set_index(["site", "winter"])[["bottom_cm", "date"]]
    days = own.groupby(["site", "winter"])["date"].agg(days="nunique", first="min", last="max")
    both = days.join(deepest).reset_index()
    both = both.rename(columns={"bottom_cm": "deepest_cm", "date": "deepest_on"})
    return both[["site", "winter", "deepest_cm", "deepest_on", "days", "first", "last"]]


def _zones(temp_c: Floats, depths_cm: Floats, air_c: float) -> list[tuple[float, float]]:
    """Walk down one day's sensors; a zone opens and closes where the line crosses zero."""
    have = np.isfinite(temp_c)
    t, z = temp_c[have], depths_cm[have]
    cold = t <= 0
    edges = [_top(float(t[0]), float(z[0]), air_c)] if cold[0] else []
    edges += [
        float(z[i] + (0.0 - t[i]) * (z[i + 1] - z[i]) / (t[i + 1] - t[i]))
        for i in np.flatnonzero(cold[1:] != cold[:-1])
    ]
    if cold[-1]:
        edges.append(float(z[-1]))
    return [(top, end) for top, end in zip(edges[::2], edges[1::2], strict=True) if end > top]


def _top(temp_c: float, depth_cm: float, air_c: float) -> float:
    """Depth to which soil above a frozen first sensor has thawed under warm air, cm."""
    return depth_cm * air_c / (air_c - temp_c) if air_c > 0 else 0.0
