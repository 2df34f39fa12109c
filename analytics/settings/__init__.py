"""Every threshold the science uses, each with its default, unit, meaning and source.

One record, put together from one file a room. A store can override any of them (table
``settings``). None is bare in the code.
"""

from dataclasses import Field, dataclass, fields, replace
from typing import Any, cast

from analytics.errors import InputRefused
from analytics.settings.demand import Demand
from analytics.settings.intake import Intake
from analytics.settings.opinions import Opinions
from analytics.settings.order import Order
from analytics.settings.points import Points
from analytics.settings.readiness import Readiness
from analytics.settings.record import Upkeep
from analytics.settings.review import Review
from analytics.settings.season import InSeason
from analytics.settings.trust import Trust
from analytics.settings.wettings import Wettings


@dataclass(frozen=True, kw_only=True)
class Settings(
    Demand,
    InSeason,
    Intake,
    Opinions,
    Order,
    Points,
    Readiness,
    Review,
    Trust,
    Upkeep,
    Wettings,
):
    """Thresholds and choices of one store."""


def known() -> tuple[Field[Any], ...]:
    """List the settings' fields, each with its metadata."""
    return fields(Settings)


def overridden(values: dict[str, float]) -> Settings:
    """Apply a store's overrides to the defaults.

    Raises
    ------
    InputRefused
        When a name is not a setting.
    """
    names = {one.name for one in known()}
    for name in values:
        if name not in names:
            where = f"setting {name!r}"
            raise InputRefused(where, "there is no such setting.", f"Known: {sorted(names)}.")
    return replace(Settings(), **cast("dict[str, Any]", values))
