"""The sentence that answers a page's question, and the lines of evidence under it."""

from analytics.units import WATER, System, text
from dashboard.words.measures import (
    SPLIT_CM,
    age_words,
    as_day,
    day_text,
    depth_text,
    is_short,
    spelled_water,
    zone_words,
)


def district_answer(
    *,
    short: int,
    of: int,
    over_mm: float,
    system: System,
    zone: str = "deep",
    split_cm: float = SPLIT_CM,
    chosen: bool = False,
    standing: bool = False,
) -> str:
    """Answer the district's question in one sentence.

    Parameters
    ----------
    short : int
        Fields short by more than ``over_mm``.
    of : int
        Fields whose shortage is known.
    over_mm : float
        The line drawn, mm.
    system : {"in", "mm"}
        Units to write in.
    zone : {"deep", "upper", "profile"}
        Where.
    split_cm : float
        Depth that parts the zones, cm.
    chosen : bool
        Whether filters leave these fields out of more.
    standing : bool
        Whether crops stand in most of them: they go into no season then.
    """
    if of == 0:
        whose = "No chosen field's" if chosen else "No field's"
        return f"{whose} water is known on this date."
    go = "goes into the season" if short == 1 else "go into the season"
    if standing:
        go = "is" if short == 1 else "are"
    count = "None" if short == 0 else str(short)
    fields = "field" if of == 1 else "fields"
    those = f"the {of} {fields} chosen" if chosen else f"{of} {fields}"
    return (
        f"{count} of {those} {go} more than "
        f"{spelled_water(over_mm, system)} short {zone_words(zone, system, split_cm)}."
    )


def district_second(
    *,
    wet_on_top: int,
    worst: str | None,
    worst_mm: float | None,
    system: System,
    short: int = 0,
    source: str | None = None,
    source_count: int = 0,
    left_out: int = 0,
) -> str:
    """Give the evidence under the district's answer; ``left_out`` fields it does not count."""
    said = []
    if wet_on_top:
        said.append(
            f"{wet_on_top} of them {'looks' if wet_on_top == 1 else 'look'} wet on top."
        )
    if worst is not None and is_short(worst_mm, system):
        line = f"Worst is {worst}, {text(worst_mm, WATER, system)} short"
        if source and source_count and short > 1:
            hang = "hangs" if source_count == 1 else "hang"
            some = f"{source_count} of the {short}" if source_count < short else f"all {short}"
            line += f"; {some} {hang} on {source}"
        said.append(f"{line}.")
    return " ".join([*said, not_counted(left_out)]).strip()


def not_counted(standing: int) -> str:
    """Say how many fields do not go into the season, since a crop stands in them."""
    if not standing:
        return ""
    fields = "field under a standing crop is" if standing == 1 else (
        "fields under a standing crop are")  # fmt: skip
    return f"{standing} {fields} not counted."


def district_rests(
    *, read_on: object, silent: int = 0, held: int = 0, unknown: int = 0, as_of: object = None
) -> str:
    """Say what the district's figures rest on, and how old they are."""
    newest, today = as_day(read_on), as_day(as_of)
    if newest is None:
        said = ["No probe has read yet"]
    elif today is not None and newest != today:
        said = [f"Probes read to {day_text(newest)}, {age_words(newest, today)}"]
    else:
        said = [f"Probes read to {day_text(newest)}"]
    counted = (
        (silent, "field has a silent sensor", "fields have a silent sensor"),
        (held, "field holds values under frost", "fields hold values under frost"),
        (unknown, "field is not known", "fields are not known"),
    )
    parts = [f"{n} {one if n == 1 else many}" for n, one, many in counted if n]
    return "; ".join([said[0], ", ".join(parts)]) + "." if parts else f"{said[0]}."


def field_answer(
    *,
    name: str,
    crop: str | None,
    deep_mm: float | None,
    wet_on_top: bool,
    system: System,
    zone: str = "deep",
    split_cm: float = SPLIT_CM,
    standing: str | None = None,
) -> str:
    """Answer one field's question: how short, how deep, and whether the top misleads.

    What ``standing`` names still draws: nothing is said of what the field goes into.
    """
    where = zone_words(zone, system, split_cm)
    if deep_mm is None or deep_mm != deep_mm:  # noqa: PLR0124 - NaN
        return f"What {name} holds {where} is not known."
    lead = f"{name}, under {standing}, is" if standing else (
        f"{name} goes into {crop or 'the season'}")  # fmt: skip
    if not is_short(deep_mm, system):
        return f"{lead} {'' if standing else 'with '}nothing short {where}."
    tail = ", although the top is wet" if wet_on_top else ""
    return f"{lead} {text(deep_mm, WATER, system)} short {where}{tail}."


def brought_words(
    change_mm: float | None,
    deep_mm: float | None,
    system: System,
    split_cm: float = SPLIT_CM,
    standing: str | None = None,
) -> str:
    """Say what the off-season brought and how much went deep; empty where not known.

    Under a ``standing`` crop it is what the soil gained or lost since that was planted.
    """
    if change_mm is None or change_mm != change_mm:  # noqa: PLR0124 - NaN
        return ""
    if standing:
        return f"Since the {standing} was planted the soil {_changed(change_mm, system)}."
    return _brought(change_mm, deep_mm, f"below {depth_text(split_cm, system)}", system)


def _changed(change_mm: float, system: System) -> str:
    if not is_short(abs(change_mm), system):
        return "neither gained nor lost water"
    way = "gained" if change_mm > 0 else "lost"
    return f"{way} {text(abs(change_mm), WATER, system)}"


def _brought(change_mm: float, deep_mm: float | None, below: str, system: System) -> str:
    water = text(abs(change_mm), WATER, system)
    if not is_short(abs(change_mm), system):
        return "The off-season neither added nor took water."
    if change_mm < 0:
        return f"The off-season took {water}."
    if deep_mm is None or deep_mm != deep_mm:  # noqa: PLR0124 - NaN
        return f"The off-season added {water}."
    if not is_short(deep_mm, system):
        return f"The off-season added {water}, none of it {below}."
    return f"The off-season added {water}, {text(deep_mm, WATER, system)} of it {below}."
