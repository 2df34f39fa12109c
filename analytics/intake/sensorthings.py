"""Readings from an OGC SensorThings service (OGC 18-088, version 1.1, Sensing part).

A mapping says which Datastream is which sensor::

    {"datastreams": [
      {"datastream": "vwc north 30", "site": "N1", "depth_cm": 30, "quantity": "vwc",
       "unit": "percent"}]}

``datastream`` is its name or ``@iot.id``; ``unit`` may be left out where the service says it
as a UCUM code. Observations are asked for in order of ``phenomenonTime``, page after page along
``@iot.nextLink``. The cursor keeps, for each Datastream, the newest ``phenomenonTime`` and
``resultTime`` that were taken; the next pull asks for what is newer in either, so that readings
of an earlier time which reached the service late are fetched too.
"""

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any
from urllib.parse import quote, urlencode, urljoin, urlsplit

import numpy as np
import pandas as pd

from analytics.errors import InputRefused
from analytics.intake.known import Known
from analytics.intake.quantities import DEEPEST_CM, KINDS, SOIL
from analytics.intake.records import Gathered, from_long, together
from analytics.intake.sift import COLUMNS
from analytics.intake.stamps import EARLIEST, LATEST
from analytics.intake.taken import groups
from analytics.intake.web import SCHEMES, get_json
from analytics.model import Delivery, Floats

PAGE = 1000
MOST_PAGES = 1000  # a Datastream: a million observations a pull
UCUM = {
    "%": "percent", "m3/m3": "fraction", "m3.m-3": "fraction", "1": "fraction",
    "cm3/cm3": "fraction", "Cel": "C", "[degF]": "F", "°C": "C", "°F": "F",
}  # fmt: skip
Cursor = dict[str, dict[str, str]]
Rows = list[dict[str, Any]]


def pull(
    base_url: str, known: Known, cursor: Cursor | None = None, *, mapping: Mapping[str, Any]
) -> tuple[Delivery, Cursor]:
    """Fetch what a service has that the last pull did not.

    Parameters
    ----------
    base_url : str
        The service's root, such as ``https://host/v1.1``; no other host is asked.
    known : Known
    cursor : dict, optional
        What the last pull gave back; None fetches all.
    mapping : mapping
        Which Datastream is which sensor.

    Returns
    -------
    delivery : Delivery
        Long readings; ``rows_in`` counts observations, rejects name them by their number.
    cursor : dict
        To be kept once the delivery has been taken.

    Raises
    ------
    InputRefused
        When the mapping does not fit, or the service fails: then nothing was taken.
    """
    base = base_url.rstrip("/") + "/"
    if urlsplit(base).scheme not in SCHEMES:
        found = "this is not an address of the web (http or https)."
        raise InputRefused(
            base_url, found, "Give the service's root, such as https://host/v1.1."
        )
    sensors = _sensors(mapping, known)
    streams = _matched(base, sensors)
    cursor = dict(cursor or {})
    rows: Rows = []
    notes: list[str] = []
    for sensor, stream in zip(sensors, streams, strict=True):
        key, unit = str(stream["@iot.id"]), _unit(base, sensor, stream)
        found, more = _observations(base, stream, cursor.get(key, {}))
        rows += [{**one, **sensor, "unit": unit} for one in found]
        notes += [f"{sensor['datastream']}: more is waiting; pull again."] if more else []
        cursor[key] = _moved(cursor.get(key, {}), found)
    return _delivery(base, rows, notes), cursor


def _sensors(mapping: Mapping[str, Any], known: Known) -> Rows:
    listed = mapping.get("datastreams")
    if not isinstance(listed, list) or not listed:
        remedy = 'Write {"datastreams": [{"datastream": NAME, "site": ID, "depth_cm": 30, '
        remedy += '"quantity": "vwc"}]}.'
        where = "mapping"
        raise InputRefused(where, "it lists no datastreams.", remedy)
    for one in listed:
        found, remedy = _sensor_fault(one, known)
        if found:
            named = one.get("datastream") if isinstance(one, dict) else one
            place = f"mapping, datastream {named!r}"
            raise InputRefused(place, found, remedy)
    return [{**one, "datastream": str(one["datastream"])} for one in listed]


