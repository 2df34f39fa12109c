"""Where a standing crop is on a day, and what is to come from there."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import pandas as pd

from analytics.model import Floats, Season
from analytics.settings import Settings
from analytics.water.ahead import Ahead
from analytics.water.depletion import Grown, account, effective_mm, roots_of
from analytics.water.followed import Place, Span, grown_of
from analytics.water.growth import coefficient
from analytics.water.season import DAY, UNDATED, Days, Opening
from analytics.water.season_grade import entering_ahead
from analytics.water.years import past_years

STAGES = ("initial", "development", "mid-season", "late season")


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """What a field's source can give: net depth a day over all it feeds, NaN without one.

    ``opening`` tells when it has water to give; ``left_mm`` is the net depth that is left of
    its allocation, shared alike over all it feeds: infinite where it has none.
    """

    capacity_mm_d: float
    efficiency: float
    opening: Opening = UNDATED
    left_mm: float = float("inf")

    def by_day_mm(self, days: Days) -> Floats:
        """Give the net depth of each day: nought where there is no water, or no source."""
        return np.where(self.opening.on(days), np.nan_to_num(self.capacity_mm_d), 0.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Standing:
    """A crop that stands: its days up to one, as `depletion.account` tells them."""

    season: Season
    grown: Grown
    told: pd.DataFrame

    def __len__(self) -> int:
        """Days since planting."""
        return len(self.told)

    @property
    def last(self) -> date:
        """Give the day that is looked at."""
        return self.grown.days[-1].astype("datetime64[D]").item()

    @property
    def matures_on(self) -> date:
        """Give the day on which its stages end."""
        return self.season.planted_on + timedelta(days=sum(self.grown.crop.stages_d))

    @property
    def stage(self) -> str:
        """Name its stage."""
        ends = np.cumsum(self.grown.crop.stages_d)
        return STAGES[min(int(np.searchsorted(ends, len(self))), len(STAGES) - 1)]


def standing(place: Place, season: Season, day: date, settings: Settings) -> Standing | None:
    """Follow a crop up to a day, with no more than was known then of its dates.

    None where the probe tells nothing of it.
    """
    season = replace(
        season,
        emerged_on=_by(season.emerged_on, day),
        matured_on=_by(season.matured_on, day),
    )
    grown = grown_of(Span(season=season, until=day, ended=""), place, settings)
    if grown is None:
        return None
    planted = np.datetime64(season.planted_on, "D")
    told = account(grown, place.site, planted, settings)
    known = told[["probe_mm", "balance_mm"]].notna().any(axis=1)
    return Standing(season=season, grown=grown, told=told) if known.any() else None


def _by(one: date | None, day: date) -> date | None:
    return one if one is not None and one <= day else None


def depletion_mm(found: Standing, row: int = -1) -> float:
    """Depletion at the end of a day: as the probe reads it, else as the balance has it."""
    one = found.told.iloc[row]
    return float(one["balance_mm"] if np.isnan(one["probe_mm"]) else one["probe_mm"])


def look_ahead(
    found: Standing, place: Place, supply: Supply, error_mm: float, settings: Settings,
    *, back: int = 0, most: int | None = None,
) -> Ahead | None:  # fmt: skip
    """Lay out what is to come for a standing crop.

    Parameters
    ----------
    found : Standing
    place : Place
        The year that is looked at is left out of its past years.
    supply : Supply
    error_mm : float
        The balance's own standard error ``forecast_days`` ahead.
    settings : Settings
    back : int
        Look from so many days earlier.
    most : int, optional
        Look no further ahead than this.

    Returns
    -------
    Ahead or None
        None where no day is left to maturity or past years are too few.
    """
    here = len(found) - 1 - back
    whole = sum(found.grown.crop.stages_d)
    days = whole - here - 1 if most is None else min(whole - here - 1, most)
    if here < 0 or days < 1:
        return None
    today = found.grown.days[here].astype("datetime64[D]").item()
    years = past_years(place.days, today, days, settings)
    years = years.only(years.starts != np.datetime64(today, "D"))
    if len(years) < settings.least_years:
        return None
    roots = roots_of(found.grown, settings, whole)
    part = slice(here + 1, here + 1 + days)
    eto = years.weather.eto_mm
    inside = roots.inside_mm[here : here + 1 + days]
    return Ahead(
        today=today, depletion_mm=depletion_mm(found, here),
        crop_mm=float(found.told["pace"].iloc[here])
        * coefficient(found.grown.crop, whole)[part]
        * eto,
        rain_mm=effective_mm(years.weather.water_mm, eto, settings),
        available_mm=roots.available_mm[part], ready_mm=roots.ready_mm[part],
        entering_mm=entering_ahead(_last_read(found.grown, here), found.grown.points, inside),
        capacity_mm=supply.by_day_mm(np.datetime64(today, "D") + (1 + np.arange(days)) * DAY),
        efficiency=supply.efficiency, error_mm=error_mm, error_days=settings.forecast_days,
    )  # fmt: skip


def _last_read(grown: Grown, row: int) -> np.ndarray:
    """Give the last word of each layer up to a day."""
    return pd.DataFrame(grown.state[: row + 1]).ffill().to_numpy()[-1]


def since(holds: Callable[[int], bool], most: int) -> int:
    """Count back for how many days in a row something has held, at most ``most``."""
    days = 0
    while days < most and holds(days + 1):
        days += 1
    return days
