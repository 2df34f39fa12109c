"""What goes wrong with probes in the field, put into the readings on purpose."""

import numpy as np
from numpy.typing import NDArray

from demo_data.cases import CASES, LATE_OVERLAP_DAYS, REMOVED_ON, Case
from demo_data.sensors import Reading, instant

Rows = NDArray[np.bool_]

DYING_DAYS = 225.0  # from the first sign to nonsense
DYING_DRIFT = 0.10  # m3/m3 lost by then
DYING_NOISE = 0.035  # m3/m3, spread by then
NONSENSE = (-0.0999, 1.0231)


def between(reading: Reading, case: Case) -> Rows:
    """Mark the readings of a case's local days, the last day not included."""
    rows = reading.times >= instant(np.datetime64(case.start))
    return (
        rows if case.end is None else rows & (reading.times < instant(np.datetime64(case.end)))
    )


def _stick(reading: Reading) -> None:
    case = CASES["stuck_sensor"]
    column = reading.depths_cm.index(case.depth_cm or 0.0)
    rows = np.flatnonzero(between(reading, case))
    if len(rows):
        reading.theta[rows, column] = reading.theta[rows[0], column]


def _die(rng: np.random.Generator, reading: Reading) -> None:
    """Let noise and drift grow, then swing between two values that no soil has."""
    case = CASES["dying_sensor"]
    column = reading.depths_cm.index(case.depth_cm or 0.0)
    rows = np.flatnonzero(between(reading, case))
    age = np.arange(len(rows)) / 24 / DYING_DAYS
    wild = rng.standard_normal(len(rows)) * DYING_NOISE * np.minimum(age, 1) ** 2
    value = reading.theta[rows, column] - DYING_DRIFT * np.minimum(age, 1) + wild
    nonsense = rng.choice(NONSENSE, len(rows), p=(0.7, 0.3))
    reading.theta[rows, column] = np.where(age < 1, value, nonsense)


def _drop_outs(rng: np.random.Generator, reading: Reading) -> Rows:
    """Mark rows that were sent: a few lost hours, a few outages of up to some days."""
    sent = rng.random(len(reading.times)) > 0.0006
    for start in rng.integers(0, len(reading.times), 5).tolist():
        sent[start : start + int(rng.integers(3, 80))] = False
    return sent


def _absent(reading: Reading) -> Rows:
    """Mark the rows that a case's probe did not take at all."""
    none = np.zeros(len(reading.times), bool)
    if reading.site == CASES["silent_probe"].site:
        return between(reading, CASES["silent_probe"])
    if reading.site == CASES["reinstalled"].site:
        out, back = (
            instant(np.datetime64(day)) for day in (REMOVED_ON, CASES["reinstalled"].start)
        )
        return (reading.times >= out) & (reading.times < back)
    return none


def spoil(rng: np.random.Generator, reading: Reading) -> tuple[Rows, Rows]:
    """Spoil a probe's readings as its case asks.

    Returns
    -------
    main, late : (hours,) bool
        The rows that stand in the main file, and those of a late file (none for most).
    """
    if reading.site == CASES["stuck_sensor"].site:
        _stick(reading)
    if reading.site == CASES["dying_sensor"].site:
        _die(rng, reading)
    sent = _drop_outs(rng, reading) & ~_absent(reading)
    case = CASES["late_block"]
    if reading.site != case.site:
        return sent, np.zeros_like(sent)
    missing = between(reading, case)
    margin = 24 * LATE_OVERLAP_DAYS
    late = np.convolve(missing, np.ones(2 * margin + 1), "same") > 0
    return sent & ~missing, sent & late
