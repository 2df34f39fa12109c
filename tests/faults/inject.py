"""Put known faults into clean readings of the demonstration, and count what is found.

Clean are the demonstration's logger readings before any fault: offsets, noise, ice and lost
hours are in them. Run as a script it prints the table of precision and recall.

Counted are readings (spike, range), sensor-days (stuck, dying, percent, settling, frozen) and
events (step, move, clock). A flag of a kind is false where no fault of that kind is and no
other injected fault spoiled the reading: a sensor that comes unstuck does step.
"""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.model import Placement, Record
from analytics.settings import Settings
from analytics.soil.disturbance import detected_moves
from analytics.soil.flags import Flag, runs
from analytics.soil.quality import quality_flags
from analytics.soil.wetting import received_water
from demo_data import SEED, START
from demo_data.district import SITE_INDEX, TIMEZONE
from demo_data.heat import NODE_MIDS_CM, STEP_H, ice_share
from demo_data.sensors import read_probe
from demo_data.truth import Truth, simulate

DAYS = 760
SITES = ("TF02", "TF10", "TF17", "TF21", "TF29", "TF33")
REPEATS = 4
HOUR = np.timedelta64(1, "h")
ICE = 0.02  # m3/m3 hidden by ice from which a reading counts as frozen
CREEP, CREEP_DAYS, CREPT = 0.055, 11.0, 0.005  # m3/m3 a new hole reads low, d, settled below
DYING_DAYS, DYING_NOISE, DYING_SEEN = 150, 0.04, 0.01  # d, m3/m3 in the end, m3/m3 that counts

Rows = NDArray[np.bool_]
Rng = np.random.Generator


@dataclass(slots=True)
class Spoilt:
    """A record with faults: ``true`` marks them by kind, ``began`` whatever may look so."""

    times: NDArray[np.datetime64]
    theta: NDArray[np.float64]
    temp_c: NDArray[np.float64]
    true: dict[str, Rows] = field(default_factory=dict)
    began: dict[str, Rows] = field(default_factory=dict)
    events: dict[str, list[tuple[int, int]]] = field(default_factory=dict)

    def mark(self, kind: str, rows: slice | int, sensors: int | slice) -> None:
        """Note that readings are spoilt by a kind of fault."""
        self.true.setdefault(kind, np.zeros(self.theta.shape, np.bool_))[rows, sensors] = True


