"""The off-season: from harvest to the next planting, and what it did to each layer."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.model import Daily, Layer, OffSeason, Points, Season, Times
from analytics.settings import Settings
from analytics.soil.account import account, prepare
from analytics.soil.causes import CAUSES, stretches
from analytics.soil.fullness import last_full

__all__ = ["last_full", "off_seasons", "standing_winters", "tally", "usual_winters"]
LEAST_WINTER_D = 60
"""Days of an off-season from which a farm's usual winter is learned; ours.

Between a crop and the next one sown into its stubble there are days, and no winter.
"""


def usual_winters(tally: pd.DataFrame) -> pd.DataFrame:
    """Keep whole profiles' closed off-seasons of bare ground, long enough to be learned from.

    Parameters
    ----------
    tally : DataFrame
        Columns from, to, open, standing, depth_cm of the contract's ``tally``.
    """
    bare = ~tally["open"].astype(bool) & ~tally["standing"].fillna(value=False).astype(bool)
    winter = tally["to"] - tally["from"] >= pd.Timedelta(days=LEAST_WINTER_D)
    return tally[tally["depth_cm"].isna() & bare & winter]


def off_seasons(
    field: str, seasons: tuple[Season, ...], first_day: date, as_of: date
) -> tuple[OffSeason, ...]:
    """List a field's off-seasons that some of the record can speak for.

    Each runs from a harvest to the next planting, or to ``as_of`` while that planting is
    still to come or unknown (``open``). None starts under a crop that still stands (a crop
    planted before its forerunner's harvest). A season without a harvest date is taken to
    stand until the next planting, and none is invented after it.

    Parameters
    ----------
    field : str
        Which field; seasons of others are passed over.
    seasons : tuple of Season
        In any order.
    first_day, as_of : date
        First day of the record, and today.
    """
    own = sorted((one for one in seasons if one.field == field), key=lambda one: one.planted_on)
    found: dict[date, OffSeason] = {}
    for one in own:
        start = one.harvested_on
        if start is None or start >= as_of or _under_crop(start, own):
            continue
        coming = next((other for other in own if other.planted_on > start), None)
        planted = coming.planted_on if coming is not None else None
        still = planted is None or planted > as_of
        end = as_of if planted is None or still else planted
        if end > first_day:
            found[start] = OffSeason(
                field=field, start=start, end=end, crop_before=one.crop,
                crop_next=coming.crop if coming is not None else None, open=still,
            )  # fmt: skip
    return tuple(found[start] for start in sorted(found))


def standing_winters(
    field: str,
    seasons: tuple[Season, ...],
    first_day: date,
    as_of: date,
    settings: Settings,
) -> tuple[OffSeason, ...]:
    """List the winters that a field lay under a crop sown in autumn, such as winter wheat.

    Each runs from the planting to the next ``green_up_d``, or to ``as_of`` while that day is
    still to come (``open``); what such a crop drew meanwhile is among the losses.

    Parameters
    ----------
    field : str
        Which field; seasons of others are passed over.
    seasons : tuple of Season
    first_day, as_of : date
        First day of the record, and today.
    settings : Settings
        Uses autumn_from_d and green_up_d.

    Returns
    -------
    tuple of OffSeason
        ``standing``; in order of planting. A crop harvested before its first spring is none.
    """
    found = []
    autumn, spring = settings.autumn_from_d, settings.green_up_d
    over_new_year = autumn > spring  # north of the equator
    for one in sorted(seasons, key=lambda one: one.planted_on):
        sown = one.planted_on
        day = sown.timetuple().tm_yday
        late = not over_new_year and day >= spring
        if one.field != field or day < autumn or late:
            continue
        green = date(sown.year + over_new_year, 1, 1) + timedelta(days=int(spring) - 1)
        gone = one.harvested_on is not None and one.harvested_on <= green
        end = min(green, as_of)
        if not gone and sown < as_of and end > first_day:
            found.append(OffSeason(
                field=field, start=sown, end=end, crop_before=one.crop, crop_next=None,
                open=green > as_of, standing=True,
            ))  # fmt: skip
    return tuple(found)


def _under_crop(day: date, own: list[Season]) -> bool:
    """Say whether a crop stands on a day once that day's harvest is in."""
    for one, following in zip(own, [*own[1:], None], strict=True):
        until = one.harvested_on or (
            following.planted_on if following is not None else date.max
        )
        if one.planted_on <= day < until:
            return True
    return False


def tally(  # noqa: PLR0917 - one argument a table it reads
    daily: Daily,
    layers: tuple[Layer, ...],
    off_seasons: tuple[OffSeason, ...],
    points: Mapping[int, Points],
    wettings: pd.DataFrame,
    wetting_layers: pd.DataFrame,
    received: pd.DataFrame,
    settings: Settings,
    seasons: tuple[Season, ...] = (),
    told_days: Times | None = None,
) -> pd.DataFrame:
    """Tally each off-season: one row a layer, and one for the profile (depth_cm NaN).

    Each row's net change over every stretch of time (see ``causes.stretches``) is a gain of
    that stretch's cause if it rises and a loss if it falls, so gains less loss are the
    change exactly. The profile is judged on its own water, the sum over the layers seen at
    both ends: what moves from layer to layer within it is neither gained nor lost there.
    ``drainage_mm`` is what left through the bottom, a lower estimate (``losses``): NaN unless
    the bottom layer's full point was learned, provisional or set. ``loss_down_mm`` is what
    reappeared in layers below, ``loss_up_mm`` the rest, so that up, down and drainage make up
    the loss exactly; it holds evaporation, weeds and whatever left unseen, and is NaN where
    drainage is not known. ``emptied_by`` and ``emptied_on`` name the crop that took most since
    the layer was last full, and its harvest. ``to`` is the last day read of an open
    off-season whose probe fell silent; ``coverage`` still counts up to its end.
    ``received_mm`` sums water over (start, end]; NaN where the record of water does not
    reach, or tells of fewer days than ``received_seen`` asks for. ``storage_efficiency`` =
    change / received, the precipitation storage efficiency of fallow studies (e.g. Tanaka &
    Aase 1987), profile row only.

    Parameters
    ----------
    daily : Daily
        The site's days.
    layers : tuple of Layer, length k
        Shallowest first.
    off_seasons : tuple of OffSeason
        As ``off_seasons`` and ``standing_winters`` list them.
    points : mapping of placement number to Points
        Points in force.
    wettings, wetting_layers : DataFrame
        Contract tables of this site.
    received : DataFrame
        Columns date and mm: water that reached the field.
    settings : Settings
        Uses tally_reach_days, follow_days, trickle_days, received_least_mm, received_seen,
        full_tolerance, drying_cm, sensor_sd.
    seasons : tuple of Season
        The field's, to name the crop that emptied a layer.
    told_days : (n,) datetime64[D], optional
        Those of which it is known what fell (``wetting.told_days``); all by default.

    Returns
    -------
    DataFrame
        Contract table ``tally``; mm NaN and coverage 0 (or what was seen) where the ends of
        an off-season were not read, or lie in different placements.
    """
    cut = stretches(wettings, wetting_layers, daily.depths_cm, settings)
    site = prepare(daily, layers, points, cut=cut, received=received, told_days=told_days,
                   seasons=seasons, settings=settings)  # fmt: skip
    parts = [account(site, off, settings) for off in off_seasons]
    count = len(layers) + 1
    frame = {
        "field": _words([off.field for off in off_seasons], count),
        "site": _words([daily.site] * len(parts), count),
        "from": _dates([off.start for off in off_seasons], count),
        "depth_cm": np.tile([*(one.depth_cm for one in layers), np.nan], len(parts)),
        **{name: np.concatenate([part[name] for part in parts] or [empty])
           for name, empty in _EMPTY.items()},
        "crop": _words([off.crop_before for off in off_seasons], count),
        "open": np.repeat(np.array([off.open for off in off_seasons], dtype=bool), count),
        "standing": np.repeat(np.array([off.standing for off in off_seasons], bool), count),
        "top_cm": np.tile([*(one.top_cm for one in layers), layers[0].top_cm], len(parts)),
        "bottom_cm": np.tile([*(one.bottom_cm for one in layers), layers[-1].bottom_cm],
                             len(parts)),
    }  # fmt: skip
    frame["emptied_by"] = pd.array(frame["emptied_by"], dtype="str")
    return pd.DataFrame({name: frame[name] for name in _ORDER})


def _words(words: list[str], count: int) -> Any:
    return pd.array(np.repeat(np.array(words, dtype=object), count), dtype="str")


_NUMBERS = (
    "start_mm", "end_mm", "change_mm", *(f"gain_{cause}_mm" for cause in CAUSES), "loss_mm",
    "drainage_mm", "received_mm", "storage_efficiency", "coverage", "largest_deficit_mm",
    "loss_up_mm", "loss_down_mm",
)  # fmt: skip
_EMPTY: dict[str, NDArray] = {
    **{name: np.zeros(0) for name in _NUMBERS},
    "frozen_days": np.zeros(0, dtype=np.int64),
    **{name: np.zeros(0, dtype="datetime64[us]") for name in ("to", "last_full", "emptied_on")},
    "emptied_by": np.zeros(0, dtype=object),
}
_ORDER = [
    "field", "site", "from", "to", "depth_cm", *_NUMBERS[:-4], "frozen_days", "coverage",
    "last_full", "crop", "open", "top_cm", "bottom_cm", "largest_deficit_mm",
    "loss_up_mm", "loss_down_mm", "emptied_by", "emptied_on", "standing",
]  # fmt: skip


def _dates(days: list[date], count: int) -> NDArray:
    return np.repeat(np.array(days, dtype="datetime64[D]").astype("datetime64[us]"), count)
