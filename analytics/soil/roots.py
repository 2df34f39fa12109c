"""What roots took from each layer by day, and from when a layer was rooted."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from analytics.model import Bools, Daily, Floats, Layer, Record, Season, Times
from analytics.settings import Settings
from analytics.soil.calendar import local_days, local_hours, sampling_step
from analytics.soil.flags import UNUSABLE
from analytics.soil.series import MAD_TO_SD, quantiles, thickness_mm

DAY_FROM_H, DAY_TO_H = 6.0, 20.0
WINDOW_H = 2.0  # an end of the day is the mean of what was read so long on its night side
DAY_HOURS = DAY_TO_H - DAY_FROM_H + WINDOW_H  # from the middle of one window to the other's
NIGHT_HOURS = 24.0 - DAY_HOURS
NOISE_FACTOR = 3.0
ROOTED_DAYS, ROOTED_OF = 3, 5  # methods: three of five days with significant uptake
FORTNIGHT = 14  # days: a slow pull shows in the fall of a fortnight, not in that of a day
LEAST_FALLOW_DAYS = 20  # fewer days without a crop tell nothing of the noise
COARSEST_H = 6.0  # a record with longer steps has no day and night


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pull:
    """Daily uptake of every layer, crop or not."""

    theta_d: Floats  # (D, k) m3/m3 a day, NaN where not to be told
    sd: Floats  # (k,)


def uptake(  # noqa: PLR0917 - each is a record of its own kind
    record: Record,
    flags: NDArray[np.uint16],
    daily: Daily,
    layers: tuple[Layer, ...],
    seasons: tuple[Season, ...],
    timezone: str,
    settings: Settings,
) -> pd.DataFrame:
    """Daily uptake of each layer under a crop: the day's fall less the trend of the nights.

    Parameters
    ----------
    record : Record
        Readings; a daily record gives no rows.
    flags : (n, k) uint16
        Readings with a bit of ``UNUSABLE`` count as missing.
    daily : Daily
        Its days are the answer's days.
    layers : tuple of Layer
    seasons : tuple of Season
    timezone : str
        IANA name; the day runs from 06 to 20 h local.
    settings : Settings

    Returns
    -------
    DataFrame
        Columns site, date, depth_cm, mm, rooted. mm keeps its sign: below nought is noise. Days
        on which a layer rose are left out, for water arriving hides what roots took.

    Notes
    -----
    What drains or creeps up at night is taken to go on by day, so the mean trend of the
    nights before and after is taken off. Both ends of a day are read on their night sides
    (04-06 and 20-22 h), so that no uptake is lost in the averaging. A layer is rooted from the
    first of five days, three of which show more than 3 sigma; or, where the pull is slow, of
    five days in a row on which the fortnight around it shows a fall of more than 3 sigma, the
    layer having come down by ``rooted_fall`` since it was planted over: so much drainage alone
    does not take from a drained layer. Either sigma is that of the days without a crop.
    """
    if len(record.times) == 0 or len(daily.days) == 0:
        return _nothing(daily)
    cropped = _cropped(daily.days, seasons)
    under_crop: Bools = np.logical_or.reduce(cropped, axis=0)
    if not under_crop.any() or _coarse(record.times):
        return _nothing(daily)
    pull = _pull(record, flags, daily, timezone, ~under_crop, settings)
    rooted = _rooted(pull.theta_d > NOISE_FACTOR * pull.sd, cropped, ROOTED_DAYS)
    rooted |= _rooted(_slow_falls(daily, cropped, ~under_crop, settings), cropped, ROOTED_OF)
    layer_mm = thickness_mm(daily.depths_cm, layers)
    told = np.isfinite(pull.theta_d) & under_crop[:, None] & (layer_mm > 0.0)
    cells = np.argwhere(told)
    mm = (pull.theta_d * layer_mm)[told]
    return _frame(daily, cells, mm, rooted[told])


def _coarse(times: Times) -> bool:
    return sampling_step(times) > COARSEST_H


def _cropped(days: Times, seasons: tuple[Season, ...]) -> Bools:
    """One row a season: its days from planting to harvest, or to today."""
    rows = [np.zeros(len(days), dtype=bool)]
    for season in seasons:
        end = (
            days[-1] if season.harvested_on is None else np.datetime64(season.harvested_on, "D")
        )
        rows.append((days >= np.datetime64(season.planted_on, "D")) & (days <= end))
    return np.array(rows)


def _pull(  # noqa: PLR0917 - as `uptake`
    record: Record, flags: NDArray[np.uint16], daily: Daily, timezone: str, fallow: Bools,
    settings: Settings,
) -> Pull:  # fmt: skip
    since = local_days(record.times, timezone) - daily.days[0]
    day = since.astype("timedelta64[D]").astype(np.int64)
    hours = local_hours(record.times, timezone)
    morning = _near(record, flags, day, DAY_FROM_H - hours, len(daily.days))
    evening = _near(record, flags, day, hours - DAY_TO_H, len(daily.days))
    by_day = morning - evening
    by_night = np.full_like(by_day, np.nan)
    by_night[1:] = evening[:-1] - morning[1:]
    after = np.full_like(by_night, np.nan)
    after[:-1] = by_night[1:]
    trend = _either(by_night, after) / NIGHT_HOURS
    rose = np.fmin(np.fmin(by_night, after), by_day) < -settings.layer_rise
    theta_d = np.where(rose, np.nan, by_day - DAY_HOURS * trend)
    return Pull(theta_d=theta_d, sd=_noise(theta_d[fallow], settings.uptake_floor, settings))


def _slow_falls(daily: Daily, cropped: Bools, fallow: Bools, settings: Settings) -> Bools:
    """Days on which the fortnight around shows a layer going down slowly but surely, (D, k)."""
    half = FORTNIGHT // 2
    state = np.where(daily.frozen | daily.held, np.nan, daily.state)
    fall_d = np.full_like(state, np.nan)
    fall_d[half:-half] = (state[: -2 * half] - state[2 * half :]) / FORTNIGHT
    floor = settings.uptake_floor / np.sqrt(FORTNIGHT)
    sure = fall_d > NOISE_FACTOR * _noise(fall_d[fallow], floor, settings)
    down = np.zeros(state.shape, dtype=bool)
    for days in cropped:
        inside = np.where(days[:, None], state, np.nan)
        top = np.fmax.accumulate(inside, axis=0)
        down |= top - inside >= settings.rooted_fall
    return sure & down


def _near(
    record: Record, flags: NDArray[np.uint16], day: NDArray[np.int64], away_h: Floats, days: int
) -> Floats:
    """Mean of each day's good readings within a window of the night, (D, k)."""
    rows = np.flatnonzero((away_h >= 0.0) & (away_h <= WINDOW_H) & (day >= 0) & (day < days))
    mean = np.full((days, record.theta.shape[1]), np.nan)
    if len(rows) == 0:
        return mean
    theta = record.theta[rows]
    good = np.isfinite(theta) & ((flags[rows] & np.uint16(UNUSABLE)) == 0)
    cuts = np.flatnonzero(np.diff(day[rows], prepend=-1))
    count = np.add.reduceat(good, cuts, axis=0, dtype=np.float64)
    total = np.add.reduceat(np.where(good, theta, 0.0), cuts, axis=0)
    mean[day[rows][cuts]] = total / np.where(count > 0, count, np.nan)
    return mean


