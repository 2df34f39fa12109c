"""Take out what should never have been in the store."""

import argparse
import sys
from pathlib import Path

from analytics.cli.talk import remark, say
from analytics.contract import READINGS
from analytics.errors import InputRefused
from analytics.report import export
from analytics.store import layout
from analytics.store.removal import remove, remove_readings

_SPAN = {"site", "from", "to"}


def run(asked: argparse.Namespace) -> int:
    """Take out the rows that COLUMN=VALUE name, and show them."""
    layout.require(asked.store)
    wanted = dict(map(_parsed, asked.rows))
    if asked.table == READINGS.name:
        return _readings(asked.store, wanted)
    gone = remove(asked.store, asked.table, wanted, every=asked.every)
    export.write(gone, "text", sys.stdout.buffer)
    count = "1 row" if len(gone) == 1 else f"{len(gone)} rows"
    remark(
        f"{count} taken out of {asked.table}; kept in: overwinter table {asked.store} removed"
    )
    say(f"Next: overwinter assess {asked.store}")
    return 0


def _readings(store: Path, wanted: dict[str, str]) -> int:
    if set(wanted) != _SPAN:
        where, found = "readings", f"{', '.join(sorted(wanted))} names no span of a site."
        raise InputRefused(where, found, "Write site=... from=... to=..., days or instants.")
    count = remove_readings(store, wanted["site"], wanted["from"], wanted["to"])
    remark(f"{count} instants taken out; kept in: overwinter table {store} superseded")
    say("Next: import the right file (--again, if it was taken before), then assess.")
    return 0


def _parsed(word: str) -> tuple[str, str]:
    name, equals, value = word.partition("=")
    if not equals:
        where = f"row {word!r}"
        raise InputRefused(where, "names no value.", "Write COLUMN=VALUE.")
    return name, value
