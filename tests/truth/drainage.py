"""Soil columns that drain by Richards' equation, and probes that read them.

Nothing here is shared with ``analytics.soil``. The true drained upper limit of a layer is
found from the soil alone: the column is wetted throughout, covered, and left to drain; the
limit is the water content at which the layer loses no more than Ratliff's rate: 0.1-0.2 %
water content a day, read as volume per cent, upper figure.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np

# Class averages of Schaap, Leij & van Genuchten (2001), MEMORY:
# residual, saturated (m3/m3), alpha (1/cm), n, saturated conductivity (cm/d).
SOILS = {
    "loamy sand": (0.049, 0.390, 0.0348, 1.746, 105.0),
    "sandy loam": (0.039, 0.387, 0.0267, 1.449, 38.3),
    "loam": (0.061, 0.399, 0.0111, 1.472, 12.0),
    "silt loam": (0.065, 0.439, 0.0051, 1.663, 18.3),
    "clay loam": (0.079, 0.442, 0.0158, 1.416, 8.2),
    "silty clay loam": (0.090, 0.482, 0.0084, 1.521, 11.1),
    "silty clay": (0.111, 0.481, 0.0162, 1.321, 9.6),
    "clay": (0.098, 0.459, 0.0150, 1.253, 14.8),
}
CELL_CM, CELLS = 10.0, 20
SENSOR_CELLS = np.array([1, 3, 5, 7, 10, 13])
DEPTHS_CM = (SENSOR_CELLS + 0.5) * CELL_CM
RATLIFF_D = 0.002  # m3/m3/d: 0.1-0.2 % water content a day (Ratliff, Ritchie & Cassel 1983)
STEP_D = 0.25
FIRST_DAY, DAYS = date(2018, 9, 1), 3 * 365
PLANTED, HARVESTED = 243, 385  # days after 1 September: 1 May to 20 September
MOST_RAIN_CM_D = 3.0  # below every soil's conductivity: all of it goes in


@dataclass(frozen=True)
class Soil:
    """Van Genuchten-Mualem parameters, one row a column of soil and one column a cell."""

    residual: np.ndarray
    saturated: np.ndarray
    alpha: np.ndarray
    n: np.ndarray
    ks: np.ndarray

    @classmethod
    def of(cls, textures: list[str]) -> "Soil":
        rows = np.array([SOILS[name] for name in textures])
        return cls(*(np.repeat(rows[:, [j]], CELLS, axis=1) for j in range(5)))

    def at(self, head: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Water content, its slope over head, and conductivity at a pressure head in cm."""
        suction = np.maximum(-head, 1e-3) * self.alpha
        m = 1.0 - 1.0 / self.n
        power = suction**self.n
        fill = (1.0 + power) ** -m
        span = self.saturated - self.residual
        slope = span * m * self.n * power / suction * self.alpha * fill / (1.0 + power)
        inner = 1.0 - (power / (1.0 + power)) ** m
        theta = self.residual + span * fill
        return theta, slope + 1e-7, self.ks * np.sqrt(fill) * inner**2


def solve(low: np.ndarray, mid: np.ndarray, up: np.ndarray, right: np.ndarray) -> np.ndarray:
    """Solve one tridiagonal system a column of soil."""
    cells = mid.shape[1]
    upper, answer = np.empty_like(mid), np.empty_like(mid)
    upper[:, 0], answer[:, 0] = up[:, 0] / mid[:, 0], right[:, 0] / mid[:, 0]
    for i in range(1, cells):
        pivot = 1.0 / (mid[:, i] - low[:, i] * upper[:, i - 1])
        upper[:, i] = up[:, i] * pivot
        answer[:, i] = (right[:, i] - low[:, i] * answer[:, i - 1]) * pivot
    for i in range(cells - 2, -1, -1):
        answer[:, i] -= upper[:, i] * answer[:, i + 1]
    return answer


def step(
    soil: Soil, head: np.ndarray, inflow: np.ndarray, sink: np.ndarray, days: float
) -> np.ndarray:
    """Advance by one step: mixed form, modified Picard (Celia, Bouloutas & Zarba 1990).

    ``inflow`` enters the first cell, cm/d; ``sink`` leaves each cell, cm/d; the bottom drains
    freely (unit gradient).
    """
    before = soil.at(head)[0]
    now = head
    for _ in range(12):
        theta, slope, k = soil.at(now)
        between = (k[:, :-1] + k[:, 1:]) / 2.0
        down = between / CELL_CM
        up = np.zeros_like(now)
        low = np.zeros_like(now)
        up[:, :-1], low[:, 1:] = -down, -down
        store = slope * CELL_CM / days
        mid = store - up - low
        gravity = np.zeros_like(now)
        gravity[:, :-1] -= between
        gravity[:, 1:] += between
        gravity[:, -1] -= k[:, -1]
        gravity[:, 0] += inflow
        flow = gravity - sink - (theta - before) * CELL_CM / days
        flow[:, :-1] += down * (now[:, 1:] - now[:, :-1])
        flow[:, 1:] -= down * (now[:, 1:] - now[:, :-1])
        change = solve(low, mid, up, flow)
        now = np.clip(now + np.clip(change, -0.7 * np.abs(now) - 5, 0.7 * np.abs(now) + 5),
                      -3e4, -0.1)  # fmt: skip
        if np.abs(change / (np.abs(now) + 10.0)).max() < 2e-3:
            break
    return now


