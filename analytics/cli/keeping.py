"""Make a store, look it over, write a table of it out."""

import argparse
import sys

import pandas as pd

from analytics.cli.talk import remark, say
from analytics.contract import READINGS, TABLES
from analytics.errors import InputRefused
from analytics.report import export
from analytics.store import layout, people, statements
from analytics.store.check import Finding
from analytics.store.check import check as look_over


def init(asked: argparse.Namespace) -> int:
    """Make an empty store."""
    layout.create(asked.store, asked.units)
    say(f"{asked.store}: an empty store. Next: overwinter import {asked.store} PATH...")
    return 0


def check(asked: argparse.Namespace) -> int:
    """Look a store over; damage gives status 1."""
    found = look_over(asked.store)
    for one in found:
        say(_told(one))
    if not found:
        say(f"{asked.store}: whole; nothing is missing or suspect.")
    return int(any(one.level == "damaged" for one in found))


def _told(one: Finding) -> str:
    return f"{one.level + ':':<9} {one.what} {one.remedy}"


def table(asked: argparse.Namespace) -> int:
    """Print a table, or write it to a file."""
    layout.require(asked.store)
    if asked.out is None and export.binary(asked.format) and sys.stdout.isatty():
        where = f"format {asked.format}"
        raise InputRefused(where, "is not for a terminal.", "Name a file with --out FILE.")
    if asked.format in export.PLACED and asked.name == READINGS.name:
        # A boundary beside each of millions of readings would fill the memory.
        where = f"format {asked.format}"
        found = "readings are too many to carry a boundary each."
        raise InputRefused(where, found, "Choose csv, json or parquet.")
    frame = people.table(asked.store, asked.name)
    if asked.format in export.PLACED:
        frame = _placed(asked, frame)
    _remark_unassessed(asked)
    sys.stdout.flush()
    export.write(frame, asked.format, asked.out or sys.stdout.buffer)
    if asked.out:
        remark(f"{asked.out}: {len(frame)} rows of {asked.name}.")
    return 0


def _placed(asked: argparse.Namespace, frame: pd.DataFrame) -> pd.DataFrame:
    fields, sites = people.fields(asked.store), people.table(asked.store, "sites")
    return export.place(frame, fields, sites)


def _remark_unassessed(asked: argparse.Namespace) -> None:
    described = TABLES.get(asked.name)
    if (
        described
        and described.role == "result"
        and statements.query(asked.store, "latest_assessment").empty
    ):
        remark(f"Nothing has been assessed yet. Run: overwinter assess {asked.store}")
