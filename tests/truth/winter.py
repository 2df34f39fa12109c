"""The winter science against the district's true water and heat, which share no code with it.

``measure`` reads clean hourly probes (sensor offsets and noise, no faults) of a simulated
truth, lets the program assess them, and lays each of its figures beside the true one.
"""

from collections.abc import Iterable
from datetime import date

import numpy as np
import pandas as pd

from analytics.assess import trusted
from analytics.model import Layer, Placement, Record, Season, SiteInputs
from analytics.settings import Settings
from analytics.soil.calendar import daily_values
from analytics.soil.frost import frost_told
from analytics.soil.hours import hours_of
from analytics.soil.limits import all_points, learn_limits
from analytics.soil.offseason import off_seasons, tally
from analytics.soil.profile import resolve_layers
from analytics.soil.wetting import find_wettings, received_water
from demo_data.district import DISTRICT, SITE_INDEX, TIMEZONE, nearest_station
from demo_data.heat import NODE_MIDS_CM, STEPS_A_DAY, temperature_c
from demo_data.rotations import harvested_by_today
from demo_data.sensors import read_probe
from demo_data.truth import LayerTruth, Truth, layer_truth

SETTINGS = Settings()
NO_POINTS = pd.DataFrame(
    columns=["site", "placement", "depth_cm", "point", "value", "sd", "state", "valid_from",
             "set_by", "reason", "wettings", "ponded"]
)  # fmt: skip
RISE_MM = 1.0  # a layer's true water rose by so much: reached
EVENT_MM = 5.0  # wettings over so much are judged
BEFORE_DAWN = (1, 2)  # steps of a day that end at 03 and 06 h


def inputs(truth: Truth, site: str, seed: int) -> SiteInputs:
    """Put one clean probe and what people would know about it together."""
    index = SITE_INDEX[site]
    plot = DISTRICT[index]
    reading = read_probe(np.random.default_rng([seed, index]), truth, site)
    placed = Placement(
        site=site, field=plot.field, number=1, latitude=37.0, longitude=-101.0,
        timezone=TIMEZONE, installed_on=date(2018, 1, 1), removed_on=None,
    )  # fmt: skip
    record = Record(
        site=site, times=reading.times, depths_cm=np.array(reading.depths_cm),
        theta=reading.theta.astype(float), temp_c=reading.temp_c.astype(float),
    )  # fmt: skip
    crops = tuple(
        Season(field=plot.field, crop=one.crop.name, planted_on=one.planted_on,
               harvested_on=one.harvested_on if harvested_by_today(one) else None)
        for one in truth.seasons if one.index == index
    )  # fmt: skip
    return SiteInputs(
        record=record, field=plot.field, soil=plot.texture, placements=(placed,),
        layers=tuple[Layer, ...](()), seasons=crops, water=_water(truth, index),
        weather=_weather(truth, index), set_limits=NO_POINTS,
        as_of=truth.days[-1].astype("datetime64[D]").item(),
    )  # fmt: skip


def _water(truth: Truth, index: int) -> pd.DataFrame:
    """Give the field's own log: rain, snow and irrigation of every day that brought some."""
    days = truth.days.astype("datetime64[us]")
    parts = [
        pd.DataFrame({"date": days, "kind": kind, "mm": mm[:, index]})
        for kind, mm in (("rain", truth.rain_mm), ("snow", truth.snow_mm),
                         ("irrigation", truth.irrigation_mm))
    ]  # fmt: skip
    whole = pd.concat(parts, ignore_index=True)
    return whole[whole["mm"] > 0].reset_index(drop=True)


def _weather(truth: Truth, index: int) -> pd.DataFrame:
    near = nearest_station(DISTRICT[index])
    keep = np.isin(truth.weather.days, truth.days)
    return pd.DataFrame({
        "date": truth.days.astype("datetime64[us]"),
        "tmin_c": truth.weather.tmin_c[keep, near], "tmax_c": truth.weather.tmax_c[keep, near],
        "rain_mm": truth.weather.rain_mm[keep, near],
        "snow_mm": truth.weather.snow_mm[keep, near],
    })  # fmt: skip


