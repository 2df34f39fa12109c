"""An invented crop at an invented probe, whose root zone is run by the balance itself."""

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd

from analytics.model import Daily, Floats, Layer, Points, Season
from analytics.settings import Settings
from analytics.water.balance import root_zone
from analytics.water.demand import Crop
from analytics.water.depletion import Grown, roots_of
from analytics.water.followed import Place
from analytics.water.growth import coefficient

SETTINGS = Settings()
CROP = Crop(0.3, 1.0, 0.4, (10, 20, 30, 20))
DEEP = Crop(0.3, 1.0, 0.4, (1, 1, 58, 20))
"""As deep on the second day as it will be: all that is read is within the roots."""
PLANTED = date(2021, 5, 1)
LAYERS = tuple(
    Layer(site="s", depth_cm=top + 10.0, top_cm=top, bottom_cm=top + 20.0)
    for top in (0.0, 20.0, 40.0, 60.0)
)
EQUAL = np.full(4, 1.0)
POINTS = Points(
    placement=1, full=0.32 * EQUAL, refill=0.23 * EQUAL, lower=0.14 * EQUAL,
    full_sd=0.01 * EQUAL, lower_sd=0.02 * EQUAL, state=("learned",) * 4,
    lower_state=("texture",) * 4, ponded=np.zeros(4, bool),
)  # fmt: skip


def grown(
    days: int = 80, water: Floats | None = None, eto_mm: float = 5.0, crop: Crop = CROP
) -> Grown:
    """Give a crop whose layers lose water exactly as reckoned, evenly over the roots."""
    made = Grown(
        days=np.datetime64(PLANTED, "D") + 1 + np.arange(days), crop=crop, layers=LAYERS,
        points=POINTS, state=np.full((days, 4), 0.32), eto_mm=np.full(days, eto_mm),
        water_mm=np.zeros(days) if water is None else water, deepest_cm=80.0,
    )  # fmt: skip
    roots, kc = roots_of(made, SETTINGS), coefficient(crop, days)
    state, depletion = made.state.copy(), 0.0
    for day in range(days):
        rooted = roots.inside_mm[max(day - 1, 0) : day + 1]
        lacking = 0.32 - state[max(day - 1, 0)]
        run = root_zone(
            depletion, made.water_mm[day : day + 1], kc[day : day + 1] * eto_mm,
            available_mm=roots.available_mm[day : day + 1],
            ready_mm=roots.ready_mm[day : day + 1],
            entering_mm=np.atleast_1d((rooted[-1] - rooted[0]) @ lacking),
        )  # fmt: skip
        depletion = float(run.end_mm[0])
        spread = depletion / roots.inside_mm[day].sum()
        state[day] = np.where(roots.inside_mm[day] > 0, 0.32 - spread, 0.32)
    return replace(made, state=state)


def place(one: Grown, years: range = range(2005, 2022), rain_mm: float = 0.0) -> Place:
    """Put a grown crop's probe into a field with a station of many like years."""
    days = pd.date_range(f"{years[0]}-01-01", f"{years[-1]}-12-31", freq="D")
    rng = np.random.default_rng(3)
    weather = pd.DataFrame(
        {"water_mm": np.where(rng.random(len(days)) < 0.1, rain_mm, 0.0), "eto_mm": 5.0,
         "mean_c": 20.0, "wind_m_s": np.nan, "rh_min": np.nan},
        index=days,
    )  # fmt: skip
    state, nothing = one.state, np.zeros(one.state.shape, bool)
    daily = Daily(
        site="s", days=one.days, depths_cm=np.array([10.0, 30.0, 50.0, 70.0]), first=state,
        last=state, low=state, high=state, mean=state, predawn=state, state=state,
        temp_c=state, good=np.ones(state.shape, np.int32), frozen=nothing, held=nothing,
        placement=np.ones(len(one.days), np.int16),
    )  # fmt: skip
    limits = pd.DataFrame([
        {"site": "s", "placement": 1, "depth_cm": layer.depth_cm, "point": name,
         "value": value, "sd": 0.01, "state": "learned", "valid_from": pd.Timestamp(2020, 1, 1),
         "ponded": False}
        for layer in LAYERS for name, value in (("full", .32), ("refill", .23), ("lower", .14))
    ])  # fmt: skip
    wet = one.water_mm > 0
    received = pd.DataFrame({"date": pd.DatetimeIndex(one.days[wet] - 1), "kind": "rain",
                             "mm": one.water_mm[wet]})  # fmt: skip
    return Place(
        site="s", field="f", daily=daily, layers=LAYERS, limits=limits, received=received,
        days=weather, crops={("sorghum", ""): one.crop}, root_limit_cm=None,
    )  # fmt: skip


def season(**told: object) -> Season:
    """Give the crop's season: sorghum, with coefficients of its own."""
    known = {"field": "f", "crop": "sorghum", "planted_on": PLANTED}
    return Season(**{**known, **told})
