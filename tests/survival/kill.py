"""Pull the plug on an import, an assessment and edits at random moments; look what is left.

``python tests/survival/kill.py [MOMENTS]`` prints a table; ``test_kill.py`` does a few moments.
After every kill the store must be whole, hold all that was acknowledged, and the same command
repeated must end where an undisturbed one ends.
"""

import multiprocessing
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cache
from multiprocessing.process import BaseProcess
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from analytics.cli import main
from analytics.cli.talk import say
from analytics.contract import RESULTS
from analytics.store import edits, layout, people, readings
from analytics.store.check import check

SITES, DAYS, EDITS = ("A1", "B1", "C1"), 150, 40
FIRST = date(2023, 10, 1)
AS_OF = str(FIRST + timedelta(days=DAYS))
NEXT = str(FIRST + timedelta(days=DAYS + 1))  # of the same week, so that a night does
ACKNOWLEDGED = "acknowledged.txt"


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A command to kill: what it starts from, what it does, and what it has to leave."""

    name: str
    start: Path
    act: Callable[[Path, Path], None]
    kept: Callable[[Path, list[str]], bool]
    state: Callable[[Path], object]


def prepare(folder: Path) -> list[Task]:
    """Make the stores that each task starts from."""
    files = _files(folder / "files")
    empty, full, known = (folder / name for name in ("empty", "full", "known"))
    layout.create(empty, "mm")
    _people(empty)
    shutil.copytree(empty, full)
    _import(full, files)
    shutil.copytree(full, known)
    _assess(known, files)
    return [
        Task(name="import", start=empty, act=_import, kept=_rows_there, state=_readings),
        Task(name="assess", start=full, act=_assess, kept=_readings_there, state=_results),
        Task(name="night", start=known, act=_night, kept=_readings_there, state=_results),
        Task(name="edit", start=known, act=_edit, kept=_edits_there, state=_edits),
    ]


def killed(
    folder: Path, task: Task, rng: np.random.Generator, lasts: float, want: object
) -> str:
    """Run a task, kill it at a random moment, repeat it; give what is wrong, or nothing."""
    store = folder / "killed"
    shutil.rmtree(store, ignore_errors=True)
    shutil.copytree(task.start, store)
    process = _started(task, store, folder / "files")
    time.sleep(rng.uniform(0, lasts))
    process.kill()
    process.join()
    said = (store / ACKNOWLEDGED).read_text().splitlines()
    if damaged := [one.what for one in check(store) if one.level == "damaged"]:
        return f"damaged: {damaged[0]}"
    if not task.kept(store, said):
        return "something acknowledged is gone"
    again = _started(task, store, folder / "files")
    again.join(120)
    if again.exitcode != 0:
        return f"the repeated command ended with {again.exitcode}"
    if left := [path.name for path in store.rglob("*.tmp")]:
        return f"half a file is left: {left[0]}"
    return "" if task.state(store) == want else "the repeated command ends elsewhere"


def undisturbed(folder: Path, task: Task) -> tuple[float, object]:
    """Give how long a task takes and the state it leaves."""
    store = folder / f"clean-{task.name}"
    shutil.copytree(task.start, store)
    began = time.monotonic()
    process = _started(task, store, folder / "files")
    process.join()
    assert process.exitcode == 0
    return time.monotonic() - began, task.state(store)


def _started(task: Task, store: Path, files: Path) -> BaseProcess:
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["analytics.store.assessment", "analytics.cli.bringing"])
    process = context.Process(target=_acting, args=(task.act, store, files))
    process.start()
    until = time.monotonic() + 60
    while not (store / ACKNOWLEDGED).exists() and time.monotonic() < until:
        time.sleep(0.001)
    return process


def _acting(act: Callable[[Path, Path], None], store: Path, files: Path) -> None:
    """Run a task whose every acknowledgement reaches the disk at once."""
    said = (store / ACKNOWLEDGED).open("a", buffering=1)
    with said as sys.stdout, Path(os.devnull).open("w") as sys.stderr:
        act(store, files)


def _import(store: Path, files: Path) -> None:
    _demand(main(["import", str(store), str(files)]))


def _assess(store: Path, files: Path) -> None:
    _demand(main(["assess", str(store), "--as-of", AS_OF, "--workers", "1"]))


def _night(store: Path, files: Path) -> None:
    _demand(main(["assess", str(store), "--as-of", NEXT, "--workers", "1"]))


def _demand(status: int) -> None:
    if status:
        sys.exit(status)


def _edit(store: Path, files: Path) -> None:
    """Say of one day after another that it is to be dismissed; print each when it is kept."""
    for number in range(len(edits.history(store, "A1")), EDITS):
        since = datetime(2023, 11, 1, tzinfo=UTC) + timedelta(days=number)
        kept = edits.make(
            store, "A1", flag="spike", since=since, until=since + timedelta(hours=1),
            action="dismiss", author="Ash", reason=f"seen {number}",
        )  # fmt: skip
        say(str(kept[0]))


def _rows_there(store: Path, said: list[str]) -> bool:
    """Tell whether every file that was told as taken is in the record, whole."""
    frame = _readings(store)
    told = {line.split(".csv")[0].split("/")[-1] for line in said if ".csv" in line}
    return all(_rows_of(one) <= frame.get(one.split("_")[0], set()) for one in told)


def _readings_there(store: Path, said: list[str]) -> bool:
    frame = _readings(store)
    return all(_rows_of(one) <= frame[one.split("_")[0]] for one in _names())


def _edits_there(store: Path, said: list[str]) -> bool:
    return {int(line) for line in said} <= set(edits.history(store, "A1")["id"])


def _readings(store: Path) -> dict[str, set]:
    return {str(site): _rows(frame) for site, frame in readings.long(store).groupby("site")}


def _rows(frame: pd.DataFrame) -> set:
    micros = frame["time"].to_numpy("datetime64[us]").astype(np.int64)
    columns = (micros, frame["depth_cm"].to_numpy(), frame["vwc"].round(4).to_numpy())
    return set(zip(*(column.tolist() for column in columns), strict=True))


def _results(store: Path) -> list[str]:
    return [people.table(store, one.name).to_csv(index=False) for one in RESULTS]


def _edits(store: Path) -> list:
    return edits.history(store, "A1")[["from", "to", "action", "reason"]].to_numpy().tolist()


def _names() -> list[str]:
    return [f"{site}_{part}" for site in SITES for part in range(3)]


@cache
def _rows_of(name: str) -> set:
    return _rows(_values(*name.split("_")))


def _values(site: str, part: str) -> pd.DataFrame:
    """Make a third of a site's record; the same every time."""
    days = DAYS // 3
    start = pd.Timestamp(FIRST, tz="UTC") + pd.Timedelta(days=days * int(part))
    times = pd.date_range(start, periods=24 * days, freq="h")
    depths = np.arange(10.0, 121.0, 10.0)
    rng = np.random.default_rng([ord(site[0]), int(part)])
    walk = 0.25 + np.cumsum(rng.normal(0, 0.0005, (len(times), len(depths))), axis=0)
    return pd.DataFrame(
        {
            "site": site, "time": np.repeat(times, len(depths)),
            "depth_cm": np.tile(depths, len(times)),
            "vwc": walk.clip(0.1, 0.4).round(4).ravel(),
        }
    )  # fmt: skip


