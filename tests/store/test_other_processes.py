"""Reading while another process writes; an import that is killed and then repeated."""

import signal
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from analytics.intake import read
from analytics.model import Record
from analytics.store import connection, importing, layout, people, readings
from analytics.store.importing import take

WRITE = """
import sys, time
from pathlib import Path
import pandas as pd
from analytics.store import people
store, until = Path(sys.argv[1]), time.monotonic() + float(sys.argv[2])
print("ready", flush=True)
n = 0
while time.monotonic() < until:
    n += 1
    rows = {"field": "north", "date": pd.Timestamp("2024-01-01"), "kind": ["rain", "snow"]}
    people.put(store, "water", pd.DataFrame({**rows, "mm": float(n)}))
print(n)
"""

IMPORT = """
import sys
from analytics.cli import main
print("ready", flush=True)
sys.exit(main(["import", sys.argv[1], sys.argv[2]]))
"""


def start(code: str, *words: object) -> subprocess.Popen[str]:
    process = subprocess.Popen(
        [sys.executable, "-c", code, *map(str, words)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout
    assert process.stdout.readline() == "ready\n"
    return process


def test_reading_while_another_process_writes(store: Path) -> None:
    writer = start(WRITE, store, 2.0)
    pairs = []
    while writer.poll() is None:
        water = people.table(store, "water").query("date == '2024-01-01'")
        pairs.append(water["mm"].tolist())
    said, complained = writer.communicate()
    assert writer.returncode == 0, complained
    assert int(said) > 1
    assert len(pairs) > 1
    assert all(len(set(one)) <= 1 for one in pairs), "a pair is written as one"
    assert people.table(store, "water")["mm"].max() == float(said)


def long_file(path: Path, record: Record) -> Path:
    frame = [
        f"{record.site},{time}Z,{depth},{record.theta[i, j]},{record.temp_c[i, j]}"
        for i, time in enumerate(record.times)
        for j, depth in enumerate(record.depths_cm)
    ]
    path.write_text("\n".join(["site,time,depth_cm,vwc,soil_temp_c", *frame]) + "\n")
    return path


def state(store: Path) -> tuple[list, list]:
    frame = readings.long(store)
    with connection.reading(store) as db:
        log = db.execute("SELECT file, kind, rows_in, rejected, sites FROM imports").fetchall()
    return frame.to_numpy().tolist(), log


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8])
def test_an_import_killed_and_repeated_equals_a_clean_one(
    tmp_path: Path, store: Path, record: Callable[..., Record], share: float
) -> None:
    file = long_file(tmp_path / "N1.csv", record(start="2018-12-01", hours=20_000))
    clean = tmp_path / "clean"
    layout.create(clean)
    for name in ("fields", "sites"):
        people.put(clean, name, people.table(store, name))
    began = time.monotonic()
    take(clean, read(file, importing.known(clean)))
    lasts = time.monotonic() - began
    killed = start(IMPORT, store, file)
    time.sleep(share * lasts)
    killed.send_signal(signal.SIGKILL)
    killed.communicate()
    again = start(IMPORT, store, file)
    said, complained = again.communicate()
    assert again.returncode == 0, said + complained
    assert state(store) == state(clean)
    assert not list((store / "readings").rglob("*.tmp"))


def test_two_threads_merging_two_sites(store: Path, record: Callable[..., Record]) -> None:

    records = [record(site=site, seed=n) for n, site in enumerate(("N1", "../S 1"))]
    with ThreadPoolExecutor(2) as pool:
        counts = list(pool.map(lambda one: readings.merge(store, one), records))
    assert [one.taken for one in counts] == [200, 200]
    for one in records:
        assert np.array_equal(readings.read(store, one.site).theta, one.theta)
