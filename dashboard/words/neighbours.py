"""What is said when fields are set beside one another."""

from collections.abc import Sequence

from analytics.units import DISTANCE, EIGHT_IN_TEN, WATER, System, text
from analytics.water.compare import Difference
from dashboard.words.measures import zone_words
from dashboard.words.names import basis_note

NO_OTHERS = "No other field can be set beside this one. Choose another likeness above."
NO_SPREAD = "No field’s water is known at this depth on this date."
SPREAD_KEY = "One circle a field; the upright line is the middle one; filled: the field chosen."
COLUMNS_KEY = (
    "Water that roots can take, layer by layer, on one scale. Filled: held now. Upright line: "
    "what the last crop left. Outline: what the layer can hold, dashed where that is unsure. "
    "Hatched: not known."
)
UNLIKE = "unlike points, not ranked"
RANKED_KEY = (
    "Compared as deep as both probes reach. “Not told apart”: closer than both figures are "
    "sure (8 in 10). “Unlike points”: one full point was seen in the field, the other comes "
    "from a table or was not yet seen; such figures are not ranked."
)
WINTER_KEY = (
    "In each cell: what the crop left · what the off-season gave, of water that roots "
    "can take. Laid onto the layers of the field chosen; — where the other "
    "probe does not cover one."
)


def said_of(found: Difference, system: System) -> str:
    """Say how one field stands against another, for the other's row in a table."""
    if found.verdict == "unlike":
        return UNLIKE
    if found.verdict == "not known":
        return "not known"
    within = text(EIGHT_IN_TEN * found.sd_mm, WATER, system)
    if found.verdict == "not told apart":
        return f"not told apart (±{within})"
    # The table speaks of the other field, the difference of the one chosen.
    word = "less short" if found.verdict == "shorter" else "shorter"
    return f"{text(abs(found.difference_mm), WATER, system)} {word} (±{within})"


def answer(name: str, found: Sequence[Difference], system: System, split_cm: float) -> str:
    """Answer the page's question in one sentence."""
    if not found:
        return f"No other field that shares what was asked for can be set beside {name}."
    where = zone_words("deep", system, split_cm)
    where = f"{where[0].upper()}{where[1:]}"
    told = [one.verdict for one in found if one.verdict in {"shorter", "less short"}]
    ranked = [one for one in found if one.verdict not in {"unlike", "not known"}]
    if not ranked:
        return f"{where}, {name} cannot be ranked among these fields."
    return (
        f"{where}, {name} is {_shorter_than(told.count('shorter'), len(ranked))} it compares "
        "with."
    )


def alone(name: str) -> str:
    """Answer where no likeness can help: the district has no other field with a probe."""
    return f"There is no other field with a probe to set beside {name} yet."


def _shorter_than(shorter: int, ranked: int) -> str:
    """Say how many of the fields ranked are less short than the one spoken of."""
    if ranked == 1:
        return f"{'' if shorter else 'not '}shorter of water than the one field"
    return f"shorter of water than {shorter or 'none'} of the {ranked} fields"


def second(found: Sequence[Difference]) -> str:
    """Count what the first sentence leaves out."""
    verdicts = [one.verdict for one in found]
    counted = (
        (verdicts.count("less short"), "is shorter still", "are shorter still"),
        (verdicts.count("not told apart"), "cannot be told apart from it",
         "cannot be told apart from it"),
        (verdicts.count("unlike"), "rests on unlike points and is not ranked",
         "rest on unlike points and are not ranked"),
        (verdicts.count("not known"), "is not known", "are not known"),
    )  # fmt: skip
    said = [f"{n} {one if n == 1 else many}" for n, one, many in counted if n]
    return f"{', '.join(said)}." if said else ""


def rests(basis: object, stale: str, stale_others: int) -> str:
    """Say what the figure of the field chosen rests on, and which figures are old.

    Parameters
    ----------
    basis : str or missing
        State of the field's full points.
    stale : str
        As of when the field's figures are, where its probe fell silent; else empty.
    stale_others : int
        Fields beside it of which the same is to be said.
    """
    told = [basis_note(basis)]
    if stale:
        told.append(f"{stale[0].upper()}{stale[1:]}.")
    if stale_others:
        are = "has" if stale_others == 1 else "have"
        told.append(f"Of those beside it {stale_others} {are} old figures, as marked.")
    return " ".join(told)


def named(name: str, stale: str) -> str:
    """Name a field in a table, with as of when its figures are where they are old."""
    return f"{name} ({stale})" if stale else name


def away(km: float, system: System) -> str:
    """Write a distance, or an em dash where a place is not known."""
    return text(km, DISTANCE, system)
