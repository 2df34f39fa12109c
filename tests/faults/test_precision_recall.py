"""Precision and recall of every flag on faults put into clean readings (aim: 0.95 both).

The floors are what was reached when this was written, less a little for other seeds; they may
be raised, never lowered. Frozen falls short on purpose of the definition: ice that hides 0.02
m3/m3 in the zero curtain without moving is not called frozen (methods: uncertain while the
reading moves), and a clock set on a day of changing weather does not show.
"""

import importlib.util
from pathlib import Path

import pandas as pd
import pytest

SCRIPT = Path(__file__).with_name("inject.py")
FLOORS = {
    "range": (1.0, 0.96),
    "spike": (0.95, 0.97),
    "stuck": (0.95, 0.99),
    "dying": (0.99, 0.98),
    "percent": (0.99, 0.99),
    "frozen": (0.84, 0.94),
    "settling": (0.99, 0.96),
    "step": (0.95, 0.95),
    "move": (0.95, 0.95),
    "clock": (0.90, 0.95),
}  # kind: recall, precision


@pytest.fixture(scope="module")
def table() -> pd.DataFrame:
    spec = importlib.util.spec_from_file_location("inject", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    inject = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(inject)
    found = inject.measure()
    print(found.round(3).to_string())  # noqa: T201 - the table asked for
    return found


@pytest.mark.parametrize("kind", FLOORS)
def test_faults_are_found_and_little_else_is(table, kind):
    recall, precision = FLOORS[kind]
    assert table.loc[kind, "injected"] >= 24
    assert table.loc[kind, "recall"] >= recall
    assert table.loc[kind, "precision"] >= precision


def test_no_kind_is_left_out(table):
    assert set(table.index) == set(FLOORS)
