"""Measure a store's pages from warm results: ``python tests/benchmarks/pages.py STORE``.

A page's script is run as a server runs it, session and widgets and all, without a browser or
its wire. Printed are the middle and the 95th of a hundred of the time that takes, and the size
of what would go to the browser: of the map opened anew, of a field that nobody has looked at
since the last assessment, of one that somebody has, and of each other page, opened again.
"""

import logging
import os
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from streamlit.runtime.scriptrunner.script_runner import ScriptRunner
from streamlit.testing.v1 import AppTest, local_script_runner

import dashboard
from analytics.cli.talk import say
from analytics.store import people

APP = str(Path(dashboard.__file__).with_name("app.py"))
RUNS = 40
KEPT = 6  # fields whose charts are all still at hand
OTHERS = ("order", "season", "neighbours", "meeting", "points", "record")
AGAIN = 10
NAME = "parse_tree_from_messages"
_read = getattr(local_script_runner, NAME)
_run_script = ScriptRunner._run_script_thread


class Last:
    """How many bytes the last run sent, and how long its script took."""

    size = 0
    ms = 0.0


def _weighed(messages: list[Any]) -> Any:
    Last.size = sum(one.ByteSize() for one in messages)
    return _read(messages)


def _timed(runner: ScriptRunner) -> None:
    began = time.perf_counter()
    _run_script(runner)
    Last.ms = 1000 * (time.perf_counter() - began)


def main(store: Path) -> None:
    """Measure the map and the field page, and print a row each."""
    os.environ["OVERWINTER_STORE"] = str(store)
    logging.disable(logging.WARNING)  # Streamlit warns that no browser is there
    setattr(local_script_runner, NAME, _weighed)
    setattr(ScriptRunner, "_run_script_thread", _timed)  # noqa: B010 - not meant to be set
    fields = pd.DataFrame(people.table(store, "fields"))["field"].tolist()
    told("map of every field", [_run(_app()) for _ in range(RUNS)])
    app = _app()
    _run(app)
    _run(app.switch_page("views/field.py"))
    some = fields[:: max(len(fields) // RUNS, 1)][:RUNS]
    first = [_run(_of(app, one)) for one in some]
    told("page of one field, looked at for the first time", first)
    kept = some[-KEPT:]
    told("page of one field, looked at again", [_run(_of(app, one)) for one in kept * 5])
    for page in OTHERS:
        app.switch_page(f"views/{page}.py")
        told(f"page {page}", [_run(app) for _ in range(AGAIN)])


def _app() -> AppTest:
    return AppTest.from_file(APP, default_timeout=120)


def _of(app: AppTest, field: str) -> AppTest:
    app.selectbox(key="field").set_value(field)
    return app


def _run(app: AppTest) -> tuple[float, int]:
    app.run()
    assert not app.exception, app.exception
    return Last.ms, Last.size


def told(what: str, runs: list[tuple[float, int]]) -> None:
    """Print one row; the first run warms what is kept and does not count."""
    spent, size = np.array(runs[1:]).T
    middle, slow = np.quantile(spent, [0.5, 0.95])
    say(f"| {what} | {middle:.0f} ms, 95 of 100 within {slow:.0f} ms | "
        f"at most {size.max() / 1000:.0f} kB |")  # fmt: skip


if __name__ == "__main__":
    main(Path(sys.argv[1]))
