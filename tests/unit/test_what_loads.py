"""What a fresh process really imports, since a static contract cannot see it."""

import subprocess
import sys

import pytest

OUTSIDE = {"streamlit", "altair", "folium", "duckdb"}


@pytest.mark.parametrize(
    ("module", "never"),
    [
        ("analytics.assess", OUTSIDE | {"analytics.store", "dashboard"}),
        ("analytics.nightly", OUTSIDE | {"scipy.signal", "scipy.stats"}),
        ("analytics.intake", OUTSIDE | {"analytics.store", "dashboard"}),
        ("analytics.cli", {"streamlit", "altair", "folium", "dashboard", "scipy", "demo_data"}),
        ("dashboard.charts.tally", {"streamlit", "duckdb"}),
        ("dashboard.maps", {"streamlit", "duckdb"}),
        ("demo_data.grow", OUTSIDE | {"analytics", "dashboard"}),
    ],
)
def test_a_room_loads_no_more_than_it_may(module: str, never: set[str]) -> None:
    code = f"import sys, {module}; print('\\n'.join(sys.modules))"
    run = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert not never & set(run.stdout.split())