def _sensor_fault(one: Any, known: Known) -> tuple[str, str]:
    if not isinstance(one, dict) or "datastream" not in one:
        return "it does not name a datastream.", 'Write "datastream": NAME or id.'
    if one.get("site") not in known.sites:
        return f"there is no site {one.get('site')!r}.", "Import the sites first."
    if one.get("quantity") not in SOIL:
        return f"there is no quantity {one.get('quantity')!r}.", f"Use {' or '.join(SOIL)}."
    if "unit" in one and one["unit"] not in KINDS[one["quantity"]].units:
        some = ", ".join(KINDS[one["quantity"]].units)
        return f"{one['unit']!r} is no unit of it.", f"Use one of: {some}."
    depth = one.get("depth_cm")
    if not isinstance(depth, int | float) or not 0 <= depth <= DEEPEST_CM:
        return f"depth_cm is {depth!r}.", "Give the sensor's depth in cm, such as 30."
    return "", ""


def _matched(base: str, sensors: Rows) -> Rows:
    """Find each sensor's Datastream by its id or its name."""
    asked = {"$select": "@iot.id,name,unitOfMeasurement", "$top": str(PAGE)}
    streams = [one for page in _pages(base, "Datastreams", asked) for one in page]
    found = []
    for sensor in sensors:
        said = sensor["datastream"]
        fits = [one for one in streams if said in (str(one.get("@iot.id")), one.get("name"))]
        if len(fits) != 1:
            names = ", ".join(str(one.get("name")) for one in streams[:5]) or "none"
            many = "more than one" if fits else "no"
            where = f"{urlsplit(base).netloc}, datastream {said!r}"
            raise InputRefused(
                where, f"the service has {many} such ({names}).", "Use its @iot.id."
            )
        found.append(fits[0])
    return found


def _unit(base: str, sensor: Mapping[str, Any], stream: Mapping[str, Any]) -> str:
    if "unit" in sensor:
        return sensor["unit"]
    measured = stream.get("unitOfMeasurement") or {}
    said = [str(measured.get(key, "")) for key in ("definition", "symbol")]
    codes = [one.removeprefix("ucum:").rsplit("/UCUM/", 1)[-1] for one in said]
    unit = next((UCUM[one] for one in codes if one in UCUM), None)
    if unit not in KINDS[sensor["quantity"]].units:
        where = f"{urlsplit(base).netloc}, datastream {sensor['datastream']!r}"
        found = f"its unit is not known here ({' '.join(said)})."
        raise InputRefused(where, found, 'Say it in the mapping, such as "unit": "percent".')
    return str(unit)


def _observations(
    base: str, stream: Mapping[str, Any], since: Mapping[str, str]
) -> tuple[Rows, bool]:
    """Fetch a Datastream's observations after a cursor; tell whether more are waiting."""
    key = stream["@iot.id"]
    shown = str(key) if isinstance(key, int) else "'" + quote(str(key), safe="") + "'"
    asked = {
        "$orderby": "phenomenonTime asc",
        "$select": "phenomenonTime,resultTime,result",
        "$top": str(PAGE),
    }
    terms = [f"{name} gt {moment}" for name, moment in since.items()]
    asked |= {"$filter": " or ".join(terms)} if terms else {}
    rows: Rows = []
    for count, page in enumerate(_pages(base, f"Datastreams({shown})/Observations", asked), 1):
        rows += page
        if count == MOST_PAGES:
            return rows, True
    return rows, False


