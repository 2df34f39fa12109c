"""Spoil files at random and read them: a sentence or a delivery, and no row lost.

``python tests/faults/fuzz.py [COUNT [FIRST]]`` does so many to each reader, from a seed on,
and prints a table. What a reader may do with a spoiled file: refuse it with a sentence, or take
it so that rows in = taken + repeated + rejected. Anything else is a fault; its seed is
printed.
"""

import gzip
import io
import json
import os
import random
import sys
import tempfile
import time
import zipfile
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import pandas as pd

from analytics.cli.talk import say
from analytics.errors import OverwinterError
from analytics.intake import Known, read
from analytics.model import Delivery

KNOWN = Known(sites={"p1": "America/Chicago", "p2": "America/Denver"},
              fields=frozenset({"f1", "f2"}))  # fmt: skip
LONG = "site,time,depth_cm,vwc,soil_temp_c\n" + "".join(
    f"p1,2024-03-{day:02d}T06:00:00Z,{depth},0.2{day:02d},{day}.5\n"
    for day in range(1, 9) for depth in (10, 20)
)  # fmt: skip
WIDE = "Site,Time,VWC 10 cm [%],VWC 20 cm [%],Temp 10 cm [F]\n" + "".join(
    f"p1,2024-03-{day:02d} 06:00,2{day}.1,2{day}.4,4{day}\n" for day in range(1, 9)
)
COMMA = "Logger 7\nsite;time;vwc 10 cm;vwc 30 cm\n" + "".join(
    f"p2;2{day}.03.2024 06:00;0,2{day};0,3{day}\n" for day in range(1, 9)
)
WEATHER = "station,date,tmin_c,tmax_c,rain_mm\n" + "".join(
    f"w1,2024-03-{day:02d},-{day},1{day},{day}.5\n" for day in range(1, 9)
)
SITES = (
    "site,field,latitude,longitude,timezone,installed_on\n"
    "p1,f1,38.1,-101.2,America/Chicago,2019-04-01\np2,f2,38.2,-101.3,America/Denver,\n"
)
SEASONS = (
    "field,crop,planted_on,harvested_on\nf1,corn,2023-05-01,2023-09-30\nf2,milo,2023-06-01,\n"
)
WATER = "field,date,kind,mm\nf1,2023-05-01,rain,12.5\nf2,2023-06-01,irrigation,25\n"
SQUARE = [[[-101.2, 38.1], [-101.19, 38.1], [-101.19, 38.11], [-101.2, 38.11], [-101.2, 38.1]]]
FIELDS = json.dumps({"type": "FeatureCollection", "features": [
    {"type": "Feature", "properties": {"field": "f1", "name": "One", "grower": "Ash"},
     "geometry": {"type": "Polygon", "coordinates": SQUARE}},
]})  # fmt: skip
ODD = (b"", b"NaN", b"-9999", b"1e999", b"=1+1", b"\x00", b"\xff\xfe", b"2024-02-30", b"\"",
       b"'", b";", b",", b"\n", b"\r", b"9" * 400, b"<img src=x onerror=1>", b"../..", b"0,5",
       b"-inf",
       "½".encode(), b"p9", b"2024-11-03T01:30", b"null", b"[", b"{")  # fmt: skip


def _packed(text: str) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("a.csv", text)
    return held.getvalue()


def _parquet() -> bytes:
    frame = pd.read_csv(io.StringIO(LONG))
    frame["time"] = pd.to_datetime(frame["time"])
    held = io.BytesIO()
    frame.to_parquet(held)
    return held.getvalue()


def _sheet() -> bytes:
    held = io.BytesIO()
    pd.read_csv(io.StringIO(SITES)).to_excel(held, index=False)
    return held.getvalue()


SEEDS: dict[str, tuple[str, Callable[[], bytes]]] = {
    "readings, long CSV": ("r.csv", LONG.encode),
    "logger, wide CSV": ("w.csv", WIDE.encode),
    "logger, decimal comma": ("k.csv", COMMA.encode),
    "weather": ("weather.csv", WEATHER.encode),
    "sites": ("sites.csv", SITES.encode),
    "seasons": ("seasons.csv", SEASONS.encode),
    "water": ("water.csv", WATER.encode),
    "boundaries, GeoJSON": ("fields.geojson", FIELDS.encode),
    "gzip": ("r.csv.gz", lambda: gzip.compress(LONG.encode())),
    "zip": ("w.zip", lambda: _packed(WIDE)),
    "Parquet": ("r.parquet", _parquet),
    "Excel": ("sites.xlsx", _sheet),
}


