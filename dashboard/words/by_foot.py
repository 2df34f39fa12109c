"""What the soil holds foot by foot (or in steps of 30 cm), said in one sentence."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from analytics.units import CM_PER_FOOT, WATER, System, text
from dashboard.words.measures import is_short

FULL_FILL = 0.8
"""A foot that holds at least this share of its room is called full: the class of that name."""
LEAST_SEEN = 0.75
"""Below this share of a foot in layers that are known, the foot is not known; ours."""
LEAST_STEP = 0.5
"""A remainder at the foot of the probe up to this share joins the step above; ours. A foot of
which the probe reads less than half is not called one."""
METRIC_STEP_CM = 30.0
ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth",
            "ninth", "tenth")  # fmt: skip
COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A layer as the sentence needs it.

    ``short_mm`` and ``room_mm`` are what it lacks and what it can hold for a crop; None where
    not known. ``since`` says when it was last full ("the 2023 cotton"), ``order`` sorts that
    in time; ``since`` is None where it was never seen full.
    """

    top_cm: float
    bottom_cm: float
    short_mm: float | None
    room_mm: float | None
    since: str | None = None
    order: float = float("-inf")


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A foot of soil, or 30 cm of it; ``state`` is "full", "short" or "unknown"."""

    number: int
    top_cm: float
    bottom_cm: float
    state: str
    short_mm: float
    since: str | None
    order: float


def foot_by_foot(layers: Sequence[Held], system: System) -> str:
    """Say which feet are full, which are short, by how much, and since when.

    Parameters
    ----------
    layers : sequence of Held
        One probe's layers in any order, mm and cm.
    system : {"in", "mm"}
        Feet and inches, or ranges of cm and mm.

    Returns
    -------
    str
        One sentence; empty without layers. "Three feet are full; the fourth and fifth are
        2.1 in short and have not been full since the 2023 cotton."
    """
    steps = steps_of(layers, system)
    if not steps:
        return ""
    if len({one.state for one in steps}) == 1:
        said = _whole(steps, system)
    else:
        full, short, unknown = (
            [one for one in steps if one.state == state]
            for state in ("full", "short", "unknown")
        )
        parts = (
            _full(full, system) if full else "",
            _short(short, system, first=not full) if short else "",
            _unknown(unknown, system) if unknown else "",
        )
        said = "; ".join(one for one in parts if one)
    return f"{said[0].upper()}{said[1:]}."


def steps_of(layers: Sequence[Held], system: System) -> list[Step]:
    """Cut a profile into feet (30 cm), each with its state and what it is short, from the top.

    A layer that an edge cuts is shared by thickness.
    """
    if not layers:
        return []
    size = CM_PER_FOOT if system == "in" else METRIC_STEP_CM
    bottom = max(one.bottom_cm for one in layers)
    count = max(1, int(bottom // size) + (bottom % size > LEAST_STEP * size))
    edges = [*(i * size for i in range(count)), bottom]
    return [_step(i + 1, layers, edges[i], edges[i + 1]) for i in range(count)]


def _step(number: int, layers: Sequence[Held], top: float, bottom: float) -> Step:
    parts = [(_share(one, top, bottom), one) for one in layers]
    known = [(share, one.short_mm, one.room_mm, one) for share, one in parts
             if share > 0 and one.short_mm is not None and one.room_mm is not None]  # fmt: skip
    seen = sum(share * (one.bottom_cm - one.top_cm) for share, _, _, one in known)
    short = sum(share * lacks for share, lacks, _, _ in known)
    room = sum(share * holds for share, _, holds, _ in known)
    if room <= 0 or seen < LEAST_SEEN * (bottom - top):
        state = "unknown"
    else:
        state = "full" if 1 - short / room >= FULL_FILL else "short"
    first = _longest_ago(layers, top, bottom)
    return Step(number=number, top_cm=top, bottom_cm=bottom, state=state, short_mm=short,
                since=first.since if first else None,
                order=first.order if first else float("-inf"))  # fmt: skip


def _share(one: Held, top: float, bottom: float) -> float:
    return _within(one, top, bottom) / (one.bottom_cm - one.top_cm)


def _within(one: Held, top: float, bottom: float) -> float:
    return max(min(one.bottom_cm, bottom) - max(one.top_cm, top), 0.0)


def _longest_ago(layers: Sequence[Held], top: float, bottom: float) -> Held | None:
    """Find the layer of a foot that was full longest ago: since then the foot was not full.

    A thin step in which no layer has its middle goes by the layer that fills most of it.
    """
    inside = [one for one in layers if top <= (one.top_cm + one.bottom_cm) / 2 < bottom]
    if inside:
        return min(inside, key=lambda one: one.order)
    return max(layers, key=lambda one: _within(one, top, bottom), default=None)


# --- words ----------------------------------------------------------------------------------


def _whole(steps: list[Step], system: System) -> str:
    """Say a profile that is all of one state."""
    state = steps[0].state
    if state == "unknown":
        return "what the soil holds is not known"
    if system == "mm":
        return _full(steps, system) if state == "full" else _short(steps, system)
    return _all_full(steps, system) if state == "full" else _none_full(steps, system)


_ALL = {1: "the one foot is", 2: "both feet are"}
_NONE = {1: "the one foot is", 2: "neither foot is full: both together are"}


def _all_full(steps: list[Step], system: System) -> str:
    lead = _ALL.get(len(steps), f"all {_count(steps)} feet are")
    return f"{lead} full{_lack(steps, system)}"


def _lack(steps: list[Step], system: System) -> str:
    short = sum(one.short_mm for one in steps)
    return f" but for {text(short, WATER, system)}" if is_short(short, system) else ""


def _none_full(steps: list[Step], system: System) -> str:
    every = f"not one of the {_count(steps)} feet is full: together they are"
    lead = _NONE.get(len(steps), every)
    short = sum(one.short_mm for one in steps)
    return f"{lead} {text(short, WATER, system)} short{_since(steps, system)}"


def _full(steps: list[Step], system: System) -> str:
    if system == "mm":
        return f"{_ranges(steps)} is full"
    from_top = [one.number for one in steps] == [*range(1, len(steps) + 1)]
    lead = _count(steps) if from_top else _ordinals(steps)
    return f"{lead} {_feet(steps)} {_are(steps)} full"


def _short(steps: list[Step], system: System, *, first: bool = False) -> str:
    """Say which are short; the first of a sentence's parts says that it speaks of feet."""
    feet = f" {_feet(steps)}" if first else ""
    named = f"{_ordinals(steps)}{feet} {_are(steps)}"
    if system == "mm":
        named = f"{_ranges(steps)} is"
    short = text(sum(one.short_mm for one in steps), WATER, system)
    return f"{named} {short} short{_since(steps, system)}"


