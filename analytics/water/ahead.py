"""A crop's root zone from today on: run, hold, or start on a day; and the last irrigation."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

import numpy as np

from analytics.model import Floats
from analytics.settings import Settings
from analytics.units import EIGHT_IN_TEN
from analytics.water.balance import RootZone, root_zone

LOW, MIDDLE, HIGH = 0.1, 0.5, 0.9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ahead:
    """What is to come, by day from tomorrow to maturity, in Y past years of weather.

    ``crop_mm`` and ``rain_mm`` are (Y, D); ``available_mm``, ``ready_mm``, ``entering_mm``
    (D,). ``depletion_mm`` is today's; ``capacity_mm`` (D,) the net depth that its source can
    give on a day, nought where it has no water then or none feeds the field; ``error_mm`` the
    balance's own standard error after ``error_days``, nought if not known.
    """

    today: date
    depletion_mm: float
    crop_mm: Floats
    rain_mm: Floats
    available_mm: Floats
    ready_mm: Floats
    entering_mm: Floats
    capacity_mm: Floats
    efficiency: float
    error_mm: float = 0.0
    error_days: float = 10.0

    def day(self, row: int) -> date:
        """Date of a row."""
        return self.today + timedelta(days=row + 1)

    def __len__(self) -> int:
        """Days to maturity."""
        return len(self.available_mm)

    @property
    def water(self) -> tuple[date, date] | None:
        """First and last day on which there is water to give; None where there is none."""
        on = np.flatnonzero(self.capacity_mm > 0.0)
        return (self.day(int(on[0])), self.day(int(on[-1]))) if len(on) else None


class Path(NamedTuple):
    """Depletion by day (D,): one year in ten below ``low_mm``, the middle, one in ten above.

    ``refill_on``: first day on which the middle reaches the refill point, None where it never
    does; ``refill_sooner`` in the driest tenth of years. ``given_mm`` is put on in the middle.
    """

    low_mm: Floats
    middle_mm: Floats
    high_mm: Floats
    refill_on: date | None
    refill_sooner: date | None
    given_mm: float


def offered(ahead: Ahead, first: int | None, last: int | None = None) -> Floats:
    """Give what the source offers by day: nought before ``first`` and from ``last`` on."""
    days = np.arange(len(ahead))
    if first is None:
        return np.zeros(len(ahead))
    open_ = (days >= first) & (days < (len(ahead) if last is None else last))
    return np.where(open_, ahead.capacity_mm, 0.0)


def run(ahead: Ahead, offered_mm: Floats) -> RootZone:
    """Run every past year's weather from today's depletion."""
    return root_zone(
        ahead.depletion_mm, ahead.rain_mm, ahead.crop_mm, available_mm=ahead.available_mm,
        ready_mm=ahead.ready_mm, entering_mm=ahead.entering_mm, offered_mm=offered_mm,
    )  # fmt: skip


def path(ahead: Ahead, offered_mm: Floats) -> Path:
    """Forecast depletion under an offer of water, as a middle and a band.

    The band is that of the weather, widened by the balance's own error, which grows with the
    root of the days gone by (ours).
    """
    went = run(ahead, offered_mm)
    low, middle, high = np.quantile(went.end_mm, (LOW, MIDDLE, HIGH), axis=0)
    grows = np.sqrt(np.arange(1, len(ahead) + 1) / ahead.error_days)
    own = EIGHT_IN_TEN * ahead.error_mm * grows
    high = middle + np.hypot(high - middle, own)
    low = np.maximum(middle - np.hypot(middle - low, own), 0.0)
    return Path(
        low, middle, high, _reached(ahead, middle), _reached(ahead, high),
        float(np.median(went.given_mm.sum(axis=1))),
    )  # fmt: skip


def _reached(ahead: Ahead, depletion: Floats) -> date | None:
    at = np.flatnonzero(depletion >= ahead.ready_mm)
    return ahead.day(int(at[0])) if len(at) else None


class LastPass(NamedTuple):
    """How to leave the field, all mm.

    ``water_mm`` to maturity (middle year), ``rain_mm`` at the chosen reliability, ``soil_mm``
    that may still be drawn (below nought: the soil lacks already), ``net_mm`` and ``gross_mm``
    still to put on. ``on``: the source may be shut after this day; None where nothing more is
    wanted, or where even running to maturity does not suffice (``short_mm`` above nought).
    ``harvest_mm``: depletion at maturity in the middle year if so left.
    """

    water_mm: float
    rain_mm: float
    soil_mm: float
    net_mm: float
    gross_mm: float
    on: date | None
    short_mm: float
    harvest_mm: float


def still_to_apply(water_mm: float, rain_mm: float, soil_mm: float) -> float:
    """Net depth still to put on: water to maturity less rain and what the soil may give."""
    return max(water_mm - rain_mm - soil_mm, 0.0)


def last_pass(ahead: Ahead, settings: Settings) -> LastPass:
    """Work out the last irrigation from today's layers.

    Parameters
    ----------
    ahead : Ahead
        With at least one day to come.
    settings : Settings
        Uses maturity_depletion, reliability.

    Returns
    -------
    LastPass
        The date by running the source from tomorrow and shutting it ever earlier, as long as
        depletion at maturity stays within maturity_depletion of the available water in the
        chosen share of years.
    """
    entering = float(ahead.entering_mm.sum())
    allowed = settings.maturity_depletion * float(ahead.available_mm[-1])
    water = float(np.median(ahead.crop_mm.sum(axis=1)))
    rain = float(np.quantile(ahead.rain_mm.sum(axis=1), 1.0 - settings.reliability))
    soil = allowed - ahead.depletion_mm - entering
    net = still_to_apply(water, rain, soil)

    def lacks(days: int) -> float:
        """Tell how far depletion at maturity is past what is allowed, if shut after days."""
        went = run(ahead, offered(ahead, 0, days))
        return float(np.quantile(went.end_mm[:, -1], settings.reliability)) - allowed

    days = _least(lacks, len(ahead))
    last = len(ahead) if days is None else days
    left = run(ahead, offered(ahead, 0, last))
    return LastPass(
        water, rain, soil, net, net / ahead.efficiency,
        ahead.day(days - 1) if days else None,
        max(lacks(last), 0.0) if days is None else 0.0,
        float(np.median(left.end_mm[:, -1])),
    )  # fmt: skip


def can_give_mm(left: LastPass, ahead: Ahead) -> float:
    """Add up what a source can give to the day after which it may be shut, else to the end."""
    days = len(ahead) if left.on is None else (left.on - ahead.today).days
    return float(ahead.capacity_mm[:days].sum())


def _least(lacks: Callable[[int], float], most: int) -> int | None:
    """Fewest days of running that suffice, by halving; None where all do not."""
    if lacks(most) > 0.0:
        return None
    low, high = 0, most
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if lacks(middle) <= 0.0 else (middle + 1, high)
    return low
