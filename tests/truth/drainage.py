"""Soil columns that drain by Richards' equation, and probes that read them.

Nothing here is shared with ``analytics.soil``. The true drained upper limit of a layer is
found from the soil alone: the column is wetted throughout, covered, and left to drain; the
limit is the water content at which the layer loses no more than Ratliff's rate.
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
RATLIFF_SHARE_D = 0.002  # 0.1-0.2 % of its water a day (Ratliff, Ritchie & Cassel 1983)
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


def drained_limits(textures: list[str], days: int = 150) -> np.ndarray:
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
        calm = (before - theta) / 0.5 < RATLIFF_SHARE_D * theta
        found = np.where(np.isnan(found) & calm, theta, found)
        before = theta
    return found
