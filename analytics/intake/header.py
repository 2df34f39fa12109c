"""What the name of a logger's column says: quantity, depth and unit.

Two public networks name their columns in a fixed way (USDA-NRCS SCAN element codes, NOAA USCRN
daily01 names); other loggers are read by the words of the trade in the name.
"""

import re
from dataclasses import dataclass, replace
from functools import lru_cache

from analytics.units import CM_PER_FOOT, CM_PER_INCH

CM = {"cm": 1.0, "mm": 0.1, "m": 100.0, "in": CM_PER_INCH, "ft": CM_PER_FOOT}
SPELLINGS = {"inch": "in", "inches": "in", "feet": "ft", "foot": "ft", '"': "in", "'": "ft"}
DEPTH = re.compile(
    r"(\d+(?:\.\d+)?)[\s_]*(cm|mm|inches|inch|in|feet|foot|ft|m|\"|')?(?![a-z\d])"
)
BRACKETS = re.compile(r"[\[(]([^\])]*)[\])]")
VOLUMES = re.compile(r"c?m\^?3\s*[/_ ]?\s*c?m\^?-?3")

TIME_NAMES = (
    "time",
    "timestamp",
    "datetime",
    "date_time",
    "date time",
    "date",
    "lst_date",
    "day",
)
SITE_NAMES = ("site", "site_id", "probe", "probe_id", "station", "wban", "wbanno", "logger")
DATE_PARTS = ("year", "month", "day")

MOISTURE = {"vwc", "moisture", "moist", "sm", "swc", "theta", "sms"}
TEMPERATURE = {"temp", "temperature", "tsoil", "soiltemp", "st", "t"}
RAIN = {"rain", "rainfall", "precip", "precipitation", "prcp", "ppt"}
ELSEWHERE = {"soil", "battery", "panel", "logger", "board", "sur", "surface", "ir", "canopy"}
LOW, HIGH = {"tmin", "min", "minimum", "low"}, {"tmax", "max", "maximum", "high"}

PERCENT = {"%", "pct", "percent", "vol%", "% vol", "%vol", "percentage", "vol.%", "vol. %"}
FRACTION = {"m3/m3", "frac", "fraction", "v/v", "m3m3"}
UNITS = {
    "vwc": dict.fromkeys(PERCENT, "percent") | dict.fromkeys(FRACTION, "fraction")
    | dict.fromkeys(("in/ft", "inches/foot", "inches per foot"), "in/ft")
    | dict.fromkeys(("permittivity", "dielectric", "ka"), "permittivity")
    | dict.fromkeys(("raw", "count", "counts", "mv"), "raw"),
    "temp": dict.fromkeys(("f", "degf", "deg f", "fahrenheit"), "F")
    | dict.fromkeys(("c", "degc", "deg c", "celsius"), "C"),
    "water": {"mm": "mm", "cm": "cm", "in": "in", "inch": "in", "inches": "in"},
}  # fmt: skip
SHARES = ("percent", "fraction")
BARE = "taken as soil moisture, for the name is only a depth"
FAMILY = {"vwc": "vwc", "rain": "water"}

