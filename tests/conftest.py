"""What every test may lean on."""

import os
from pathlib import Path

import pytest
from hypothesis import settings

from analytics.cli.demonstration import build

settings.register_profile("ci", derandomize=True, deadline=None, max_examples=50)
settings.load_profile("ci")

os.environ.setdefault("TZ", "Asia/Kolkata")  # nothing may lean on the machine's own zone


@pytest.fixture(scope="session")
def demo_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Grow the demonstration store once a session, as `overwinter demo` does."""
    store = tmp_path_factory.mktemp("demo") / "store"
    build(store)
    return store
