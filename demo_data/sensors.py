"""What a buried probe reports: offset, noise, ice that reads as dry, a hole that settles."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from demo_data import START
from demo_data.cases import CASES
from demo_data.district import DISTRICT, SITE_INDEX, STANDARD_OFFSET_H, depths_of
from demo_data.heat import (
    NODE_CM,
    NODE_MIDS_CM,
    STEP_H,
    Singles,
    ice_share,
    temperature_c,
)
from demo_data.soils import THICK_CM, THICK_MM
from demo_data.truth import Truth

OFFSET_SD = 0.009
NOISE_SD = (0.0012, 0.0019)
TEMP_NOISE_SD = 0.06
UNFROZEN = 0.055  # m3/m3 of water that stays liquid in hard-frozen soil
LAST_HOUR = 6  # local standard hour of the last reading, on the last day
SETTLING = 0.055  # m3/m3 by which a new hole reads low at first, less with depth
SETTLING_DAYS = 11.0


@dataclass(slots=True, kw_only=True, eq=False)
class Reading:
    """One site's hourly readings, open to faults: ``theta`` and ``temp_c`` are (hours, k)."""

    site: str
    times: NDArray[np.datetime64]
    depths_cm: tuple[float, ...]
    theta: Singles
    temp_c: Singles


def instant(day: np.datetime64) -> np.datetime64:
    """Give the UTC instant at which a local day (standard time) begins."""
    return day.astype("datetime64[us]") + np.timedelta64(STANDARD_OFFSET_H, "h")


def _single(values: NDArray[np.floating]) -> Singles:
    return np.asarray(values, np.float32)


def _hourly(steps: Singles, hours: int) -> Singles:
    """Draw straight lines between the steps' ends; the first step's end serves its start."""
    held = np.concatenate([steps[:1], steps])
    share = (np.arange(STEP_H, dtype=np.float32) / STEP_H)[None, :, None]
    lines = held[:-1, None] + share * (held[1:, None] - held[:-1, None])
    return _single(lines.reshape(-1, steps.shape[1])[:hours])


def _at_depths(nodes: Singles, depths: NDArray[np.float64]) -> Singles:
    """Interpolate heat nodes (steps, nodes) at sensor depths (steps, k)."""
    place = depths / NODE_CM - 0.5
    low = np.clip(place.astype(int), 0, len(NODE_MIDS_CM) - 2)
    share = (place - low).astype(np.float32)
    return _single(nodes[:, low] * (1 - share) + nodes[:, low + 1] * share)


def _window(slices: Singles, depths: NDArray[np.float64]) -> Singles:
    """Average the two slices round each sensor: theta (steps, k)."""
    below = (depths / THICK_CM).astype(int)
    return _single((slices[:, below - 1] + slices[:, below]) * np.float32(0.5 / THICK_MM))


def _offsets(
    rng: np.random.Generator, site: str, times: NDArray[np.datetime64], sensors: int
) -> Singles:
    """Give each sensor's offset at each hour; a re-installed probe changes its offsets."""
    first = rng.normal(0, OFFSET_SD, sensors).astype(np.float32)
    if site != CASES["reinstalled"].site:
        return first[None, :]
    again = rng.normal(0, 2 * OFFSET_SD, sensors).astype(np.float32)
    back = instant(np.datetime64(CASES["reinstalled"].start))
    age = (times - back) / np.timedelta64(1, "D")
    low = SETTLING * np.exp(-np.maximum(age, 0) / SETTLING_DAYS)[:, None]
    new = again[None, :] - low * np.linspace(1.0, 0.55, sensors)[None, :]
    return np.where((age >= 0)[:, None], new, first[None, :]).astype(np.float32)


def _sensed(truth: Truth, index: int, depths: NDArray[np.float64]) -> tuple[Singles, Singles]:
    """Give what ideal sensors would see by step: liquid water, and temperature (steps, k)."""
    theta = _window(truth.flow.water_mm[:, index], depths)
    nodes = truth.heat_k[:, index]
    ice = _at_depths(ice_share(nodes), depths)
    seen = theta * (1 - ice) + np.minimum(theta, np.float32(UNFROZEN)) * ice
    return _single(seen), _at_depths(temperature_c(nodes), depths)


def read_probe(rng: np.random.Generator, truth: Truth, site: str) -> Reading:
    """Read one probe every hour from the first local midnight to the last morning."""
    index = SITE_INDEX[site]
    depths = np.array(depths_of(DISTRICT[index]))
    hours = (len(truth.days) - 1) * 24 + LAST_HOUR + 1
    times = instant(np.datetime64(START)) + np.arange(hours) * np.timedelta64(1, "h")
    seen, warm = _sensed(truth, index, depths)
    vwc, warm = _hourly(seen, hours), _hourly(warm, hours)
    spread = _single(rng.uniform(*NOISE_SD, len(depths)))
    vwc = vwc + _offsets(rng, site, times, len(depths))
    vwc = vwc + spread * rng.standard_normal(vwc.shape, np.float32)
    warm = warm + np.float32(TEMP_NOISE_SD) * rng.standard_normal(warm.shape, np.float32)
    return Reading(
        site=site,
        times=times,
        depths_cm=depths_of(DISTRICT[index]),
        theta=_single(vwc),
        temp_c=_single(warm),
    )