def _unknown(steps: list[Step], system: System) -> str:
    if system == "mm":
        return f"what {_ranges(steps)} holds is not known"
    holds = "holds" if len(steps) == 1 else "hold"
    return f"what {_ordinals(steps)} {holds} is not known"


def _since(steps: list[Step], system: System) -> str:
    """Say since when: for all at once, or for the part that was full longest ago."""
    oldest = min(one.order for one in steps)
    last = next(one.since for one in steps if one.order == oldest)
    some = [one for one in steps if one.since == last]
    many = system == "in" and len(some) > 1
    have = "have" if many else "has"
    said = f"{have} not been full since {last}" if last else f"{have} never been seen full"
    if len(some) == len(steps):
        return f" and {said if last or not many else _none_ever(steps)}"
    where = _ranges(some) if system == "mm" else _ordinals(some)
    return f"; {where} {said}"


def _none_ever(steps: list[Step]) -> str:
    """Say of each of several feet, not of all together, that it was never seen full."""
    none = "neither" if len(steps) == 2 else "none of them"  # noqa: PLR2004 - a pair
    return f"{none} has ever been seen full"


def _count(steps: list[Step]) -> str:
    return COUNTS[len(steps)] if len(steps) < len(COUNTS) else str(len(steps))


def _are(steps: list[Step]) -> str:
    return "is" if len(steps) == 1 else "are"


def _feet(steps: list[Step]) -> str:
    return "foot" if len(steps) == 1 else "feet"


def _ordinals(steps: list[Step]) -> str:
    names = [ORDINALS[one.number - 1] if one.number <= len(ORDINALS) else f"{one.number}th"
             for one in steps]  # fmt: skip
    return f"the {_listed(names)}"


def _ranges(steps: list[Step]) -> str:
    """Join what touches: "0 to 60 cm", "0 to 30 and 60 to 90 cm"."""
    runs = [[one for _, one in run] for _, run in groupby(enumerate(steps), _gap_key)]
    return f"{_listed([f'{run[0].top_cm:.0f} to {run[-1].bottom_cm:.0f}' for run in runs])} cm"


def _gap_key(pair: tuple[int, Step]) -> int:
    return pair[1].number - pair[0]


def _listed(names: Sequence[str]) -> str:
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last
