"""The words that ``overwinter report`` is called with, turned into a file."""

import argparse
import os
from pathlib import Path

from analytics import outfile
from analytics.cli.talk import Bar, complain, remark
from analytics.errors import InputRefused, OverwinterError, StoreError
from dashboard import data
from dashboard.data.session import STORE_VARIABLE
from dashboard.views.paper.made import Asked, report
from dashboard.views.paper.slides import meeting_slides


def main() -> int:
    """Make the report that the command line asks for."""
    parser = argparse.ArgumentParser()
    parser.add_argument("store", type=Path)
    parser.add_argument("--field", action="append", default=[])
    parser.add_argument("--grower", default="")
    parser.add_argument("--masked", action="store_true")
    parser.add_argument("--units", choices=("in", "mm"))
    parser.add_argument("--paper", choices=("letter", "a4"), default="letter")
    parser.add_argument("--out", type=Path, required=True)
    asked = parser.parse_args()
    os.environ[STORE_VARIABLE] = str(asked.store)
    try:
        return _make(asked)
    except OverwinterError as why:
        complain(str(why))
    except OSError as why:
        complain(f"{why.filename or asked.out}: {why.strerror or why}. Check it and repeat.")
    return 1


def _make(asked: argparse.Namespace) -> int:
    store = data.opened()
    if store.as_of is None or not data.dates(store):
        remedy = f"Run: overwinter assess {asked.store}"
        message = f"{asked.store}: nothing has been assessed yet. {remedy}"
        raise StoreError(message)
    bar = Bar()
    made = _slides(store, asked) if _is_deck(asked.out) else _pages(store, asked, bar)
    bar.close()
    with outfile.unfinished(asked.out) as beside:
        beside.write_bytes(made)
    remark(f"{asked.out}: {len(made) / 1024:.0f} kB.")
    return 0


def _is_deck(out: Path) -> bool:
    return out.suffix.lower() == ".pptx"


def _slides(store: data.Store, asked: argparse.Namespace) -> bytes:
    """Make the meeting's slides, which are always the whole district's."""
    if asked.field or asked.grower:
        where, found = "report", "slides are of the whole district's meeting."
        raise InputRefused(where, found, "Leave out --field and --grower, or name a .pdf.")
    return meeting_slides(store, masked=asked.masked, system=asked.units or store.units)


def _pages(store: data.Store, asked: argparse.Namespace, bar: Bar) -> bytes:
    wanted = Asked(
        fields=tuple(asked.field), grower=asked.grower, masked=asked.masked,
        system=asked.units or store.units, paper=asked.paper,
    )  # fmt: skip
    return report(store, wanted, bar.tell)
