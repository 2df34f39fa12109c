"""What changed lately at one probe and needs a person: few words, each with its evidence."""

from datetime import date, timedelta
from typing import NamedTuple

import numpy as np
import pandas as pd

from analytics.contract import TABLES
from analytics.settings import Settings
from analytics.water.ahead import last_pass, offered, path
from analytics.water.depletion import parted_layer
from analytics.water.followed import Place, no_rows
from analytics.water.growth import coefficient
from analytics.water.season import BAND, UNDATED, Opening, run_days, water_dates, weekly_mean
from analytics.water.today import Standing, Supply, look_ahead, since
from analytics.water.years import past_years

NAMES = list(TABLES["news"].names)
Row = dict[str, object]


def news(  # noqa: PLR0917 - each is a fact of its own kind
    place: Place, crops: list[Standing], wettings: pd.DataFrame, supply: Supply, as_of: date,
    settings: Settings,
) -> pd.DataFrame:  # fmt: skip
    """List what changed within ``word_days`` and still holds.

    Parameters
    ----------
    place : Place
    crops : list of Standing
        Crops that stand.
    wettings : DataFrame
        The probe's wettings; ``start`` is used.
    supply : Supply
    as_of : date
    settings : Settings
        Uses word_days, soon_days, quiet_days, answer_rain_mm, answer_days, part_mm.

    Returns
    -------
    DataFrame
        Rows of the contract's ``news``: ``silent`` (figure: days), ``no_answer`` (on: the
        day of rain; figure: mm), ``parted`` (figure: mm drier than water and weather explain;
        depth_cm: the layer that differs most), ``refill`` (on: day; figure: depletion now),
        ``run`` and ``open`` (on: first day), ``last_pass`` (on: day; figure: net mm to go).
    """
    rows = [*_silent(place, as_of, settings), *_no_answer(place, wettings, as_of, settings)]
    for crop in crops:
        rows += _parted(crop, settings)
        rows += _refill(crop, place, supply, settings)
        rows += _windows(crop, place, supply, as_of, settings)
        rows += _leave(crop, place, supply, as_of, settings)
    if not rows:
        return no_rows("news")
    frame = pd.DataFrame(
        [{"field": place.field, "site": place.site, **row} for row in rows], columns=NAMES
    )
    fresh = pd.Timestamp(as_of) - pd.Timedelta(days=settings.word_days)
    frame["since"], frame["on"] = (pd.to_datetime(frame[name]) for name in ("since", "on"))
    return frame[frame["since"] >= fresh].reset_index(drop=True)


def _silent(place: Place, as_of: date, settings: Settings) -> list[Row]:
    read = np.flatnonzero(np.isfinite(place.daily.state).any(axis=1))
    if not len(read):
        return []
    newest: date = place.daily.days[read[-1]].astype("datetime64[D]").item()
    days = (as_of - newest).days
    if days <= settings.quiet_days:
        return []
    began = newest + timedelta(days=int(settings.quiet_days) + 1)
    return [{"kind": "silent", "since": began, "on": newest, "figure": float(days)}]


def _no_answer(
    place: Place, wettings: pd.DataFrame, as_of: date, settings: Settings
) -> list[Row]:
    """Find days of rain that no layer answered, though the probe read and was not frozen."""
    wait = np.timedelta64(int(settings.answer_days), "D")
    until = np.datetime64(as_of, "D") - wait
    begun = until - np.timedelta64(int(settings.word_days), "D")
    days = place.received["date"].to_numpy("datetime64[D]")
    fell = place.received["mm"].to_numpy(np.float64)
    much = (days >= begun) & (days <= until) & (fell >= settings.answer_rain_mm)
    rows = [at for at in np.flatnonzero(much) if place.received["kind"].array[at] == "rain"]
    starts = wettings["start"].to_numpy("datetime64[D]")
    daily = place.daily
    out: list[Row] = []
    for on, mm in zip(days[rows], fell[rows], strict=True):
        answered = ((starts >= on - 1) & (starts <= on + wait)).any()
        span = (daily.days >= on - 1) & (daily.days <= on + wait)
        shut = daily.frozen[span][:, :1].any() or daily.held[span][:, :1].any()
        seen = np.isfinite(daily.state[span][:, :1]).all() and span.any()
        if not answered and seen and not shut:
            out.append({"kind": "no_answer", "since": pd.Timestamp(on + wait),
                        "on": pd.Timestamp(on), "figure": float(mm)})  # fmt: skip
    return out


