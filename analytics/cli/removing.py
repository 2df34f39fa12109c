"""Take rows out of the tables that people keep."""

import argparse
import sys

from analytics.cli.talk import remark, say
from analytics.errors import InputRefused
from analytics.report import export
from analytics.store import layout
from analytics.store.removal import remove


def run(asked: argparse.Namespace) -> int:
    """Take out the rows that COLUMN=VALUE name, and show them."""
    layout.require(asked.store)
    gone = remove(asked.store, asked.table, dict(map(_parsed, asked.rows)), every=asked.every)
    export.write(gone, "text", sys.stdout.buffer)
    count = "1 row" if len(gone) == 1 else f"{len(gone)} rows"
    remark(
        f"{count} taken out of {asked.table}; kept in: overwinter table {asked.store} removed"
    )
    say(f"Next: overwinter assess {asked.store}")
    return 0


def _parsed(word: str) -> tuple[str, str]:
    name, equals, value = word.partition("=")
    if not equals:
        where = f"row {word!r}"
        raise InputRefused(where, "names no value.", "Write COLUMN=VALUE.")
    return name, value
