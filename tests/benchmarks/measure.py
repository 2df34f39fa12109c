"""Measure the program on a district of a given size: ``python tests/benchmarks/measure.py N``.

Ratios stand to a floor that is measured in the same run; nothing is asserted. Each step is a
process of its own, so that its peak memory is its own. ``notebook.py`` is what a user would
do instead.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import time
from datetime import timedelta
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd

from analytics.cli.talk import say
from analytics.model import Record
from analytics.store import layout, people, readings
from tests.benchmarks import district

ROOT = Path(__file__).parents[2]
LOGGERS, YEAR, WHOLE_RECORDS = 40, 365, 20
DAY = "2026-02-23"  # a Monday: the night after it rests on what is worked out then
PAGES = ROOT / "tests" / "benchmarks" / "pages.py"
PROGRAM = "import sys; from analytics.cli import main; sys.exit(main(sys.argv[1:]))"
SCAN = """
import sys
from pathlib import Path
from analytics.store import readings
store = Path(sys.argv[1])
for site in readings.sites(store):
    readings.read(store, site)
"""
DEMONSTRATION = """
import sys
from pathlib import Path
from analytics.cli.demonstration import build
build(Path(sys.argv[1]))
"""
BARE = """
import sys
from pathlib import Path
import pandas as pd
for path in sorted(Path(sys.argv[1]).glob("*.csv")):
    pd.read_csv(path, parse_dates=["time"])
"""


PEAK = """
import atexit, os, resource
def _peak():
    with open("/proc/self/status") as told:
        own = next(int(line.split()[1]) for line in told if line.startswith("VmHWM"))
    workers = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    with open(os.environ["PEAK_FILE"], "w") as out:
        out.write(str(max(own, workers) / 1024))
atexit.register(_peak)
"""


class Cost(NamedTuple):
    """Wall time and the memory of the largest process."""

    seconds: float
    mb: float


def cost(code: str, *words: object) -> Cost:
    """Run Python as a process of its own."""
    with tempfile.NamedTemporaryFile() as peak:
        env = {**os.environ, "PYTHONPATH": str(ROOT), "PEAK_FILE": peak.name}
        start = [sys.executable, "-c", PEAK + code, *map(str, words)]
        began = time.monotonic()
        ended = subprocess.run(start, env=env, stdout=subprocess.DEVNULL, check=False)
        seconds = time.monotonic() - began
        if ended.returncode:
            message = f"A step ended with {ended.returncode}: {words}"
            raise SystemExit(message)
        return Cost(seconds, float(Path(peak.name).read_text()))


def main(count: int) -> None:
    """Measure, and print a row a figure."""
    folder = Path(tempfile.mkdtemp(prefix="overwinter-measure-"))
    try:
        cost(DEMONSTRATION, folder / "demo")
        _measured(folder, count)
    finally:
        shutil.rmtree(folder)


def _measured(folder: Path, count: int) -> None:
    store = folder / "store"
    began = time.monotonic()
    district.tiled(folder / "demo", store, folder / "files", count)
    told(f"{count} probes made and stored", f"{time.monotonic() - began:.0f} s")
    pairs = _pairs(store)
    size = sum(one.stat().st_size for one in (store / "readings").rglob("*") if one.is_file())
    told("moisture readings with temperature", f"{pairs / 1e6:.1f} million")
    told("readings on disk", f"{size / 1e6:.0f} MB, {size / pairs:.2f} bytes a pair")
    _import(folder, store)
    scan = cost(SCAN, store)
    whole = cost(PROGRAM, "assess", store, "--all", "--as-of", DAY)
    told("plain scan of all readings", f"{scan.seconds:.1f} s")
    ratio, each = whole.seconds / scan.seconds, 1000 * whole.seconds / count
    told("assess everything", f"{whole.seconds:.1f} s, {ratio:.1f} x the scan, "
         f"{each:.0f} ms a probe, {whole.mb:.0f} MB")  # fmt: skip
    _nightly(folder, store, count, scan)
    size = sum(one.stat().st_size for one in store.rglob("*") if one.is_file())
    told("whole store on disk", f"{size / 1e6:.0f} MB")
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    subprocess.run([sys.executable, PAGES, store], env=env, check=True)


def _pairs(store: Path) -> int:
    return sum(readings.read(store, site).theta.size for site in readings.sites(store))


def _import(folder: Path, store: Path) -> None:
    """Import logger files beside a bare read of the same files, and the notebook."""
    _read_and_taken(
        folder / "whole", store, folder / "files", WHOLE_RECORDS, "of whole records"
    )
    year = _read_and_taken(folder / "year", store, folder / "files", LOGGERS, "of a year", YEAR)
    loggers, fresh = folder / "year" / "loggers", folder / "year" / "store"
    again = cost(PROGRAM, "import", fresh, loggers)
    told("the same again, nothing new", f"{again.seconds:.1f} s")
    note = cost(f"from tests.benchmarks.notebook import main; main({str(loggers)!r})")
    worked = cost(PROGRAM, "assess", fresh, "--all", "--as-of", DAY)
    told("a pandas notebook: files to daily values and latest profile",
         f"{note.seconds:.1f} s, {note.mb:.0f} MB")  # fmt: skip
    both, most = year.seconds + worked.seconds, max(year.mb, worked.mb)
    told("import and the whole assessment of the same files", f"{both:.1f} s, {most:.0f} MB")


def _read_and_taken(  # noqa: PLR0917 - where, from what, and how much of it
    place: Path, store: Path, files: Path, count: int, what: str, days: int = 36_500
) -> Cost:
    """Write so many loggers' files, read them, and take them into a store of their own."""
    loggers, fresh = place / "loggers", place / "store"
    district.logger_files(store, loggers, readings.sites(store)[:count], days)
    mb = sum(one.stat().st_size for one in loggers.iterdir()) / 1e6
    layout.create(fresh)
    for name in ("fields.geojson", "sites.csv", "layers.csv"):
        cost(PROGRAM, "import", fresh, files / name)
    bare, taken = cost(BARE, loggers), cost(PROGRAM, "import", fresh, loggers)
    told(f"bare pandas read_csv of {count} logger files {what}",
         f"{mb:.0f} MB, {bare.seconds:.1f} s, {bare.mb:.0f} MB")  # fmt: skip
    told("import of the same", f"{taken.seconds:.1f} s, {taken.seconds / bare.seconds:.1f} x, "
         f"{taken.mb:.0f} MB")  # fmt: skip
    return taken