def _either(one: Floats, other: Floats) -> Floats:
    """Mean of two, or the one that is known."""
    both = np.where(np.isnan(one), other, one), np.where(np.isnan(other), one, other)
    return (both[0] + both[1]) / 2


def _noise(theta_d: Floats, floor: float, settings: Settings) -> Floats:
    """Robust spread of each layer's would-be uptake on days without a crop, from a floor up."""
    enough = np.isfinite(theta_d).sum(axis=0) >= LEAST_FALLOW_DAYS
    spread = MAD_TO_SD * quantiles(np.abs(theta_d), 0.5)[0]
    return np.maximum(np.where(enough, spread, settings.sensor_sd), floor)


def _rooted(significant: Bools, cropped: Bools, least: int) -> Bools:
    """Mark, within each season, a layer's days from the first of its rooted ones on.

    The first is one from which ``least`` of five days show it.
    """
    rooted = np.zeros_like(significant)
    for days in cropped:
        shown = significant & days[:, None]
        ahead = np.concatenate([shown, np.zeros((ROOTED_OF - 1, shown.shape[1]), dtype=bool)])
        often = sliding_window_view(ahead, ROOTED_OF, axis=0).sum(axis=-1) >= least
        rooted |= np.logical_or.accumulate(often & shown, axis=0) & days[:, None]
    return rooted


def _nothing(daily: Daily) -> pd.DataFrame:
    return _frame(daily, np.zeros((0, 2), dtype=np.intp), np.empty(0), np.empty(0, bool))


def _frame(daily: Daily, cells: NDArray[np.intp], mm: Floats, rooted: Bools) -> pd.DataFrame:
    days = daily.days.astype("datetime64[us]")
    return pd.DataFrame({
        "site": pd.array([daily.site] * len(cells), dtype="str"),
        "date": days[cells[:, 0]],
        "depth_cm": daily.depths_cm[cells[:, 1]],
        "mm": mm,
        "rooted": rooted,
    })  # fmt: skip