# name, quantity, unit, unit of the depth, where the names are laid down
FIXED = (
    (r"sms:\d+:-?(?P<depth>\d+)", "vwc", "percent", "in", "SCAN element"),
    (r"sto:\d+:-?(?P<depth>\d+)", "soil_temp", "F", "in", "SCAN element"),
    (r"tmax:\d+:", "tmax", "F", "", "SCAN element"),
    (r"tmin:\d+:", "tmin", "F", "", "SCAN element"),
    (r"prcp:\d+:", "rain", "in", "", "SCAN element"),
    (r"soil_moisture_(?P<depth>\d+)_daily", "vwc", "fraction", "cm", "USCRN name"),
    (r"soil_temp_(?P<depth>\d+)_daily", "soil_temp", "C", "cm", "USCRN name"),
    (r"t_daily_max", "tmax", "C", "", "USCRN name"),
    (r"t_daily_min", "tmin", "C", "", "USCRN name"),
    (r"p_daily_calc", "rain", "mm", "", "USCRN name"),
    (r"solarad_daily", "solar", "MJ/m2", "", "USCRN name"),
    (r"rh_daily_max", "rh_max", "percent", "", "USCRN name"),
    (r"rh_daily_min", "rh_min", "percent", "", "USCRN name"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Meaning:
    """What a column's name says; ``unit`` is None where it says none.

    ``bare`` names say a depth and nothing else: what is measured there is a guess.
    """

    quantity: str
    depth_cm: float | None
    unit: str | None
    why: str
    bare: bool = False


def unit_word(cell: str) -> str | None:
    """Read a cell that says nothing but a unit; None where it is none."""
    said = _plain(cell).strip("[]() ")
    if VOLUMES.fullmatch(said):
        return "m3/m3"
    return said if any(said in family for family in UNITS.values()) else None


def meaning_under(name: str, unit: str) -> Meaning | None:
    """Read a column's name together with the cell of the units row beneath it."""
    read = meaning(name)
    if read is None or read.unit is not None or unit_word(unit) is None:
        return read
    more = meaning(f"{name} [{unit.strip('[]() ')}]")
    if more is None:  # a bare depth over a unit that is none of moisture
        return None
    if more.unit is None:
        return read
    return replace(more, why=more.why.replace("unit in the name", "unit in the row beneath"))


def _plain(said: str) -> str:
    return said.strip().lower().replace("³", "3").replace("°", "")


@lru_cache(maxsize=4096)  # loggers of a district name their columns alike
def meaning(name: str) -> Meaning | None:
    """Read a column's name; None where it names nothing we keep.

    Depths become centimetres exactly (1 in = 2.54 cm); their sign is not looked at.
    """
    said = _plain(name)
    for pattern, quantity, unit, depth_unit, source in FIXED:
        if found := re.fullmatch(pattern, said):
            depth = float(found["depth"]) * CM[depth_unit] if depth_unit else None
            return Meaning(quantity=quantity, depth_cm=depth, unit=unit, why=source)
    return _by_words(said)


def _by_words(said: str) -> Meaning | None:
    units, bare = _split_units(said)
    depth, rest, note = _depth(bare)
    words = re.findall(r"[a-z]+", rest)
    quantity = _quantity({*words}, rest, deep=depth is not None)
    if quantity is None:
        return _bare(units, rest, depth) if not note else None
    if quantity not in ("vwc", "soil_temp"):
        depth, note = None, ""
    family = UNITS[FAMILY.get(quantity, "temp")]
    unit = next((family[one] for one in (*units, *reversed(words)) if one in family), None)
    read = Meaning(quantity=quantity, depth_cm=depth, unit=unit, why=note)
    why = "; ".join(filter(None, ["unit in the name" if unit else "", note]))
    return replace(read, why=why)


def _bare(units: list[str], rest: str, depth_cm: float | None) -> Meaning | None:
    """Read a name that is nothing but a depth with its unit, and maybe a share of volume."""
    said = {UNITS["vwc"].get(one) for one in units if one}
    if depth_cm is None or not re.fullmatch(r"[\s_.%-]*", rest) or not said <= {*SHARES}:
        return None
    unit = next(iter(said), None) if len(said) == 1 else None
    why = "; ".join(filter(None, ["unit in the name" if unit else "", BARE]))
    return Meaning(quantity="vwc", depth_cm=depth_cm, unit=unit, why=why, bare=True)


def _split_units(said: str) -> tuple[list[str], str]:
    """Take what stands in brackets for units, unless it starts with a number (a depth)."""
    units = []
    if VOLUMES.search(said):
        units.append("m3/m3")
        said = VOLUMES.sub(" ", said)
    for found in BRACKETS.finditer(said):
        if not re.match(r"\s*-?\d", found[1]):
            units.append(found[1].strip())
            said = said[: found.start()] + " " * len(found[0]) + said[found.end() :]
    if "%" in said:
        units.append("%")
    return units, said


def _depth(bare: str) -> tuple[float | None, str, str]:
    """Find the depth: the number with a unit of length, else the only number."""
    found = list(DEPTH.finditer(bare))
    measured = [one for one in found if one[2]]
    chosen = measured or (found if len(found) == 1 else [])
    if not chosen:
        return None, bare, ""
    first = chosen[0]
    unit = SPELLINGS.get(first[2], first[2]) if first[2] else "cm"
    note = "" if first[2] else "depth taken as cm"
    rest = bare[: first.start()] + " " + bare[first.end() :]
    return float(first[1]) * CM[unit], rest, note


def _quantity(words: set[str], rest: str, *, deep: bool) -> str | None:
    if deep and (words & MOISTURE or "water content" in rest):
        return "vwc"
    if deep and words & TEMPERATURE and "air" not in words:
        return "soil_temp"
    return None if deep and "air" not in words else _weather(words)


def _weather(words: set[str]) -> str | None:
    if words & RAIN:
        return "rain"
    warm = words & TEMPERATURE and not words & ELSEWHERE
    for ends, quantity in ((LOW, "tmin"), (HIGH, "tmax")):
        if quantity in words or (warm and words & ends):
            return quantity
    return "air_temp" if warm and "air" in words else None