def spoiled(clean: bytes, rng: random.Random) -> bytes:
    """Spoil a file in one to four places: bytes, tokens, lines."""
    out = clean
    for _ in range(rng.randint(1, 4)):
        out = rng.choice((_byte, _token, _line, _cut, _again))(out, rng) or clean
    return out


def _byte(told: bytes, rng: random.Random) -> bytes:
    at = rng.randrange(len(told))
    return told[:at] + bytes([rng.randrange(256)]) + told[at + 1 :]


def _token(told: bytes, rng: random.Random) -> bytes:
    start = rng.randrange(len(told))
    return told[:start] + rng.choice(ODD) + told[start + rng.randint(0, 12) :]


def _line(told: bytes, rng: random.Random) -> bytes:
    lines = told.split(b"\n")
    at, to = rng.randrange(len(lines)), rng.randrange(len(lines))
    lines[at], lines[to] = lines[to], lines[at]
    return b"\n".join(lines)


def _cut(told: bytes, rng: random.Random) -> bytes:
    start = rng.randrange(len(told))
    return told[:start] + told[start + rng.randint(1, 60) :]


def _again(told: bytes, rng: random.Random) -> bytes:
    start = rng.randrange(len(told))
    part = told[start : start + rng.randint(1, 80)]
    return told[:start] + part + told[start:]


def wrong(delivery: Delivery) -> str:
    """Give what is wrong with a delivery's count, or nothing."""
    if delivery.kind != "readings":
        return ""
    wide = bool(delivery.mapping)
    taken = sum(
        len(one.times) if wide else int((one.theta == one.theta).sum())
        for one in delivery.readings
    )
    counted = taken + delivery.rows_repeated + len(delivery.rejects)
    if wide and delivery.rows_in != counted:
        return f"rows in {delivery.rows_in}, counted {counted}"
    return ""


def many(name: str, first: int, count: int) -> tuple[str, Counter[str], list[str]]:
    """Read so many spoiled files of one kind."""
    file, make = SEEDS[name]
    clean, ended, faults = make(), Counter[str](), []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / file
        for seed in range(first, first + count):
            rng = random.Random(f"{name}{seed}")  # noqa: S311 - the same faults every time
            path.write_bytes(spoiled(clean, rng))
            try:
                told = wrong(read(path, KNOWN))
                ended["taken"] += 1
            except OverwinterError as why:
                told = "" if len(str(why)) > 10 else f"no sentence: {why!r}"
                ended["refused"] += 1
            except Exception as why:  # noqa: BLE001 - what is looked for
                told = f"{type(why).__name__}: {why}"[:160]
            if told:
                faults.append(f"{name}, seed {seed}: {told}")
    return name, ended, faults


def main(count: int, first: int = 0) -> int:
    """Fuzz every reader, and print a table; 1 if anything was wrong."""
    began, workers = time.monotonic(), os.cpu_count() or 1
    share = max(count // (2 * workers), 1)
    starts = range(first, first + count, share)
    jobs = [(name, start, share) for name in SEEDS for start in starts]
    ended: dict[str, Counter[str]] = {name: Counter() for name in SEEDS}
    faults: list[str] = []
    with ProcessPoolExecutor(workers) as pool:
        for name, counted, found in pool.map(many, *zip(*jobs, strict=True)):
            ended[name] += counted
            faults += found
    say("| reader | taken | refused with a sentence |")
    for name, counted in ended.items():
        say(f"| {name} | {counted['taken']} | {counted['refused']} |")
    say(f"{len(faults)} faults, {time.monotonic() - began:.0f} s")
    for one in faults[:40]:
        say(one)
    return int(bool(faults))


if __name__ == "__main__":
    sys.exit(main(*(int(word) for word in sys.argv[1:3] or ["200000"])))
