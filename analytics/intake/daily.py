"""Daily weather of stations in layouts that are not our own table: NOAA's, or any with names.

The columns are read as a logger's are (``header.meaning``); the station is a column named for
it, else the file's name. Where the file says where a station stands, it brings that too.
"""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from analytics.contract import TABLES
from analytics.errors import InputRefused
from analytics.intake import sheet as sheets
from analytics.intake.cells import numbers, texts
from analytics.intake.guess import guess_mapping
from analytics.intake.header import SITE_NAMES, meaning
from analytics.intake.known import Known
from analytics.intake.logger import read_logger
from analytics.intake.look import Seen
from analytics.intake.quantities import SOIL
from analytics.intake.taken import Taken
from analytics.intake.whose import named

PLACE = {
    "latitude": ("latitude", "lat"),
    "longitude": ("longitude", "lon", "long"),
    "elevation_m": ("elevation_m",),
}


def is_weather(columns: tuple[str, ...]) -> bool:
    """Tell whether a header names weather and no soil."""
    read = [one for name in columns if (one := meaning(name)) is not None]
    return bool(read) and all(one.quantity not in SOIL for one in read)


def read_weather(
    seen: Seen, known: Known, hints: Mapping[str, Any] | None
) -> tuple[Taken, pd.DataFrame, dict[str, Any]]:
    """Read daily weather.

    Parameters
    ----------
    seen : Seen
    known : Known
        A station that is also a site lends its timezone to times of the day.
    hints : mapping, optional
        A mapping or parts of one; ``site`` says the station.

    Returns
    -------
    taken : Taken
        Its ``weather`` has the columns of the table, its records are empty.
    stations : DataFrame
        Of stations whose place the file says; else empty.
    mapping : dict
        What was used.

    Raises
    ------
    InputRefused
        When there is no weather in the file, or times of the day without a timezone.
    """
    site = (hints or {}).get("site") or _station_rule(seen)
    mapping = dict(hints) if hints and "columns" in hints else _guess(seen, known, hints, site)
    mapping["columns"] = [one for one in mapping["columns"] if one["quantity"] not in SOIL]
    if not mapping["columns"]:
        found = "no column is weather of a day."
        raise InputRefused(seen.name, found, "Give a table with tmin, tmax and rain by day.")
    ids = _ids(seen, mapping["site"])
    zones = {one: known.sites.get(one, "UTC") for one in ids}
    taken = read_logger(seen, Known(sites=zones), mapping)
    _check_daily(seen, taken, known, ids)
    return taken, _stations(seen, mapping["site"], ids), mapping


def _guess(
    seen: Seen, known: Known, hints: Mapping[str, Any] | None, site: Mapping[str, Any]
) -> dict[str, Any]:
    decided = {**(hints or {}), "site": dict(site)}
    rows, units = sheets.sample(seen), seen.layout.units
    return guess_mapping(seen.columns, rows, seen.name, known, units=units, hints=decided)


def _station_rule(seen: Seen) -> dict[str, str]:
    hits = [one for one in seen.columns if one.lower() in SITE_NAMES]
    return {"column": hits[0]} if hits else {"value": seen.name.split(".")[0]}


def _ids(seen: Seen, rule: Mapping[str, Any]) -> list[str]:
    if not named(rule):
        return [str(rule.get("value", seen.name.split(".")[0]))]
    found = texts(sheets.whole(seen, named(rule)).table.column(named(rule)[0]))
    return sorted({one for one in found.to_pylist() if one})


def _check_daily(seen: Seen, taken: Taken, known: Known, ids: list[str]) -> None:
    """Refuse readings within the day of a station whose timezone is not known."""
    weather = pd.DataFrame() if taken.weather is None else taken.weather
    many = taken.rows_in - len(taken.rejects) > 2 * max(len(weather), 1)
    if many and not set(ids) <= set(known.sites):
        found = "it holds several rows a day, and no timezone says when its days begin."
        raise InputRefused(
            seen.name, found, "Export it by day, or give the file a site's name and no more."
        )


def _stations(seen: Seen, rule: Mapping[str, Any], ids: list[str]) -> pd.DataFrame:
    """Give the place of each station, as its last row says it."""
    lower = {one.lower(): one for one in seen.columns}
    there = {
        column: next((lower[one] for one in names if one in lower), None)
        for column, names in PLACE.items()
    }
    if not there["latitude"] or not there["longitude"]:
        return pd.DataFrame()
    wanted = tuple(dict.fromkeys([*named(rule)[:1], *filter(None, there.values())]))
    table = sheets.whole(seen, wanted).table
    whose = texts(table.column(named(rule)[0])).to_pylist() if named(rule) else ids[0]
    frame = pd.DataFrame(
        {"station": pd.Series(whose, index=range(table.num_rows), dtype="str")}
    )
    for column, name in there.items():
        frame[column] = numbers(table.column(name))[0] if name else np.nan
    sound = frame.dropna(subset=["station", "latitude", "longitude"])
    return sound.drop_duplicates("station", keep="last")[list(TABLES["stations"].names)]
