"""Make a report: the dashboard's words and pictures, set by a process of its own."""

import argparse
import subprocess
import sys

from analytics import outfile
from analytics.cli import serving
from analytics.store import layout

ENDINGS = (".pdf", ".pptx")


def run(asked: argparse.Namespace) -> int:
    """Make a report of fields, of a grower's, or of the district."""
    layout.require(asked.store)
    outfile.require(asked.out, ENDINGS)
    words = ["--paper", asked.paper, "--out", str(asked.out)]
    words += [f"--field={one}" for one in asked.field]
    words += [f"--grower={asked.grower}"] if asked.grower else []
    words += [f"--units={asked.units}"] if asked.units else []
    words += ["--masked"] if asked.masked else []
    start = [sys.executable, "-P", "-m", "dashboard.views.paper", str(asked.store)]
    env = serving.environment(asked.store)
    return subprocess.run([*start, *words], env=env, check=False).returncode  # noqa: S603
