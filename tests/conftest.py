"""What every test may lean on."""

import hashlib
import os
import shutil
from pathlib import Path

import pytest
from filelock import FileLock
from hypothesis import settings

import analytics
import demo_data
from analytics.cli.demonstration import build

settings.register_profile("ci", derandomize=True, deadline=None, max_examples=50)
settings.load_profile("ci")

os.environ.setdefault("TZ", "Asia/Kolkata")  # nothing may lean on the machine's own zone


LONG_FIRST = ("survival", "browser", "store", "app")
"""Rooms of tests whose files last long; begun last, one would leave a core with nothing."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the files that last longest."""
    at = {room: number for number, room in enumerate(LONG_FIRST)}
    items.sort(key=lambda item: at.get(item.path.parent.name, len(at)))


@pytest.fixture(scope="session")
def demo_store(pytestconfig: pytest.Config) -> Path:
    """Grow the store of `overwinter demo`, once for the sources that grow it.

    Test processes side by side share it, and so does the next session, until a source changes.
    """
    grown = pytestconfig.cache.mkdir("demonstration")
    store = grown / _sources_hash()
    with FileLock(grown / "growing.lock"):
        if not store.exists():
            for old in grown.glob("*/"):
                shutil.rmtree(old)
            build(store)
    return store


def _sources_hash() -> str:
    """Digest every file of the rooms whose code decides what the demonstration holds."""
    digest = hashlib.sha256()
    for room in (analytics, demo_data):
        folder = Path(str(room.__file__)).parent
        for source in sorted(folder.rglob("*")):
            if source.suffix in (".py", ".sql"):
                digest.update(str(source.relative_to(folder)).encode() + source.read_bytes())
    return digest.hexdigest()[:16]