def _files(folder: Path) -> Path:
    folder.mkdir()
    for name in _names():
        frame = _values(*name.split("_"))
        stamps = frame["time"].dt.strftime("%Y-%m-%dT%H:%M:%SZ")
        frame.assign(time=stamps).to_csv(folder / f"{name}.csv", index=False)
    return folder


def _people(store: Path) -> None:
    shapes = [shapely.Point(-101 + 0.1 * n, 39).buffer(0.01) for n in range(len(SITES))]
    nothing = {"soil": "silt loam", "source": None, "grower": "Ash", "irrigated_ha": 50.0}
    fields = gpd.GeoDataFrame(
        {"field": list(SITES), "name": list(SITES), **nothing}, geometry=shapes, crs="EPSG:4326"
    )
    people.put(store, "fields", fields)
    sites = pd.DataFrame({"site": list(SITES), "field": list(SITES), "latitude": 39.0})
    sites["longitude"] = [-101 + 0.1 * n for n in range(len(SITES))]
    sites["timezone"], sites["installed_on"] = "America/Denver", pd.Timestamp("2018-04-01")
    sites["removed_on"] = pd.Series(pd.NaT, index=sites.index)
    people.put(store, "sites", sites)


def report(moments: int) -> None:
    """Print what became of so many kills of each task."""
    rng = np.random.default_rng(20261125)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        for task in prepare(folder):
            lasts, want = undisturbed(folder, task)
            wrong = [killed(folder, task, rng, lasts, want) for _ in range(moments)]
            bad = [one for one in wrong if one]
            say(f"{task.name:7} {lasts:5.2f} s undisturbed; {moments} kills, {len(bad)} wrong")
            for one in sorted(set(bad)):
                say(f"        {bad.count(one)} x {one}")


if __name__ == "__main__":
    report(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
