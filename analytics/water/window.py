"""When a probe can go into the ground: no crop in the field, and the soil unfrozen."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import median

from analytics.model import Season

DAY = timedelta(days=1)
_YEARS = 3  # how far ahead a window is looked for


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """A stretch of days to install in; ``closes`` None: no crop and no frost end it in sight.

    ``about`` says that an edge rests on usual dates of frost or harvest, not on known ones.
    """

    opens: date
    closes: date | None
    about: bool


def installation_window(
    day: date,
    seasons: Sequence[Season],
    winters: Sequence[tuple[date, date]],
    usual_harvests: Mapping[str, tuple[int, int]],
    *,
    month: int,
) -> Window | None:
    """Find the next days without crop and without frozen soil.

    Ours. The soil counts as frozen between the medians of the first and of the last frozen
    day of the site's past winters. A crop without a harvest date is taken to stand until its
    usual one.

    Parameters
    ----------
    day : date
        The first day that counts.
    seasons : sequence of Season
        The field's crops, planned ones too, in order of planting.
    winters : sequence of (first, last)
        Frozen days of past winters.
    usual_harvests : mapping of crop to (month, day)
    month : int
        In which one winter and the next are parted, the ``frost_month``.

    Returns
    -------
    Window or None
        None when the crops leave no unfrozen day in three years.
    """
    for opens, closes, about in _free(day, seasons, usual_harvests):
        found = _unfrozen(opens, closes, winters, about=about, month=month)
        if found is not None:
            return found
    return None


def _free(
    day: date, seasons: Sequence[Season], usual: Mapping[str, tuple[int, int]]
) -> Iterator[tuple[date, date | None, bool]]:
    """Give the stretches without a crop: first day, last day, whether the first is a guess."""
    opens, about = day, False
    for one in seasons:
        ends, guessed = _harvest(one, usual)
        if ends <= opens:
            continue
        if one.planted_on > opens:
            yield opens, one.planted_on - DAY, about
        opens, about = ends + DAY, guessed
    yield opens, None, about


def _harvest(one: Season, usual: Mapping[str, tuple[int, int]]) -> tuple[date, bool]:
    if one.harvested_on is not None:
        return one.harvested_on, False
    month, number = usual.get(one.crop, (12, 31))
    return _next(one.planted_on, month, number), True


def _unfrozen(
    opens: date, closes: date | None, winters: Sequence[tuple[date, date]], *, about: bool,
    month: int,
) -> Window | None:  # fmt: skip
    if not winters:
        return Window(opens=opens, closes=closes, about=about)
    freezes = _usual((first for first, _ in winters), month)
    thaws = _usual((last for _, last in winters), month)
    for year in range(opens.year - 2, opens.year + _YEARS):
        thaw = date(year, month, 1) + timedelta(days=thaws)
        freeze = date(year + 1, month, 1) + timedelta(days=freezes)
        start = max(opens, thaw + DAY)
        end = freeze - DAY if closes is None else min(closes, freeze - DAY)
        if start <= end:
            known_end = closes is not None and end == closes
            return Window(
                opens=start, closes=end, about=about or start != opens or not known_end
            )
    return None


def _usual(days: Iterable[date], month: int) -> int:
    """Give the median of days of winters as days from the one that parted them."""
    return round(
        median((one - date(one.year - (one.month < month), month, 1)).days for one in days)
    )


def _next(after: date, month: int, number: int) -> date:
    here = _on(after.year, month, number)
    return here if here > after else _on(after.year + 1, month, number)


def _on(year: int, month: int, number: int) -> date:
    return date(year, month, number) if (month, number) != (2, 29) else date(year, 2, 28)
