"""Assess a store from the command line."""

import argparse
import multiprocessing
import sys
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import AbstractContextManager

import pandas as pd

from analytics.cli.cluster import joined
from analytics.cli.talk import Bar, complain, remark, say
from analytics.errors import some_of
from analytics.model import WORDS_APART
from analytics.store import layout
from analytics.store.assessment import AssessReport, assess

NAMED = 10


def run(asked: argparse.Namespace) -> int:
    """Assess; a site that fails is named and gives status 1."""
    layout.require(asked.store)
    bar = Bar()
    with pd.option_context(*WORDS_APART), _executor(asked) as executor:
        report = assess(
            asked.store, asked.as_of, executor, everything=asked.all, progress=bar.tell
        )
    if report.generation:
        bar.close()
    return tell(report)


def _executor(asked: argparse.Namespace) -> AbstractContextManager[Executor]:
    if asked.cluster is None:
        return workers(asked.workers)
    return joined(asked.cluster, asked.store)


def workers(count: int) -> Executor:
    """Give an executor of so many processes; one works within this process.

    Workers start from a clean server where the system has one: a forked copy of this process
    would inherit the locks that its threads hold.
    """
    if count == 1:
        return ThreadPoolExecutor(1)
    way = "spawn" if sys.platform == "win32" else "forkserver"
    context = multiprocessing.get_context(way)
    if way == "forkserver":
        from multiprocessing import forkserver  # noqa: PLC0415 - there is none on Windows

        context.set_forkserver_preload(["analytics.store.assessment"])
        forkserver.ensure_running()  # it loads while this process looks what is due
    return ProcessPoolExecutor(
        count, mp_context=context, initializer=pd.set_option, initargs=WORDS_APART
    )


def tell(report: AssessReport) -> int:
    """Say what an assessment did."""
    if report.note:
        remark(report.note)
    late = len(report.latest_days)
    part = f", {late} of them for their latest days only" if late else ""
    kept = f", {len(report.unchanged)} had not changed" if report.unchanged else ""
    count = len(report.assessed)
    sites = "site" if count == 1 else "sites"
    say(f"As of {report.as_of}: {count} {sites} assessed{part}{kept}.")
    if report.without_readings:
        remark(f"Without readings: {some_of(report.without_readings, NAMED)}.")
    for sentence in report.failed.values():
        complain(sentence)
    return int(bool(report.failed))
