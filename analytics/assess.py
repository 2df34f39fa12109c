"""One site's readings in, everything about that site out.

One function of one site, so that any ``concurrent.futures.Executor`` can run it.
"""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.model import Daily, Floats, Placement, SiteInputs
from analytics.settings import Settings
from analytics.soil.calendar import daily_values
from analytics.soil.candidates import candidates
from analytics.soil.disturbance import detected_moves, effective_placements
from analytics.soil.drift import drift
from analytics.soil.edits import apply_edits
from analytics.soil.extraction import extraction
from analytics.soil.frost import frost_told
from analytics.soil.hours import hours_of
from analytics.soil.limits import all_evidence, all_points, learn_limits
from analytics.soil.offseason import last_full, off_seasons, standing_winters, tally
from analytics.soil.profile import resolve_layers
from analytics.soil.quality import find_gaps, flag_spans, quality_flags
from analytics.soil.refill import refill_fits, with_fitted_refill
from analytics.soil.roots import uptake
from analytics.soil.texture import P_REFERENCE_MM_D
from analytics.soil.wetting import find_wettings, received_water, told_days
from analytics.water.demand import crop_named, daily_reference
from analytics.water.readiness import readiness


def assess_site(inputs: SiteInputs, settings: Settings) -> dict[str, pd.DataFrame]:
    """Work out every result table of one site.

    Parameters
    ----------
    inputs : SiteInputs
        The record with at least one reading, and what people know about the site.
    settings : Settings
        The store's thresholds.

    Returns
    -------
    dict of str to DataFrame
        Contract tables: daily, flags, gaps, frost, limits, wettings, wetting_layers,
        tally, readiness, uptake, candidates, drift, extraction.
    """
    record = inputs.record
    layers = resolve_layers(record.site, record.depths_cm, inputs.layers, inputs.soil)
    received = received_water(inputs.water, inputs.weather)
    flags, placements = trusted(inputs, received, settings)
    daily = daily_values(record, flags, placements, settings)
    eto_mm = daily_reference(inputs.weather, daily.days, placements[-1].latitude)
    took = uptake(
        record, flags, daily, layers, inputs.seasons, placements[-1].timezone, settings
    )
    fits = refill_fits(took, daily, eto_mm, layers, inputs.seasons, settings)
    evidence = all_evidence(daily, layers, inputs.seasons, placements, settings)
    learned = learn_limits(
        daily, layers, inputs.seasons, placements, inputs.set_limits, settings,
        peak_demand_mm_d(inputs, daily, eto_mm, settings), evidence,
    )  # fmt: skip
    limits = with_fitted_refill(learned, fits, settings)
    told = candidates(daily, layers, inputs.seasons, placements, limits, settings, evidence)
    points = all_points(limits, layers, placements)
    hours = hours_of(record, flags, placements, settings)
    wettings, wetting_layers = find_wettings(daily, layers, received, settings, hours)
    first_day = daily.days[0].astype("datetime64[D]").item()
    winters = off_seasons(inputs.field, inputs.seasons, first_day, inputs.as_of)
    standing = standing_winters(inputs.field, inputs.seasons, first_day, inputs.as_of, settings)
    full_days = last_full(daily, points, settings)
    spans = flag_spans(record, flags, settings)
    return {
        "daily": daily_frame(daily),
        "flags": spans,
        "gaps": find_gaps(record, flags, placements, inputs.as_of, settings),
        "frost": frost_told(daily, inputs.weather, settings),
        "limits": limits,
        "wettings": wettings,
        "wetting_layers": wetting_layers,
        "tally": tally(
            daily, layers, (*winters, *standing), points, wettings, wetting_layers, received,
            settings, inputs.seasons, told_days(inputs.water, inputs.weather),
        ),
        "readiness": readiness(
            daily, layers, points, inputs.seasons, winters, wettings, wetting_layers,
            full_days, inputs.field, inputs.as_of, settings,
            flags=spans, root_limit_cm=inputs.root_limit_cm,
        ),
        "uptake": took,
        "candidates": pd.concat([told, fits]) if len(fits) else told,
        "drift": drift(told, settings),
        "extraction": extraction(
            daily, took, layers, inputs.seasons, inputs.field, settings
        ),
    }  # fmt: skip