def _pages(base: str, path: str, asked: Mapping[str, str]) -> Iterator[Rows]:
    host = urlsplit(base).netloc
    url = f"{base}{path}?{urlencode(asked, quote_via=quote, safe='$,')}"
    seen: set[str] = set()
    while url:
        if url in seen:
            found = "its pages lead round in a circle."
            raise InputRefused(host, found, "Tell its keeper; nothing was taken.")
        seen.add(url)
        answer = get_json(url, host)
        page = answer.get("value")
        if not isinstance(page, list) or not all(isinstance(one, dict) for one in page):
            found = "the answer is not a page of SensorThings (it has no list 'value')."
            raise InputRefused(host, found, "Check that the address is the service's root.")
        yield page
        onward = str(answer.get("@iot.nextLink") or "")
        url = urljoin(url, onward) if onward else ""


def _moment(said: object) -> np.datetime64 | None:
    """Read a phenomenonTime; of an interval, its end: the reading stands when it is over."""
    text = str(said).rsplit("/", 1)[-1]
    moment = pd.to_datetime(text, utc=True, errors="coerce", format="ISO8601")
    if pd.isna(moment):
        return None
    plain = moment.tz_localize(None).to_datetime64().astype("datetime64[us]")
    return plain if EARLIEST <= plain < LATEST else None


def _moved(before: Mapping[str, str], rows: Rows) -> dict[str, str]:
    """Move a cursor to the newest times that were seen."""
    after = dict(before)
    for name in ("phenomenonTime", "resultTime"):
        seen = [one for row in rows if (one := _moment(row.get(name))) is not None]
        if seen:
            newest = f"{np.datetime_as_string(max(seen), unit='us')}Z"
            after[name] = max(newest, before.get(name, ""))
    return after


def _delivery(base: str, rows: Rows, notes: Sequence[str]) -> Delivery:
    kept, rejects = [], []
    for number, row in enumerate(rows, start=1):
        moment, value, reason = _read(row)
        if reason:
            rejects.append((number, row["datastream"], str(row.get("result")), reason))
        else:
            kept.append((row["site"], moment, row["depth_cm"], row["quantity"], value))
    made = _gathered(kept)
    said = json.dumps([base, rows], sort_keys=True, default=str)
    return Delivery(
        path=base,
        kind="readings",
        sha256=hashlib.sha256(said.encode()).hexdigest(),
        readings=tuple(one.record for one in made),
        rejects=pd.DataFrame(rejects, columns=pd.Index(COLUMNS)),
        notes=tuple(notes),
        rows_in=len(rows),
        **together(made),
    )


def _read(row: Mapping[str, Any]) -> tuple[np.datetime64 | None, float, str]:
    moment = _moment(row.get("phenomenonTime"))
    if moment is None:
        return None, np.nan, "not a date or time of the calendar"
    try:
        value = np.nan if row.get("result") is None else float(row["result"])
    except (TypeError, ValueError):
        return moment, np.nan, "not a finite number"
    if np.isinf(value):
        return moment, np.nan, "not a finite number"
    unit = KINDS[row["quantity"]].units[row["unit"]]
    return moment, float(unit(np.array([value]))[0]), ""


def _gathered(kept: Sequence[tuple[str, Any, float, str, float]]) -> list[Gathered]:
    """Gather readings by site; moisture and temperature of one sensor meet in one row."""
    sites = sorted({one[0] for one in kept})
    code = np.array([sites.index(one[0]) for one in kept], dtype=np.int64)
    times = np.array([one[1] for one in kept], dtype="datetime64[us]")
    depths = np.array([one[2] for one in kept], dtype=np.float64)
    is_vwc = np.array([one[3] == "vwc" for one in kept], dtype=bool)
    values: Floats = np.array([one[4] for one in kept], dtype=np.float64)
    theta, temp = np.where(is_vwc, values, np.nan), np.where(is_vwc, np.nan, values)
    return [
        from_long(sites[site], times[rows], depths[rows], theta[rows], temp[rows])
        for site, rows in groups(code).items()
    ]
