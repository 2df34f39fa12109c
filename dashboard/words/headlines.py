"""Headlines of a field, each with its evidence, as phrases."""

from collections.abc import Callable, Mapping
from typing import Any

from analytics.units import DEPTH, WATER, System, convert, text
from dashboard.words.measures import as_day, is_short, month_text, percent

Item = Mapping[str, Any]


def _number(item: Item, key: str) -> float | None:
    value = item.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if value == value else None  # noqa: PLR0124 - NaN


def _depths(item: Item) -> list[float]:
    depths = item.get("depths_cm")
    if not isinstance(depths, list | tuple):
        depths = [item.get("depth_cm")]
    return sorted(float(one) for one in depths if isinstance(one, int | float))


def _sensors(item: Item, system: System) -> str:
    """Say which sensors: "at 48 in", "at 36 to 48 in", or nothing."""
    depths = [convert(one, DEPTH, system) for one in _depths(item)]
    if not depths:
        return ""
    unit = DEPTH.shown(system).unit
    first, last = f"{depths[0]:.0f}", f"{depths[-1]:.0f}"
    return f" at {last} {unit}" if first == last else f" at {first} to {last} {unit}"


def _short_tail(item: Item, system: System) -> str:
    short = _number(item, "short_mm")
    return f": {text(short, WATER, system)} short" if is_short(short, system) else ""


def _wet_on_top(item: Item, system: System) -> str:
    return f"Wet on top, dry beneath{_short_tail(item, system)}"


def _stood(item: Item) -> bool:
    """Tell whether the crop that took most stood when the layers were last full.

    A later one in brackets behind that month would read as the crop of that month.
    """
    planted, since = as_day(item.get("planted_on")), as_day(item.get("since"))
    return planted is not None and since is not None and planted <= since


def _not_refilled(item: Item, system: System) -> str:
    crop = f" ({item['crop']})" if _stood(item) else ""
    since = month_text(item.get("since"))
    when = " on this record" if since == "—" else f" since {since}{crop}"
    return f"Deep layers not refilled{when}{_short_tail(item, system)}"


def _draining(item: Item, system: System) -> str:
    fell = _number(item, "fell_mm")
    if not is_short(fell, system):
        return "Draining below the probe"
    days = _number(item, "days")
    within = "" if days is None else f" in {days:.0f} days"
    return f"Draining below the probe: bottom layer down {text(fell, WATER, system)}{within}"


def _never_full(item: Item, system: System) -> str:
    return f"Not yet seen full{_sensors(item, system) or ' at depth'}"


def _held(item: Item, system: System) -> str:
    bottom = _number(item, "bottom_cm")
    until = "" if bottom is None else f" to {text(bottom, DEPTH, system)}"
    return f"Frozen{until}: held values"


def _settling(item: Item, system: System) -> str:
    where = "" if item.get("whole") else _sensors(item, system)
    return f"Settling in its hole{where}"


def _stale(item: Item, system: System) -> str:
    days = _number(item, "days")
    many = len(_depths(item)) > 1
    if item.get("whole") or not _depths(item):
        who = "Probe"
    else:
        who = f"{'Sensors' if many else 'Sensor'}{_sensors(item, system)}"
    if days is None:
        return f"{who} silent"
    return f"{who} silent {days:.0f} {'day' if round(days) == 1 else 'days'}"


def _unsure(item: Item, system: System) -> str:
    del system
    share = _number(item, "share")
    if share is None:
        return "Deep full points unsure"
    return f"Full points unsure for {percent(share)} of the deep soil"


_HEADLINES: dict[str, Callable[[Item, System], str]] = {
    "wet_on_top_dry_beneath": _wet_on_top,
    "deep_not_refilled": _not_refilled,
    "draining_below": _draining,
    "not_yet_seen_full": _never_full,
    "frozen_held": _held,
    "settling": _settling,
    "stale": _stale,
    "points_unsure": _unsure,
}


def headline_sentence(item: Item, system: System) -> str:
    """Write one headline with its evidence.

    Parameters
    ----------
    item : mapping
        ``code`` and the evidence that ``analytics.water.headlines`` gives with it (inside
        units, ISO dates). Evidence that is missing is left out of the phrase.
    system : {"in", "mm"}
        Units to write in.

    Returns
    -------
    str
        A phrase without a full stop; an unknown code is written out in words.
    """
    code = str(item.get("code", ""))
    write = _HEADLINES.get(code)
    return code.replace("_", " ").capitalize() if write is None else write(item, system)
