"""Say who may look in on a shared server."""

import argparse

from analytics.cli.talk import say
from analytics.store import accounts, layout


def run(asked: argparse.Namespace) -> int:
    """Give somebody a role, or take it away."""
    layout.require(asked.store)
    if asked.role == "none":
        accounts.take(asked.store, asked.email)
        say(f"{asked.email} has no role any more.")
        return 0
    accounts.give(asked.store, asked.email, asked.role, asked.grower)
    whose = f" for {', '.join(asked.grower)}" if asked.grower else ""
    say(f"{asked.email}: {asked.role}{whose}.")
    return 0
