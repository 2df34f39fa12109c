"""Wettings: when water came, why, how far down it went and how much of it stayed."""

from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.model import Daily, Floats, Layer, Times
from analytics.settings import Settings
from analytics.soil.follow import Event, events_of, rises_since, span_of
from analytics.soil.hours import Hours

KINDS = ("rain", "snow", "irrigation")
DAY = np.timedelta64(1, "D")
GAUGE_RUNS = np.timedelta64(30, "D")
"""A field's own gauge without a row for longer may not be up; ours."""


def received_water(water: pd.DataFrame, weather: pd.DataFrame) -> pd.DataFrame:
    """Water that reached a field, its own gauge first, the nearest station elsewhere.

    A field's gauge is trusted between rows of rain or snow that lie no further than
    ``GAUGE_RUNS`` apart, so that a day without a row there was dry; elsewhere, as in the winter
    of a gauge that is put up for the season, the station's rain and snow stand in. Irrigation
    only ever comes from the field's own rows.

    Parameters
    ----------
    water : DataFrame
        Columns date, kind, mm: the field's own rows.
    weather : DataFrame
        Columns date, rain_mm and, optionally, snow_mm (water equivalent).

    Returns
    -------
    DataFrame
        Columns date (datetime64[us]), kind, mm, by date; only days on which water came.
    """
    parts = [_own_rows(water)]
    parts += _station_rows(weather, parts[0])
    wet = [_wet(one) for one in parts]
    days, kinds, mm = (np.concatenate(column) for column in zip(*wet, strict=True))
    order = np.lexsort((kinds, days))
    return pd.DataFrame(
        {"date": days[order], "kind": pd.array(kinds[order], dtype="str"), "mm": mm[order]}
    )


class _Rows(NamedTuple):
    """Days, kinds and depths of water."""

    days: Times
    kinds: NDArray[np.str_]
    mm: Floats


def told_days(water: pd.DataFrame, weather: pd.DataFrame) -> Times:
    """List the days of which it is known what fell on a field.

    Parameters
    ----------
    water, weather : DataFrame
        As `received_water` takes them.

    Returns
    -------
    (n,) datetime64[D]
        Ascending, none twice: the station's days that tell of rain, and those on which a gauge
        of the field's own ran.
    """
    station = weather["date"][weather["rain_mm"].notna()] if len(weather) else []
    return np.union1d(np.asarray(station, "datetime64[D]"), _gauged(_own_rows(water)))


def _gauged(own: _Rows) -> Times:
    """List the days on which a field's own gauge ran, (n,) datetime64[D]."""
    told = np.unique(own.days[np.isin(own.kinds, ("rain", "snow"))].astype("datetime64[D]"))
    if not len(told):
        return told
    days = np.arange(told[0], told[-1] + DAY)
    before = told[np.searchsorted(told, days, side="right") - 1]
    after = told[np.searchsorted(told, days)]
    return days[after - before <= GAUGE_RUNS]


def _wet(rows: _Rows) -> _Rows:
    some = rows.mm > 0.0
    return _Rows(rows.days[some], rows.kinds[some], rows.mm[some])


def _own_rows(water: pd.DataFrame) -> _Rows:
    days = water["date"].to_numpy("datetime64[us]")
    return _Rows(days, water["kind"].to_numpy("U10"), water["mm"].to_numpy(np.float64))


def _station_rows(weather: pd.DataFrame, own: _Rows) -> list[_Rows]:
    """Rain and snow of the station's days on which no gauge of the field's own ran."""
    if not len(weather):
        return []
    days = weather["date"].to_numpy("datetime64[us]")
    outside = ~np.isin(days, _gauged(own))
    return [
        _Rows(days[outside], np.full(outside.sum(), kind), mm[outside])
        for kind in ("rain", "snow")
        if f"{kind}_mm" in weather
        for mm in [weather[f"{kind}_mm"].to_numpy(np.float64, na_value=np.nan)]
    ]