def peak_demand_mm_d(
    inputs: SiteInputs, daily: Daily, eto_mm: Floats, settings: Settings
) -> float:
    """Mean of what the latest crop asks for at full cover, which moves the p of Table 22.

    Parameters
    ----------
    inputs : SiteInputs
    daily : Daily
    eto_mm : (D,) float
        Reference evapotranspiration of its days, NaN where it is not known.
    settings : Settings

    Returns
    -------
    float
        mm/d over all that crop's seasons; FAO-56's 5 mm/d where crop or weather is not known.
    """
    latest = max(inputs.seasons, key=lambda one: one.planted_on, default=None)
    crop = None if latest is None else crop_named(latest.crop)
    if latest is None or crop is None:
        return P_REFERENCE_MM_D
    covered = np.zeros(len(daily.days), dtype=bool)
    for one in inputs.seasons:
        if one.crop == latest.crop and one.harvested_on is not None:
            since = (daily.days - np.datetime64(one.planted_on, "D")).astype(float)
            share = since / max((one.harvested_on - one.planted_on).days, 1)
            covered |= (share >= settings.refill_from) & (share <= settings.refill_until)
    known = eto_mm[covered & np.isfinite(eto_mm)]
    return crop.kc_mid * float(known.mean()) if len(known) else P_REFERENCE_MM_D


def trusted(
    inputs: SiteInputs, received: pd.DataFrame, settings: Settings
) -> tuple[NDArray[np.uint16], tuple[Placement, ...]]:
    """Flag the readings, and part the placements where the probe was moved without a word.

    Parameters
    ----------
    inputs : SiteInputs
    received : DataFrame
        Water received, columns date, kind, mm.
    settings : Settings

    Returns
    -------
    flags : (n, k) uint16
    placements : tuple of Placement
        A new hole settles anew, so that the flags follow the parted placements. People's
        edits are laid over both.
    """
    record, placements, edits = inputs.record, inputs.placements, inputs.flag_edits
    flags = apply_edits(record, quality_flags(record, placements, settings, received), edits)
    moves = detected_moves(record, flags, received, settings)
    parted = effective_placements(placements, moves, edits, settings)
    if parted is not placements:
        found = quality_flags(record, parted, settings, received)
        flags = apply_edits(record, found, edits)
    return flags, parted


def daily_frame(daily: Daily) -> pd.DataFrame:
    """Lay one site's days out as rows of the ``daily`` table, days without a word left out.

    Parameters
    ----------
    daily : Daily
        D days by k layers.

    Returns
    -------
    DataFrame
        A row a layer and day that has a reading, a held value or a temperature.
    """
    days, sensors = daily.state.shape
    told = ~(np.isnan(daily.state) & np.isnan(daily.mean) & np.isnan(daily.temp_c))
    frame = pd.DataFrame(
        {
            "site": daily.site,
            "depth_cm": np.tile(daily.depths_cm, days),
            "date": np.repeat(daily.days, sensors).astype("datetime64[us]"),
            "placement": np.repeat(daily.placement, sensors),
            "first": daily.first.ravel(),
            "last": daily.last.ravel(),
            "low": daily.low.ravel(),
            "high": daily.high.ravel(),
            "mean": daily.mean.ravel(),
            "predawn": daily.predawn.ravel(),
            "state": daily.state.ravel(),
            "temp_c": daily.temp_c.ravel(),
            "good": daily.good.ravel(),
            "frozen": daily.frozen.ravel(),
            "held": daily.held.ravel(),
        }
    )
    return frame[told.ravel()].reset_index(drop=True)
