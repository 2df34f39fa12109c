"""Build the demonstration store, whole or not at all, and open the dashboard on it."""

import argparse
import os
import shutil
from concurrent.futures import Executor
from pathlib import Path

from analytics.cli import assessing, bringing, serving
from analytics.cli.talk import Bar, complain
from analytics.errors import StoreError
from analytics.model import Delivery
from analytics.store import importing, layout
from analytics.store.assessment import assess
from analytics.store.paths import database
from demo_data import TODAY
from demo_data.grow import grow

_GROWN, _BROUGHT = 0.2, 0.35  # shares of the whole time, for the bar


def run(asked: argparse.Namespace) -> int:
    """Build the store if it is missing, then serve it."""
    if not database(asked.store).exists():
        build(asked.store)
    return serving.serve(asked.store, asked.port, browser=not asked.no_browser)


def build(store: Path) -> None:
    """Grow, import and assess under another name; rename when all is done.

    Raises
    ------
    StoreError
        When the folder holds something else, or a part of the demonstration fails.
    """
    if store.exists() and (not store.is_dir() or any(store.iterdir())):
        message = f"{store}: there are other files here. Name another folder with --store DIR."
        raise StoreError(message)
    building = store.absolute().with_name(f".{store.absolute().name}.building")
    shutil.rmtree(building, ignore_errors=True)
    bar = Bar()
    with assessing.workers(os.cpu_count() or 1) as executor:
        executor.submit(int)  # workers load the science while the record grows
        _grow(building / "files", bar)
        layout.create(building / "store")
        _bring(building, bar)
        _assess(building / "store", executor, bar)
    bar.tell(1.0, "The demonstration is ready")
    bar.close()
    if store.exists():
        store.rmdir()
    (building / "store").rename(store)
    shutil.rmtree(building)


def _grow(folder: Path, bar: Bar) -> None:
    bar.stage("Growing seven years of an invented district")
    grow(folder, progress=lambda share, words: bar.tell(share * _GROWN, words))


def _bring(building: Path, bar: Bar) -> None:
    bar.stage("Importing its files")
    files = building / "files"
    early = [one for one in sorted(files.iterdir()) if one.name != "late"]
    jobs, refused = bringing.arrange([*early, files / "late"], None)
    done = 0

    def told(path: Path, _delivery: Delivery, _outcome: importing.Outcome) -> None:
        nonlocal done
        done += 1
        share = _GROWN + (_BROUGHT - _GROWN) * done / len(jobs)
        bar.tell(share, f"Importing {path.name}")

    refused += bringing.bring(building / "store", jobs, None, told)
    if refused:
        message = f"The demonstration could not be built: {refused[0]}"
        raise StoreError(message)


def _assess(store: Path, executor: Executor, bar: Bar) -> None:
    bar.stage("Assessing every field")

    def told(share: float, site: str) -> None:
        bar.tell(_BROUGHT + (1 - _BROUGHT) * share, f"Assessing {site}")

    report = assess(store, TODAY, executor, progress=told)
    for sentence in report.failed.values():
        complain(sentence)
    if report.failed:
        message = "The demonstration could not be built: a site could not be assessed."
        raise StoreError(message)
