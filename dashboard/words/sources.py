"""What each water source can and cannot do: how late, what of it is spent, what would help."""

from collections.abc import Mapping
from datetime import date
from typing import Any

import pandas as pd

from analytics.units import FLOW, WATER, System, text
from dashboard.words.measures import as_day, counted, day_text, percent
from dashboard.words.order import NAMED, long_day


def slack(source: Mapping[Any, Any], planned: object) -> str:
    """Say how much later than planned a source's queue may begin.

    Parameters
    ----------
    source : mapping
        A row of ``order_sources`` with its ``name``.
    planned : date-like
        The source's first day of watering in the plan.
    """
    name, day, first = source["name"], as_day(source["begin_by"]), as_day(planned)
    if day is None or first is None:
        return f"{name} has nothing to put on."
    days = (day - first).days
    if days <= 0:
        return f"{name} may not begin later than {long_day(first)}, or more stays unfilled."
    later = f"{counted(days, 'day')} later, on {long_day(day)},"
    return f"{name} may begin {later} before more stays unfilled."


def standing_words(stand: Mapping[str, int]) -> str:
    """Say that crops stand on fields of the same sources; ``stand`` counts them by source."""
    if not stand:
        return ""
    whose = (
        f"{sum(stand.values())} fields of {len(stand)} of these sources" if len(stand) > NAMED
        else ", ".join(f"{counted(each, 'field')} of {name}" for name, each in stand.items())
    )  # fmt: skip
    return (
        f"Crops stand on {whose}. What they want meanwhile is not taken off this order: see "
        "the Season page before water goes to bare ground."
    )


def spent_words(spent: Mapping[str, float], since: date) -> str:
    """Say what of each source's allocation was spent before; of many the least and the most.

    Parameters
    ----------
    spent : mapping of str to float
        Share by name; NaN without an allocation.
    since : date
        The day on which the allocation began.
    """
    known = {name: share for name, share in spent.items() if not pd.isna(share)}
    if not any(round(100 * share) > 0 for share in known.values()):
        return ""
    if len(known) > NAMED:
        least, most = (percent(of(known.values())) for of in (min, max))
        told = f"{least} to {most} by source"
    else:
        told = ", ".join(f"{percent(share)} at {name}" for name, share in known.items())
    return f"Spent of the season’s allocation before, since {day_text(since)}: {told}."


def slack_words(sources: pd.DataFrame, planned: pd.Series) -> str:
    """Say of each source how late its queue may begin; of many how many must not wait.

    Parameters
    ----------
    sources : DataFrame
        ``order_sources`` with each ``name``.
    planned : Series
        Each source's first day of watering in the plan, by source.
    """
    rows = sources.to_dict("records")
    if len(rows) <= NAMED:
        return " ".join(slack(row, planned.get(row["source"])) for row in rows)
    waters = [(as_day(row["begin_by"]), as_day(planned.get(row["source"]))) for row in rows]
    known = [(latest, first) for latest, first in waters if latest and first]
    if not known:
        return "No source has anything to put on."
    tight = sum(latest <= first for latest, first in known)
    those = f"of the {len(known)} sources that water before planting may"
    late = "begin later than planned"
    if tight == len(known):
        return f"None {those} {late}, or more stays unfilled."
    if not tight:
        return f"Each {those} {late} before more stays unfilled."
    return f"{tight} {those} not {late}, or more stays unfilled."


def unmet_words(sources: pd.DataFrame, system: System) -> list[str]:
    """Say plainly what each source cannot do; of more than a few how many fall short."""
    said = [one for row in sources.to_dict("records") if (one := unmet(row, system))]
    if len(sources) <= NAMED or not said:
        return said
    falls = "falls" if len(said) == 1 else "fall"
    return [f"{len(said)} of {len(sources)} sources {falls} short of what their fields want."]


def unmet(source: Mapping[Any, Any], system: System) -> str:
    """Say plainly what a source cannot do, and what would put it right; empty if it can.

    Parameters
    ----------
    source : mapping
        A row of ``order_sources`` with its ``name``.
    system : {"in", "mm"}
    """
    if not _falls_short(source):
        return ""
    given, wanted = (
        text(source[key], WATER, system).partition(" ")[0] for key in ("given_mm", "wanted_mm")
    )
    unit = WATER.shown(system).unit
    said = f"{source['name']} can put on {given} of the {wanted} {unit}"
    said += f" by {day_text(source['by'], year=False)}" if as_day(source["by"]) else ""
    ways = _ways(source, system, "add {}", "it would take {} more allocation")
    if not ways and {"allocation", "capacity"} <= set(source["limits"].split(",")):
        return f"{said}; neither more capacity nor more allocation alone would do."
    return f"{said}; {' or '.join(ways)}." if ways else f"{said}."


def takes(source: Mapping[Any, Any], system: System) -> str:
    """Say in a table what would fill all that a source's fields want; a dash: it does already.

    Parameters
    ----------
    source : mapping
        A row of ``order_sources``.
    system : {"in", "mm"}
    """
    if not _falls_short(source):
        return "—"
    ways = _ways(source, system, "{} more", "{} more allocation")
    return " or ".join(ways) or "neither flow nor allocation alone"


def _falls_short(source: Mapping[Any, Any]) -> bool:
    return isinstance(source["limits"], str) and bool(source["limits"])


def _ways(source: Mapping[Any, Any], system: System, flow: str, allotted: str) -> list[str]:
    """Write what alone would fill all that the fields want, in the given words."""
    more = ((source["extra_l_s"], FLOW, flow), (source["extra_allocation_mm"], WATER, allotted))
    return [
        words.format(text(float(of), quantity, system))
        for of, quantity, words in more
        if not pd.isna(of)
    ]