def find_wettings(
    daily: Daily,
    layers: tuple[Layer, ...],
    received: pd.DataFrame,
    settings: Settings,
    hours: Hours | None = None,
    *,
    since: np.datetime64 | None = None,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Find each wetting of a site and follow it down its layers.

    A wetting starts where the profile's water rises within a day by more than
    max(``wetting_mm``, 3 sigma of its daily steps). Water that merely moves down leaves the
    profile's sum alone and starts none. A layer answers when it stands more than
    max(``layer_rise``, 3 sigma) above its value before, for two days running, within
    ``follow_days`` of the last rise; an arrival after the next wetting began is the next one's.
    What is stored is read on one day for all layers, ``steady_days`` after the last rise or
    arrival, so that water on its way down is counted once.

    Parameters
    ----------
    daily : Daily
    layers : tuple of Layer
        A sensor without a layer counts for nothing.
    received : DataFrame
        As `received_water` gives it.
    settings : Settings
    hours : Hours, optional
        The record's own readings, where they tell the hour: rises on neighbouring days with
        a pause of ``same_event_h`` between them are then two wettings, an answer that is
        gone by dawn is seen, and ``arrival_at`` is the instant (UTC) at which a layer first
        stood above its threshold to stay. Without, or across holes, wettings are followed by
        the day: one quiet day between two rises still makes them one.
    since : datetime64[D], optional
        Only wettings whose rises end on that day or later, and the last one before them, which
        may have taken the credit for water that came before theirs.

    Returns
    -------
    wettings, wetting_layers : DataFrame
        Columns of the contract; ``start`` is the first day whose state stands higher. mm,
        m3/m3, cm. Never across placements. Depth reached is the deepest sensor of an unbroken
        answer from the top one down; ``bypass`` marks an answer beneath a silent layer, or one
        that came more than a day before a layer above, or one that gained ``aside_factor``
        times what fell and what the layer above gained. Water received is credited to one
        wetting only; ``storage_efficiency`` is stored over applied.
    """
    found: list[tuple[int, Event]] = []
    days = received["date"].to_numpy().astype("datetime64[D]")
    for number in np.unique(daily.placement[daily.placement > 0]):
        rows = np.flatnonzero(daily.placement == number)
        begun = 0 if since is None else int((since - daily.days[rows[0]]) / DAY)
        if begun > rows[-1] - rows[0]:
            continue
        if since is not None and not rises_since(daily, layers, since, settings):
            continue
        span = span_of(daily, layers, rows, received=days, hours=hours, settings=settings)
        found += [(int(rows[0]), event) for event in events_of(span, settings, max(begun, 0))]
    return _wettings(daily, received, found, settings), _wetting_layers(daily, found)


def _spans(rows: NDArray[np.intp], settings: Settings) -> NDArray[np.intp]:
    """Days whose water may have caused each wetting, (m, 2) rows of the record, both included.

    From ``cause_days`` before its first day to its last one. Water of one day is never
    credited to two wettings: it shows in the state of the day after, so the days up to two
    before a wetting's first belong to the one before, where both reach for them.
    """
    first, last = rows[:, 0] - int(settings.cause_days), rows[:, 1].copy()
    last[:-1] = np.minimum(last[:-1], rows[1:, 0] - 2)
    first[1:] = np.maximum(first[1:], last[:-1] + 1)
    return np.column_stack([first, np.maximum(last, first - 1)])


def _arrived(
    daily: Daily, received: pd.DataFrame, spans: NDArray[np.intp], settings: Settings
) -> Floats:
    """Water of each kind that came within each span of days, mm."""
    days = received["date"].to_numpy().astype("datetime64[D]")
    row = ((days - daily.days[0]) / DAY).astype(np.intp) if len(days) else np.empty(0, np.intp)
    reach, size = int(settings.cause_days), len(daily.days)
    near = (row >= -reach) & (row < size)
    kinds, mm = received["kind"].to_numpy(), received["mm"].to_numpy(dtype=float)
    sums = np.zeros((len(spans), len(KINDS)))
    for column, kind in enumerate(KINDS):
        pick = near & (kinds == kind)
        total = np.bincount(row[pick] + reach, weights=mm[pick], minlength=size + reach)
        running = np.concatenate([[0.0], np.cumsum(total)])
        sums[:, column] = running[spans[:, 1] + reach + 1] - running[spans[:, 0] + reach]
    return sums


def _cause(arrived: Floats, event: Event, settings: Settings) -> str:
    if arrived.sum() > 0.0 and arrived.sum() >= settings.cause_share * event.gained_mm:
        return KINDS[int(arrived.argmax())]
    return "thaw" if event.thawed else "unexplained"


def _wettings(
    daily: Daily, received: pd.DataFrame, found: list[tuple[int, Event]], settings: Settings
) -> pd.DataFrame:
    spans = np.array([[row + e.start, row + e.end] for row, e in found], dtype=np.intp)
    arrived = _arrived(daily, received, _spans(spans.reshape(-1, 2), settings), settings)
    events = [event for _, event in found]
    causes = [_cause(sums, e, settings) for sums, e in zip(arrived, events, strict=True)]
    applied = arrived.sum(axis=1)
    own = np.isin(causes, KINDS) if causes else np.zeros(0, bool)
    explained = np.where(own, applied, np.inf).tolist()
    stored = np.array([np.nansum(e.stored_mm) for e in events], dtype=float)
    days = daily.days.astype("datetime64[us]")
    return pd.DataFrame({
        "site": pd.array([daily.site] * len(found), dtype="str"),
        "start": days[spans.reshape(-1, 2)[:, 0]],
        "end": days[spans.reshape(-1, 2)[:, 1]],
        "cause": pd.array(causes, dtype="str"),
        "applied_mm": applied,
        "stored_mm": stored,
        "depth_reached_cm": np.array([e.depth_cm for e in events], dtype=float),
        "bypass": np.array(
            [
                e.bypass or _from_aside(e, mm, settings)
                for e, mm in zip(events, explained, strict=True)
            ],
            dtype=bool,
        ),
        "storage_efficiency": _efficiency(applied, stored, settings),
    })  # fmt: skip


def _from_aside(event: Event, applied_mm: float, settings: Settings) -> bool:
    """Say whether a layer gained far more than fell on the field, and than the layer above.

    Such water came round the layers above, from the side or from below.
    """
    stored = np.nan_to_num(event.stored_mm)
    more = stored[1:] > settings.aside_factor * applied_mm
    return bool((more & (stored[1:] > settings.aside_factor * stored[:-1])).any())


def _efficiency(applied: Floats, stored: Floats, settings: Settings) -> Floats:
    """Share of what arrived that stayed; NaN where less arrived than makes a wetting."""
    enough = applied >= settings.wetting_mm
    return np.where(enough, stored / np.where(enough, applied, 1.0), np.nan)


def _wetting_layers(daily: Daily, found: list[tuple[int, Event]]) -> pd.DataFrame:
    counts = [len(event.layers) for _, event in found]
    starts = np.repeat(np.array([row + e.start for row, e in found], dtype=np.intp), counts)
    layers = _joined([e.layers for _, e in found]).astype(np.intp)
    arrivals = _joined([row + e.arrival for row, e in found]).astype(np.intp)
    days = daily.days.astype("datetime64[us]")
    return pd.DataFrame({
        "site": pd.array([daily.site] * len(starts), dtype="str"),
        "start": days[starts],
        "depth_cm": daily.depths_cm[layers],
        "arrival": days[arrivals],
        "rise": _joined([e.rise for _, e in found]),
        "stored_mm": _joined([e.stored_mm for _, e in found]),
        "arrival_at": _instants([e.arrival_at for _, e in found]),
    })  # fmt: skip


def _instants(parts: list[Times]) -> Times:
    return np.concatenate([np.empty(0, "datetime64[us]"), *parts]).astype("datetime64[us]")


def _joined(parts: list[Floats] | list[NDArray[np.intp]]) -> Floats:
    return np.concatenate(parts).astype(float) if parts else np.empty(0)
