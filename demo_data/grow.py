"""Grow the demonstration: the invented district's seven years, as files to be imported."""

from collections.abc import Callable
from pathlib import Path

import numpy as np

from demo_data import SEED
from demo_data.district import DISTRICT
from demo_data.faults import spoil
from demo_data.files import write_late, write_logger, write_tables
from demo_data.sensors import read_probe
from demo_data.truth import Truth, simulate

Progress = Callable[[float, str], None]

_SIMULATED = 0.35
"""Share of the whole work that is done once the water has been simulated."""


def grow(folder: Path, *, seed: int = SEED, progress: Progress | None = None) -> None:
    """Grow the scenario and write its files.

    Parameters
    ----------
    folder : Path
        Made if missing. Gets the people's tables (CSV, GeoJSON), ``loggers/SITE.parquet`` and
        ``late/SITE.csv``.
    seed : int
        Same seed, same files, byte for byte (with the same versions of the libraries).
    progress : callable, optional
        Told the share done (0-1) and what is being done.
    """
    tell = progress or _silent
    tell(0.0, "Growing seven years of weather, crops and water")
    truth = simulate(seed)
    folder.mkdir(parents=True, exist_ok=True)
    tell(_SIMULATED, "Writing fields, crops, water and weather")
    write_tables(folder, truth)
    write_readings(folder, truth, seed, tell)
    tell(1.0, f"{len(DISTRICT)} fields grown")


def write_readings(folder: Path, truth: Truth, seed: int, tell: Progress) -> None:
    """Read every probe of a grown truth and write its files; each site has its own seed."""
    for name in ("loggers", "late"):
        (folder / name).mkdir(exist_ok=True)
    for number, plot in enumerate(DISTRICT):
        done = _SIMULATED + (1 - _SIMULATED) * (number + 1) / (len(DISTRICT) + 1)
        tell(done, f"Reading the probe of {plot.name}")
        rng = np.random.default_rng([seed, number])
        reading = read_probe(rng, truth, plot.site)
        main, late = spoil(rng, reading)
        write_logger(folder / "loggers" / f"{plot.site}.parquet", reading, main)
        if late.any():
            write_late(folder / "late" / f"{plot.site}.csv", reading, late)


def _silent(_share: float, _words: str) -> None:
    """Tell nobody."""
