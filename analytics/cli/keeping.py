"""Make a store, look it over, write a table of it out."""

import argparse
import sys

import geopandas as gpd
import pandas as pd

from analytics import outfile
from analytics.cli.talk import remark, say
from analytics.contract import READINGS, TABLES
from analytics.errors import InputRefused
from analytics.report import export, whole
from analytics.store import layout, people, readings, statements
from analytics.store.check import Finding
from analytics.store.check import check as look_over

LONG = (READINGS.name, "daily", "uptake", "flags", "weather")
"""Tables of millions of rows, or of no place; each can be had alone."""


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
    _remark_unassessed(asked)
    sys.stdout.flush()
    out = asked.out or sys.stdout.buffer
    if asked.name == READINGS.name:
        rows = export.write_parts(lambda: readings.by_site(asked.store), asked.format, out)
    else:
        frame = people.table(asked.store, asked.name)
        if asked.format in export.PLACED:
            frame = _placed(asked, frame)
        export.write(frame, asked.format, out)
        rows = len(frame)
    if asked.out:
        remark(f"{asked.out}: {rows} rows of {asked.name}.")
    return 0


def export_all(asked: argparse.Namespace) -> int:
    """Write every table but the readings and what is kept by day into one GeoPackage.

    A boundary stands once, with its field; the latest readiness comes with one of its own, to
    be mapped at once. A GIS joins the other tables by field or site.
    """
    layout.require(asked.store)
    outfile.require(asked.out, (".gpkg",))
    names = [one for one in TABLES if one not in LONG]
    frames = {name: people.table(asked.store, name) for name in names}
    fields, sites = people.fields(asked.store), frames["sites"]
    latest = frames["readiness"]
    latest = latest[(latest["date"] == latest["date"].max()) & (latest["zone"] != "layer")]
    frames["readiness_latest"] = export.place(latest, fields, sites)
    frames |= {name: _points(frames[name]) for name in ("sites", "stations")}
    count = whole.geopackage(frames, asked.out)
    remark(
        f"{asked.out}: {count} layers. Readings: overwinter table {asked.store} readings "
        "--format parquet --out FILE"
    )
    return 0


def _points(frame: pd.DataFrame) -> pd.DataFrame:
    places = gpd.points_from_xy(frame["longitude"], frame["latitude"], crs="EPSG:4326")
    return gpd.GeoDataFrame(frame, geometry=places)


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