def assessed(own: SiteInputs) -> dict[str, pd.DataFrame]:
    """Run the program's winter rooms on one site."""
    layers = resolve_layers(own.record.site, own.record.depths_cm, own.layers, own.soil)
    received = received_water(own.water, own.weather)
    flags, placements = trusted(own, received, SETTINGS)
    daily = daily_values(own.record, flags, placements, SETTINGS)
    limits = learn_limits(daily, layers, own.seasons, placements, own.set_limits, SETTINGS)
    points = all_points(limits, layers, placements)
    wettings, parts = find_wettings(
        daily, layers, received, SETTINGS, hours_of(own.record, flags, placements, SETTINGS)
    )
    first = daily.days[0].astype("datetime64[D]").item()
    winters = off_seasons(own.field, own.seasons, first, own.as_of)
    return {
        "wettings": wettings,
        "frost": frost_told(daily, own.weather, SETTINGS),
        "tally": tally(
            daily, layers, winters, points, wettings, parts, received, SETTINGS
        ),
    }  # fmt: skip


def dawn_mm(known: LayerTruth) -> np.ndarray:
    """True water before dawn, (days, k) mm."""
    days = len(known.water_mm) // STEPS_A_DAY
    steps = known.water_mm[: days * STEPS_A_DAY].reshape(days, STEPS_A_DAY, -1)
    return steps[:, BEFORE_DAWN[0] - 1 : BEFORE_DAWN[1]].mean(axis=1)


def ledger_rows(truth: Truth, site: str, table: pd.DataFrame) -> pd.DataFrame:
    """Each layer's off-season change as told and as it was, and drainage likewise."""
    known, zero = layer_truth(truth, site), truth.days[0]
    water = dawn_mm(known)
    leaving = truth.flow.drainage_mm[:, SITE_INDEX[site]].reshape(-1, STEPS_A_DAY).sum(axis=1)
    rows = []
    for one in table.to_dict("records"):
        begun, ended = (
            int((np.datetime64(one[name], "D") - zero).astype(int)) for name in ("from", "to")
        )
        if begun < 0:
            continue
        whole = np.isnan(one["depth_cm"])
        own = water if whole else water[:, known.depths_cm == one["depth_cm"]]
        rows.append({
            "site": site, "from": one["from"], "depth_cm": one["depth_cm"],
            "told_mm": one["change_mm"], "true_mm": own[ended].sum() - own[begun].sum(),
            "drained_mm": one["drainage_mm"] if whole else np.nan,
            "true_drained_mm": leaving[begun:ended].sum(),
        })  # fmt: skip
    return pd.DataFrame(rows)


def wetting_rows(truth: Truth, site: str, table: pd.DataFrame) -> pd.DataFrame:
    """Each wetting over ``EVENT_MM``: deepest sensor reached, as told and as it was."""
    known, zero = layer_truth(truth, site), truth.days[0]
    starts = ((table["start"].to_numpy("datetime64[D]") - zero).astype(int)).tolist()
    following = [*starts[1:], len(truth.days)]
    rows = []
    for one, start, until in zip(table.to_dict("records"), starts, following, strict=True):
        if one["stored_mm"] <= EVENT_MM:
            continue
        end = int((np.datetime64(one["end"], "D") - zero).astype(int))
        stop = min(end + int(SETTINGS.follow_days), until - 1)
        true = _deepest(known, start, stop)
        told = int(np.flatnonzero(known.depths_cm == one["depth_reached_cm"])[0])
        rows.append({"site": site, "start": one["start"], "told": told, "true": true,
                     "bypass": one["bypass"], "cause": one["cause"],
                     "stored_mm": one["stored_mm"],
                     "applied_mm": one["applied_mm"]})  # fmt: skip
    return pd.DataFrame(rows)