def drained_limits(textures: list[str], days: int = 40) -> np.ndarray:
    """Drained upper limit of every cell, (columns, cells) m3/m3: see the top of the file."""
    soil = Soil.of(textures)
    head = np.full(soil.ks.shape, -2.0)
    nothing = np.zeros(len(textures))
    found = np.full(head.shape, np.nan)
    for _ in range(10):
        head = step(soil, head, nothing, np.zeros_like(head), 0.1)
    before = soil.at(head)[0]
    for _ in range(days * 2):
        head = step(soil, head, nothing, np.zeros_like(head), 0.5)
        theta = soil.at(head)[0]
        calm = (before - theta) / 0.5 < RATLIFF_D
        found = np.where(np.isnan(found) & calm, theta, found)
        before = theta
    return found


REGIMES = ("wet", "wet too", "wet again", "few", "partial", "dry")
"""Columns of each texture: filled often, once or twice, only part of the way, never."""


@dataclass(frozen=True)
class World:
    """Simulated columns: ``theta`` (days, columns, sensors) is the true state before dawn."""

    textures: list[str]
    regimes: list[str]
    theta: np.ndarray
    limits: np.ndarray  # (columns, sensors), the true drained upper limits


def spells(regime: str, rng: np.random.Generator) -> np.ndarray:
    """Water that goes in, cm/d, a value a step."""
    rain = np.zeros(DAYS)
    for year in range(3):
        for first, mm in _winter(regime, year, rng):
            begun = 365 * year + first
            for day in range(int(np.ceil(mm / 10.0 / MOST_RAIN_CM_D))):
                left = mm / 10.0 - day * MOST_RAIN_CM_D
                if begun + day < DAYS:
                    rain[begun + day] += min(left, MOST_RAIN_CM_D)
        for day in range(PLANTED, HARVESTED - 30, 9):
            if 365 * year + day < DAYS and regime != "dry":
                rain[365 * year + day] += 2.0
    return np.repeat(np.minimum(rain, MOST_RAIN_CM_D), round(1 / STEP_D))


def _winter(regime: str, year: int, rng: np.random.Generator) -> list[tuple[int, float]]:
    if regime.startswith("wet"):
        first = int(rng.integers(25, 45))
        later = np.cumsum(rng.integers(26, 48, 5)) + first
        return [
            (first, 240.0),
            *((int(d), float(rng.uniform(60, 120))) for d in later if d < 215),
        ]
    if regime == "few":
        return [(int(rng.integers(30, 90)), 300.0)] if year == 1 else []
    most = 45.0 if regime == "partial" else 14.0
    days = np.cumsum(rng.integers(25, 45, 5)) + 20
    return [(int(d), float(rng.uniform(0.5, 1.0) * most)) for d in days if d < 215]


def demand(step: int) -> tuple[float, float]:
    """Evaporation and transpiration asked of the soil, cm/d, in one step."""
    day = (step * STEP_D) % 365
    day = day + 365 if day < HARVESTED - 365 else day
    if PLANTED <= day < HARVESTED:
        grown = (day - PLANTED) / (HARVESTED - PLANTED)
        return 0.1, 0.7 * float(
            np.interp(grown, [0.0, 0.15, 0.4, 0.75, 1.0], [0, 0.2, 1, 1, 0.3])
        )
    return 0.06, 0.0


def roots(step: int) -> np.ndarray:
    """Share of each cell in what the crop asks, straight-lined to the depth of the roots."""
    day = (step * STEP_D) % 365
    day = day + 365 if day < HARVESTED - 365 else day
    depth = np.interp(day, [PLANTED, PLANTED + 80], [15.0, 130.0])
    weight = np.clip(depth - (np.arange(CELLS) + 0.5) * CELL_CM, 0.0, None)
    return weight / weight.sum()


def simulate(seed: int) -> World:
    """Run every texture under every regime for three years."""
    rng = np.random.default_rng(seed)
    textures = [name for name in SOILS for _ in REGIMES]
    regimes = [name for _ in SOILS for name in REGIMES]
    soil = Soil.of(textures)
    rain = np.stack([spells(name, rng) for name in regimes], axis=1)
    head = np.full(soil.ks.shape, -6000.0)
    kept = []
    for now in range(DAYS * round(1 / STEP_D)):
        air, crop = demand(now)
        eased = np.clip((15_000.0 + head) / 14_400.0, 0.0, 1.0)
        sink = crop * roots(now) * eased
        sink[:, 0] += air * eased[:, 0]
        head = step(soil, head, rain[now], sink, STEP_D)
        if now % round(1 / STEP_D) == 0:
            kept.append(soil.at(head)[0][:, SENSOR_CELLS])
    limits = drained_limits(textures)[:, SENSOR_CELLS]
    return World(textures=textures, regimes=regimes, theta=np.array(kept), limits=limits)


def fallow_days() -> np.ndarray:
    """Days without a crop, (days,) bool."""
    day = np.arange(DAYS)
    return ~np.any([(day >= PLANTED + 365 * y) & (day < HARVESTED + 365 * y)
                    for y in range(-1, 3)], axis=0)  # fmt: skip


def drained_wettings(theta: np.ndarray, limit: float, fallow: np.ndarray) -> int:
    """Count how often a layer truly filled beyond its limit and drained to it, untouched.

    From 0.01 above the limit to 0.003 above it, without a crop and without new water.
    """
    count, wet = 0, False
    for value, idle in zip(theta, fallow, strict=True):
        wet = (wet or value > limit + 0.01) and idle
        if wet and value <= limit + 0.003:
            count, wet = count + 1, False
    return count


def read(theta: np.ndarray, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Read true water with a probe: each sensor's own offset, and noise from day to day."""
    offset = rng.normal(0.0, 0.02, theta.shape[1])
    return theta + offset + rng.normal(0.0, 0.0015, theta.shape), offset