def _parted(crop: Standing, settings: Settings) -> list[Row]:
    apart = crop.told["apart_mm"].to_numpy(np.float64)
    far = np.abs(apart) >= settings.part_mm
    if not far[-1]:
        return []
    days = since(lambda back: bool(far[-1 - back]), min(len(far) - 1, int(settings.word_days)))
    layer = parted_layer(crop.grown, len(apart) - 1, settings)
    return [{"kind": "parted", "since": crop.last - timedelta(days=days), "on": crop.last,
             "figure": float(apart[-1]),
             "depth_cm": layer.depth_cm if layer else None}]  # fmt: skip


def _refill(crop: Standing, place: Place, supply: Supply, settings: Settings) -> list[Row]:
    """Tell that the refill point is near if nothing is put on."""
    soon = int(settings.soon_days)

    def when(back: int) -> date | None:
        ahead = look_ahead(crop, place, supply, 0.0, settings, back=back, most=soon)
        return None if ahead is None else path(ahead, offered(ahead, None)).refill_on

    on = when(0)
    if on is None:
        return []
    days = since(lambda back: when(back) is not None, int(settings.word_days) + 1)
    return [{"kind": "refill", "since": crop.last - timedelta(days=days), "on": on,
             "figure": float(crop.told["probe_mm"].iloc[-1])}]  # fmt: skip


class Window(NamedTuple):
    """A standing crop's season: its demand, the weeks in which to run, and those with water.

    ``demand`` has date, low_mm_d, middle_mm_d, high_mm_d, sure_mm_d. ``run`` is the first and
    the last day on which the source cannot keep up; None where it always can, or there is
    none. ``water`` tells where the source's dates cut the season (`season.water_dates`).
    """

    demand: pd.DataFrame
    run: tuple[date, date] | None
    water: Opening = UNDATED


def crop_window(crop: Standing, place: Place, supply: Supply, settings: Settings) -> Window:
    """Demand of a standing crop over its whole season, and the weeks in which to run."""
    start = crop.season.planted_on
    kc = coefficient(crop.grown.crop, sum(crop.grown.crop.stages_d))
    years = past_years(place.days, start, len(kc), settings)
    years = years.only(years.starts != np.datetime64(start, "D"))
    if len(years) < settings.least_years:
        return Window(pd.DataFrame(), None)
    weekly = weekly_mean(kc * years.weather.eto_mm)
    low, middle, high = np.quantile(weekly, BAND, axis=0)
    sure = np.quantile(weekly, settings.reliability, axis=0)
    dates = pd.date_range(pd.Timestamp(start), periods=len(sure))
    told = pd.DataFrame({"date": dates, "low_mm_d": low, "middle_mm_d": middle,
                         "high_mm_d": high, "sure_mm_d": sure})  # fmt: skip
    days = dates.to_numpy("datetime64[D]")
    none = np.isnan(supply.capacity_mm_d)
    on = supply.opening.on(days)
    rows = None if none else run_days(sure, supply.capacity_mm_d, on)
    run = None if rows is None else (dates[rows[0]].date(), dates[rows[1]].date())
    return Window(told, run, water_dates(days, supply.opening))


def _windows(
    crop: Standing, place: Place, supply: Supply, as_of: date, settings: Settings
) -> list[Row]:
    _, run, water = crop_window(crop, place, supply, settings)
    if run is None:
        return []
    soon = timedelta(days=int(settings.soon_days))
    turns = [("run", run[0])]
    if run[1] != water.last:  # nothing is to be decided where the water ends
        turns.append(("open", run[1] + timedelta(days=1)))
    out: list[Row] = []
    for kind, on in turns:
        if on - soon <= as_of <= on:
            out.append({"kind": kind, "since": on - soon, "on": on})
    return out


def _leave(
    crop: Standing, place: Place, supply: Supply, as_of: date, settings: Settings
) -> list[Row]:
    """Tell that the last irrigation is near, or that nothing more is wanted."""

    def due(back: int) -> tuple[date, float] | None:
        ahead = look_ahead(crop, place, supply, 0.0, settings, back=back)
        if ahead is None or len(ahead) > crop.grown.crop.stages_d[3]:
            return None  # before the late season nobody asks
        if ahead.water is None:
            return None  # no irrigation is left to be the last
        left = last_pass(ahead, settings)
        if left.short_mm > 0.0:
            return None
        on = left.on or ahead.today
        near = (on - ahead.today).days <= settings.soon_days
        return (on, left.net_mm) if near else None

    found = due(0)
    if found is None:
        return []
    days = since(lambda back: due(back) is not None, int(settings.word_days) + 1)
    return [{"kind": "last_pass", "since": as_of - timedelta(days=days), "on": found[0],
             "figure": found[1]}]  # fmt: skip