def clean(truth: Truth, site: str, rng: Rng) -> tuple[Spoilt, Rows, NDArray[np.float64]]:
    """Read a probe without faults; also where ice hides water, and the sensors' depths."""
    reading = read_probe(rng, truth, site)
    index = SITE_INDEX[site]
    depths = np.array(reading.depths_cm, np.float64)
    ice = ice_share(truth.heat_k[:, index])
    at = np.array([np.interp(depths, NODE_MIDS_CM, row) for row in ice])
    steps = np.minimum(np.arange(len(reading.times)) // STEP_H, len(at) - 1)
    seen = reading.theta.astype(np.float64)
    hidden = at[steps] * np.maximum(seen, 0.1) > ICE
    spoilt = Spoilt(
        times=reading.times.astype("datetime64[us]"),
        theta=np.round(seen, 4),
        temp_c=np.round(reading.temp_c.astype(np.float64), 2),
    )
    return spoilt, hidden, depths


def _unfrozen(x: Spoilt, rng: Rng, first: int, last: int) -> int:
    """Draw an hour at which no soil is near frost."""
    while True:
        row = int(rng.integers(first, last))
        if x.temp_c[row - 48 : row + 48].min() > 1.0:
            return row


def settle(x: Spoilt, rng: Rng, installed: int) -> None:
    """Let a new hole read low at first."""
    age = np.maximum(np.arange(len(x.theta)) - installed, 0) / 24
    low = CREEP * np.exp(-age / CREEP_DAYS)[:, None]
    low = low * np.linspace(1.0, 0.55, x.theta.shape[1])[None, :]
    low *= np.minimum(np.median(x.theta[:240], axis=0) / (2 * CREEP), 1.0)  # none below nought
    x.theta -= low
    still = low > CREPT
    x.true["settling"] = still
    x.began["settling"] = age[:, None] < 30  # never fewer than 30 days, whatever is injected


def stick(x: Spoilt, rng: Rng, sensor: int) -> None:
    """Hold one value for two weeks to two months."""
    first = int(rng.integers(24 * 130, 24 * 380))
    last = first + 24 * int(rng.integers(14, 60))
    x.theta[first:last, sensor] = x.theta[first, sensor]
    x.mark("stuck", slice(first, last), sensor)


def die(x: Spoilt, rng: Rng, sensor: int) -> None:
    """Let noise grow with the square of time, and the value drift down, to the end."""
    first = len(x.theta) - 24 * DYING_DAYS
    share = np.linspace(0, 1, 24 * DYING_DAYS)
    spread = DYING_NOISE * share**2
    x.theta[first:, sensor] += rng.standard_normal(len(share)) * spread - 0.1 * share
    began = np.zeros(x.theta.shape, np.bool_)
    began[first:, sensor] = True
    x.began["dying"] = began
    x.mark("dying", slice(first + int(np.argmax(spread > DYING_SEEN)), None), sensor)


def leap(x: Spoilt, rng: Rng, sensors: NDArray[np.intp]) -> None:
    """Let single readings leap by a fifth to three fifths and return."""
    for _ in range(60):
        row, sensor = int(rng.integers(24 * 125, len(x.theta) - 99)), int(rng.choice(sensors))
        x.theta[row, sensor] *= 1 + rng.choice([-1, 1]) * rng.uniform(0.2, 0.6)
        x.mark("spike", row, sensor)


def leave_range(x: Spoilt, rng: Rng, sensors: NDArray[np.intp]) -> None:
    """Let single readings be what no soil holds."""
    for _ in range(30):
        row, sensor = int(rng.integers(24 * 125, len(x.theta) - 99)), int(rng.choice(sensors))
        x.theta[row, sensor] = rng.choice([rng.uniform(-0.1, -0.001), rng.uniform(0.61, 0.95)])
        x.mark("range", row, sensor)


def fall(x: Spoilt, rng: Rng, sensor: int) -> None:
    """Let one sensor read lower from one hour to the next, for good."""
    row = _unfrozen(x, rng, 24 * 130, 24 * 600)
    x.theta[row:, sensor] *= 1 - rng.uniform(0.25, 0.5)
    x.mark("step", row, sensor)
    x.events["step"] = [(row, sensor)]


def move(x: Spoilt, rng: Rng) -> None:
    """Move the probe by a few feet: from one hour to the next it reads another soil."""
    row = _unfrozen(x, rng, 24 * 130, 24 * 600)
    usual = np.nanmedian(x.theta[row:], axis=0)
    change = rng.uniform(0.04, 0.10, x.theta.shape[1])
    change *= np.where(usual > np.median(usual), -1, 1)
    x.theta[row:] *= 1 + change / usual  # a share, since frozen soil reads near nought
    x.mark("move", row, slice(None))
    x.events["move"] = [(row, -1)]


def in_percent(x: Spoilt, rng: Rng) -> None:
    """Write a week in per cent among fractions."""
    first = int(rng.integers(24 * 130, 24 * 600))
    x.theta[first : first + 168] *= 100
    x.mark("percent", slice(first, first + 168), slice(None))


def set_clock(x: Spoilt, rng: Rng) -> None:
    """Set the clock forward or back by an hour; the hour written twice is read last."""
    while True:
        row = int(rng.integers(24 * 130, 24 * 600))
        if x.temp_c[row - 288 : row + 288, :3].min() > Settings().clock_warm_c:
            break
    ahead = int(rng.choice([-1, 1]))
    x.times[row:] += ahead * HOUR
    x.events["clock"] = [(row, ahead)]
    if ahead < 0:
        x.theta[row - 1] = np.nan
        x.times[row - 1] = x.times[row - 2] + np.timedelta64(1, "m")  # replaced: never there


def spoil(x: Spoilt, rng: Rng) -> None:
    """Put one or many of every kind into one record, on sensors apart where it matters."""
    sensors = rng.permutation(x.theta.shape[1])
    settle(x, rng, 0)
    stick(x, rng, sensors[0])
    die(x, rng, sensors[1])
    fall(x, rng, sensors[2])
    move(x, rng)
    leap(x, rng, sensors[3:])
    leave_range(x, rng, sensors[3:])
    in_percent(x, rng)
    set_clock(x, rng)


KINDS: dict[str, Flag] = {
    "range": Flag.RANGE, "spike": Flag.SPIKE, "stuck": Flag.STUCK, "dying": Flag.FAILING,
    "percent": Flag.UNIT, "frozen": Flag.FROZEN | Flag.FROST_EDGE, "settling": Flag.SETTLING,
    "step": Flag.STEP, "move": Flag.STEP, "clock": Flag.CLOCK,
}  # fmt: skip
READINGS, EVENTS = ("range", "spike"), ("step", "move", "clock")


@dataclass(slots=True)
class Count:
    """What was injected and what was flagged of one kind."""

    true: int = 0
    found: int = 0
    flagged: int = 0
    right: int = 0

    def add(self, true: Rows, flagged: Rows, other: Rows) -> None:
        """Count places; ``other`` are those at which a flag is neither right nor wrong."""
        self.true += int(true.sum())
        self.found += int((true & flagged).sum())
        self.flagged += int((flagged & ~(other & ~true)).sum())
        self.right += int((flagged & true).sum())


def measure(sites: tuple[str, ...] = SITES, repeats: int = REPEATS) -> pd.DataFrame:
    """Inject and judge; one row a kind."""
    truth = simulate(SEED, days=DAYS)
    counts = {kind: Count() for kind in KINDS}
    for site in sites:
        for repeat in range(repeats):
            rng = np.random.default_rng([SEED, SITE_INDEX[site], repeat])
            _judge(truth, site, rng, counts)
    rows = [
        {
            "kind": kind,
            "unit": _unit(kind),
            "injected": one.true,
            "recall": one.found / max(one.true, 1),
            "flagged": one.flagged,
            "precision": one.right / max(one.flagged, 1),
        }
        for kind, one in counts.items()
    ]
    return pd.DataFrame(rows).set_index("kind")


def _unit(kind: str) -> str:
    return "reading" if kind in READINGS else "event" if kind in EVENTS else "sensor-day"


def _judge(truth: Truth, site: str, rng: Rng, counts: dict[str, Count]) -> None:
    x, hidden, depths = clean(truth, site, rng)
    spoil(x, rng)
    sent = rng.random(len(x.times)) > 0.0006
    record = Record(site=site, times=x.times[sent], depths_cm=depths, theta=x.theta[sent],
                    temp_c=x.temp_c[sent])  # fmt: skip
    placed = (Placement(site=site, field="f", number=1, latitude=37.0, longitude=-101.0,
                        timezone=TIMEZONE, installed_on=START, removed_on=None),)  # fmt: skip
    settings = Settings()
    received = _received(truth, site)
    flags = np.zeros(x.theta.shape, np.uint16)
    flags[sent] = quality_flags(record, placed, settings, received)
    there = np.isfinite(x.theta) & sent[:, None]
    injected = [rows for kind, rows in x.true.items() if kind != "settling"]
    spoilt = np.any([*injected, x.began["dying"]], axis=0)
    x.true["frozen"] = hidden
    for kind, flag in KINDS.items():
        if kind in EVENTS:
            continue
        true = x.true[kind] & there
        other = spoilt | x.began["settling"] if kind == "settling" else spoilt
        found = ((flags & np.uint16(flag)) != 0) & there
        if kind not in READINGS:
            true, found, other = (_by_day(rows) for rows in (true, found, other))
        counts[kind].add(true, found, other)
    _judge_events(x, flags, spoilt, counts)
    moves = detected_moves(record, flags[sent], received, settings)
    at = moves["at"].dt.tz_localize(None).to_numpy()
    _judge_moments(x.times[x.events["move"][0][0]], at, 2, counts["move"])


def _received(truth: Truth, site: str) -> pd.DataFrame:
    index = SITE_INDEX[site]
    parts = {"rain": truth.rain_mm, "snow": truth.snow_mm, "irrigation": truth.irrigation_mm}
    frames = [
        pd.DataFrame({"date": pd.to_datetime(truth.days), "kind": kind, "mm": mm[:, index]})
        for kind, mm in parts.items()
    ]
    water = pd.concat(frames, ignore_index=True)
    return received_water(water[water["mm"] > 0], pd.DataFrame({"date": [], "rain_mm": []}))


def _by_day(rows: Rows) -> Any:
    whole = len(rows) // 24 * 24
    return rows[:whole].reshape(-1, 24, rows.shape[1]).any(axis=1)


def _judge_events(
    x: Spoilt, flags: NDArray[np.uint16], spoilt: Rows, counts: dict[str, Count]
) -> None:
    """Steps by sensor, where no other fault spoiled a reading near; clocks by the hour."""
    row, sensor = x.events["step"][0]
    steps = (flags & np.uint16(Flag.STEP)) != 0
    near = np.array([np.convolve(one, np.ones(5), "same") > 0 for one in spoilt.T]).T
    near[:, np.flatnonzero(x.began["dying"].any(axis=0))] = True
    near[row - 2 : row + 3, sensor] = False
    mine = np.zeros_like(steps)
    mine[row - 1 : row + 2, sensor] = True
    hit = bool((steps & mine).any())
    one = counts["step"]
    one.true += 1
    one.found += hit
    one.right += hit
    one.flagged += hit + int((steps & ~mine & ~near).sum())
    clock = ((flags & np.uint16(Flag.CLOCK)) != 0).any(axis=1)
    heard = np.isfinite(x.theta).any(axis=1) & (flags != 0).any(axis=1) | clock
    begins = [x.times[np.flatnonzero(heard)[first]] for first, _ in runs(clock[heard])]
    _judge_moments(
        x.times[x.events["clock"][0][0]], np.array(begins, "M8[us]"), 48, counts["clock"]
    )


def _judge_moments(
    true: np.datetime64, found: NDArray[np.datetime64], hours: int, count: Count
) -> None:
    near = np.abs(found - true) <= hours * HOUR
    count.true += 1
    count.found += bool(near.any())
    count.right += bool(near.any())
    count.flagged += bool(near.any()) + int((~near).sum())


if __name__ == "__main__":
    print(measure().round(3).to_string())  # noqa: T201 - a script for people