def _nightly(folder: Path, store: Path, count: int, scan: Cost) -> None:
    """Bring a day's rows of every probe, and work out what they change."""
    rows = [_day(readings.read(store, site)) for site in readings.sites(store)]
    night = folder / "night.csv"
    pd.concat(rows, ignore_index=True).to_csv(night, index=False)
    apart = folder / "night"
    apart.mkdir()
    for one in rows:
        one.to_csv(apart / f"{one['site'].iloc[0]}.csv", index=False)
    taken = cost(PROGRAM, "import", store, night)
    day = pd.Timestamp(DAY).date() + timedelta(days=1)
    worked = cost(PROGRAM, "assess", store, "--as-of", day)
    told(f"a night's import, {count} x 24 rows", f"{taken.seconds:.1f} s, {taken.mb:.0f} MB")
    one_by_one = cost(PROGRAM, "import", store, apart)
    told("the same rows as a file a probe", f"{one_by_one.seconds:.1f} s")
    told("results that it changes", f"{worked.seconds:.1f} s, "
         f"{worked.seconds / scan.seconds:.2f} x the scan, "
         f"{1000 * worked.seconds / count:.0f} ms a probe, {worked.mb:.0f} MB")  # fmt: skip
    assert len(people.table(store, "readiness"))


def _day(record: Record) -> pd.DataFrame:
    """Make the 24 hours after a record's end, like its last ones."""
    times = record.times[-1] + np.arange(1, 25) * np.timedelta64(1, "h")
    theta = record.theta[-24:]
    return pd.DataFrame(
        {"site": record.site,
         "time": np.repeat(pd.DatetimeIndex(times, tz="UTC"), len(record.depths_cm)),
         "depth_cm": np.tile(record.depths_cm, len(times)), "vwc": theta.ravel(),
         "soil_temp_c": record.temp_c[-24:].ravel().round(2)}
    ).dropna(subset=["vwc"])  # fmt: skip


def told(what: str, figure: str) -> None:
    """Print one row."""
    say(f"| {what} | {figure} |")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 24)
