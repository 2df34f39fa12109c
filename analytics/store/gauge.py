"""A logger's own weather: kept reading by reading, so that no part of a day is lost.

A day's rain is a sum. Where one delivery ends at noon and the next begins there, neither holds
the day; only all the readings known of it do.
"""

import duckdb
import pandas as pd
import pyarrow as pa

from analytics.intake.weather import by_day, days_on
from analytics.store import statements

_AROUND = pd.Timedelta(days=2)


def days_of(db: duckdb.DuckDBPyConnection, arriving: pd.DataFrame) -> pd.DataFrame:
    """Keep readings, and give the days that they touch, each made of all that is known of it.

    Parameters
    ----------
    db : DuckDBPyConnection
        Open to write.
    arriving : DataFrame
        Columns ``model.GAUGE``: station, time (UTC), quantity, value in the units inside.

    Returns
    -------
    DataFrame
        Rows of the ``weather`` table.
    """
    db.register("arriving", pa.Table.from_pandas(arriving, preserve_index=False))
    statements.execute(db, "merge_gauge")
    db.unregister("arriving")
    zones = {str(site): str(zone) for site, zone in statements.execute(db, "newest_zones")}
    parts = [
        _touched(db, str(station), zones[str(station)], rows["time"])
        for station, rows in arriving.groupby("station")
    ]
    return pd.concat(parts, ignore_index=True)


def _touched(
    db: duckdb.DuckDBPyConnection, station: str, zone: str, times: pd.Series
) -> pd.DataFrame:
    known = statements.rows(
        db, "gauge_between", station=station, since=times.min() - _AROUND,
        until=times.max() + _AROUND,
    )  # fmt: skip
    wide = known.pivot_table(index="time", columns="quantity", values="value", aggfunc="last")
    utc = pd.DatetimeIndex(wide.index).tz_localize(None).to_numpy("datetime64[us]")
    days = by_day(station, zone, utc, {str(name): wide[name].to_numpy() for name in wide})
    touched = days_on(times.dt.tz_localize(None).to_numpy("datetime64[us]"), zone)
    return days[days["date"].isin(touched)].reset_index(drop=True)