def true_wettings(truth: Truth, site: str, table: pd.DataFrame) -> pd.DataFrame:
    """Find days on which true water rose by over ``EVENT_MM``, and whether one was told."""
    index = SITE_INDEX[site]
    gained = np.diff(dawn_mm(layer_truth(truth, site)).sum(axis=1), prepend=np.nan)
    days = np.flatnonzero(gained > EVENT_MM)
    days = days[np.diff(days, prepend=-9) > 1]
    zero = truth.days[0]
    begun, ended = (
        (table[name].to_numpy("datetime64[D]") - zero).astype(int) for name in ("start", "end")
    )
    told = (begun[None] - 2 <= days[:, None]) & (days[:, None] <= ended[None] + 1)
    cold = temperature_c(truth.heat_k[days * STEPS_A_DAY, index]).min(axis=1) <= 0.0
    return pd.DataFrame({"site": site, "day": truth.days[days], "found": told.any(axis=1),
                         "frozen": cold})  # fmt: skip


def _deepest(known: LayerTruth, start: int, stop: int) -> int:
    """Find the deepest layer whose water rose after, or with, the one above it."""
    first = (start - 1) * STEPS_A_DAY + 1  # the step that ends at 06 h of the day before
    part = known.water_mm[first : stop * STEPS_A_DAY + BEFORE_DAWN[1]]
    risen = part - part[0] > RISE_MM
    deepest, latest = -1, 0
    for layer in range(risen.shape[1]):
        when = int(risen[:, layer].argmax())
        if risen[:, layer].any() and when >= latest:
            deepest, latest = layer, when
    return deepest


def frost_rows(
    truth: Truth, site: str, table: pd.DataFrame, depths: np.ndarray
) -> pd.DataFrame:
    """Each day's deepest frost as told, and the true 0 C line from nodes 10 cm apart."""
    warm = temperature_c(truth.heat_k[:, SITE_INDEX[site]]).astype(float)
    days = len(truth.days)
    warm = warm[: days * STEPS_A_DAY].reshape(days, STEPS_A_DAY, -1).mean(axis=1)
    true = np.array([_isotherm(one) for one in warm])
    told = table.groupby("date")["bottom_cm"].max()
    told = told.reindex(truth.days.astype("datetime64[us]"), fill_value=0.0).to_numpy()
    spacing = np.interp(true, depths[1:], np.diff(depths))
    some = (true > depths[0]) | (told > 0)
    return pd.DataFrame({"site": site, "day": truth.days[some], "told_cm": told[some],
                         "true_cm": true[some], "spacing_cm": spacing[some]})  # fmt: skip


def _isotherm(warm: np.ndarray) -> float:
    cold = np.flatnonzero(warm <= 0.0)
    if not len(cold):
        return 0.0
    low = int(cold[-1])
    if low == len(warm) - 1:
        return float(NODE_MIDS_CM[low])
    step = (0.0 - warm[low]) / (warm[low + 1] - warm[low])
    return float(NODE_MIDS_CM[low] + step * (NODE_MIDS_CM[low + 1] - NODE_MIDS_CM[low]))


def measure(truth: Truth, sites: Iterable[str], seed: int) -> dict[str, pd.DataFrame]:
    """Lay told beside true for some sites, a table for each thing that is measured."""
    parts: dict[str, list[pd.DataFrame]] = {
        name: [] for name in ("ledger", "wettings", "true_wettings", "frost")
    }
    for site in sites:
        own = inputs(truth, site, seed)
        told = assessed(own)
        parts["ledger"].append(ledger_rows(truth, site, told["tally"]))
        parts["wettings"].append(wetting_rows(truth, site, told["wettings"]))
        parts["true_wettings"].append(true_wettings(truth, site, told["wettings"]))
        frost = frost_rows(truth, site, told["frost"], own.record.depths_cm)
        parts["frost"].append(frost)
    return {name: pd.concat(some, ignore_index=True) for name, some in parts.items()}
