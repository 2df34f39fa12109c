"""What every browser test stands on: a served store, Debian's Chromium, and a watched page.

A module that writes gives a ``store`` of its own; one that needs another window gives its own
``viewport``.
"""

import http.client
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import pytest

CHROMIUM = shutil.which("chromium")
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
HERE = {"127.0.0.1", "localhost"}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what stands in this folder; it skips, with a reason, where there is no Chromium.

    On a busy machine a page now and then is not ready for a key or a click, and what waits
    for the answer waits in vain: that, and nothing else, is tried once more. What is wrong
    fails twice.
    """
    missing = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium on this machine")
    again = pytest.mark.flaky(reruns=1, reruns_delay=2, only_rerun=["TimeoutError"])
    for item in items:
        if Path(__file__).parent in item.path.parents:
            item.add_marker(pytest.mark.browser)
            item.add_marker(missing)
            item.add_marker(again)


@pytest.fixture(scope="module")
def store(demo_store: Path) -> Path:
    """Give the store that is served; the demonstration, unless a module has its own."""
    return demo_store


@pytest.fixture(scope="session")
def demo_address(demo_store: Path) -> Iterator[str]:
    """Serve the demonstration to all modules that only look at it."""
    with served(demo_store) as where:
        yield where


@pytest.fixture(scope="module")
def address(store: Path, demo_store: Path, request: pytest.FixtureRequest) -> Iterator[str]:
    """Give the address of the module's store."""
    if store == demo_store:
        yield request.getfixturevalue("demo_address")
    else:
        with served(store) as where:
            yield where


@contextmanager
def served(store: Path) -> Iterator[str]:
    """Serve a store on a free port."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    start = "import sys; from analytics.cli import main; sys.exit(main())"
    words = ["-c", start, "serve", str(store), "--port", str(port), "--no-browser"]
    process = subprocess.Popen([sys.executable, *words], stdout=subprocess.DEVNULL)
    try:
        awaited(port)
        yield f"http://127.0.0.1:{port}"
    finally:
        process.terminate()
        process.wait(60)


def awaited(port: int) -> None:
    until = time.monotonic() + 60
    while time.monotonic() < until:
        asking = http.client.HTTPConnection("127.0.0.1", port, timeout=1)
        try:
            asking.request("GET", "/_stcore/health")
            if asking.getresponse().status == 200:
                return
        except OSError:
            time.sleep(0.1)
        finally:
            asking.close()
    pytest.fail("the dashboard did not start")


def settled(page, pause_ms: int = 500) -> None:
    """Wait until the run that a click or an address began has ended."""
    page.wait_for_timeout(pause_ms)
    page.locator("[data-testid=stApp][data-test-script-state=notRunning]").wait_for()


@pytest.fixture(scope="module")
def browser():
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    with sync_api.sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield launched
        launched.close()


@pytest.fixture
def viewport() -> tuple[int, int]:
    """Give the window's width and height, px."""
    return 1440, 1100


@pytest.fixture
def wait_ms() -> int:
    """Say how long an element is waited for: slow is not wrong, on a busy machine least."""
    return 90_000


@pytest.fixture
def page(browser, viewport: tuple[int, int], wait_ms: int):
    """Open a page that remembers what it asked for and what went wrong."""
    width, height = viewport
    opened = browser.new_page(
        viewport={"width": width, "height": height},
        reduced_motion="reduce",  # what moves while a page waits costs a fifth of the processor
    )
    opened.set_default_timeout(wait_ms)
    asked: list[str] = []
    wrong: list[str] = []
    opened.on("request", lambda one: asked.append(one.url))
    opened.on("pageerror", lambda one: wrong.append(str(one)))
    opened.on("console", lambda one: wrong.append(_told(one)) if one.type == "error" else None)
    yield opened
    outside = [one for one in asked if not _inside(one)]
    opened.close()
    assert asked
    assert outside == []
    assert [one for one in wrong if one] == []


def _inside(url: str) -> bool:
    parts = urlsplit(url)
    return parts.scheme in {"data", "blob", "about"} or parts.hostname in HERE


def _told(message) -> str:
    """Give an error's text; Streamlit looks for its own root from a page's address first."""
    where = message.location.get("url", "")
    return "" if "/_stcore/" in where else f"{message.text} {where}"
