"""Copy a store into one file, and make a store of a copy."""

import argparse

from analytics.cli.talk import Bar, say
from analytics.store import backup


def back_up(asked: argparse.Namespace) -> int:
    """Copy a store."""
    bar = Bar()
    count = backup.back_up(asked.store, asked.out, bar.tell)
    bar.close()
    say(f"{asked.out}: {count} files of {asked.store}, read back and found whole.")
    return 0


def restore(asked: argparse.Namespace) -> int:
    """Make a store of a copy."""
    bar = Bar()
    count = backup.restore(asked.copy, asked.store, bar.tell)
    bar.close()
    say(f"{asked.store}: {count} files restored, each as it was when the copy was made.")
    return 0
