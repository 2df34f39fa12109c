"""Show a store's thresholds, and set them otherwise."""

import argparse
import math
import sys
from dataclasses import asdict
from difflib import get_close_matches

import pandas as pd

from analytics.cli.talk import say
from analytics.errors import InputRefused
from analytics.report import export
from analytics.settings import Settings, known
from analytics.store import layout, preferences

DECEMBER = 12
BELOW_NOUGHT = ("C", "F")
"""Units in which a value may lie below nought."""
Choice = tuple[str, str | float | None]


def run(asked: argparse.Namespace) -> int:
    """Set what is given as NAME=VALUE, or list every threshold with what it is now."""
    layout.require(asked.store)
    if not asked.choices:
        export.write(listed(preferences.own(asked.store)), "text", sys.stdout.buffer)
        return 0
    chosen = [parsed(one) for one in asked.choices]  # all of them before the first is kept
    for name, value in chosen:
        if value is None:
            preferences.forget(asked.store, name)
        else:
            preferences.save(asked.store, name, value)
        say(f"{name}: {_told(value)}.")
    say(f"Next: overwinter assess {asked.store}")
    return 0


def listed(own: dict[str, str]) -> pd.DataFrame:
    """Lay every threshold out: name, value, default where the store has its own, and why.

    Parameters
    ----------
    own : dict of str to str
        What the store has set otherwise, by name.
    """
    usual = asdict(Settings())
    now = usual | {name: float(own[name]) for name in own.keys() & usual.keys()}
    rows = [
        {"name": one.name, "value": _short(now[one.name]),
         "instead_of": _short(usual[one.name]) if one.name in own else "",
         "unit": one.metadata["unit"], "meaning": one.metadata["meaning"],
         "source": one.metadata["source"]}
        for one in known()
    ]  # fmt: skip
    return pd.DataFrame(rows)


def _told(value: str | float | None) -> str:
    if value is None:
        return "the default again"
    return value if isinstance(value, str) else _short(value)


def _short(value: float) -> str:
    return f"{value:g}"


def parsed(word: str) -> Choice:
    """Read NAME=VALUE; a value left out stands for the default.

    Raises
    ------
    InputRefused
        When there is no such setting, or the value cannot be one of its.
    """
    name, equals, value = word.partition("=")
    where = f"setting {word!r}"
    if not equals:
        raise InputRefused(where, "names no value.", "Write NAME=VALUE.")
    if name == preferences.UNITS:
        if value not in {"", "in", "mm"}:
            raise InputRefused(where, "is no unit of ours.", "Choose in or mm.")
        return name, value or None
    declared = {one.name: one.metadata for one in known()}
    if name not in declared:
        near = get_close_matches(name, declared)
        hint = f" Near it: {', '.join(near)}." if near else ""
        remedy = f"overwinter set STORE lists them all.{hint}"
        raise InputRefused(where, "does not exist.", remedy)
    return name, _number(where, value, declared[name]["unit"]) if value else None


def _number(where: str, text: str, unit: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputRefused(where, "gives no number.", _remedy(unit))
    if unit == "month" and value not in range(1, DECEMBER + 1):
        raise InputRefused(where, "gives no month.", "Give a whole number, 1 to 12.")
    if value < 0 and unit not in BELOW_NOUGHT:
        raise InputRefused(where, "lies below nought.", _remedy(unit))
    return value


def _remedy(unit: str) -> str:
    return "Give a share or a plain number." if unit == "1" else f"Give a number in {unit}."
