"""A manager reads the order, halves a well and takes the valve page, in a real Chromium."""

import http.client
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
CHROMIUM = shutil.which("chromium")
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(CHROMIUM is None, reason="no Chromium on this machine"),
]
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
WAIT_MS = 40_000


@pytest.fixture(scope="module")
def address(demo_store: Path) -> Iterator[str]:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    start = "import sys; from analytics.cli import main; sys.exit(main())"
    words = ["-c", start, "serve", str(demo_store), "--port", str(port), "--no-browser"]
    process = subprocess.Popen([sys.executable, *words], stdout=subprocess.DEVNULL)
    try:
        _await(port)
        yield f"http://127.0.0.1:{port}"
    finally:
        process.terminate()
        process.wait(20)


def _await(port: int) -> None:
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


@pytest.fixture(params=[(1440, 1200), (768, 1000)], ids=["wide", "narrow"])
def page(address: str, request: pytest.FixtureRequest):
    width, height = request.param
    with sync_api.sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        opened = launched.new_page(viewport={"width": width, "height": height})
        opened.set_default_timeout(WAIT_MS)
        wrong: list[str] = []
        asked: list[str] = []
        opened.on("pageerror", lambda one: wrong.append(str(one)))
        opened.on("request", lambda one: asked.append(one.url))
        yield opened
        launched.close()
        assert wrong == []
        own = (address, address.replace("http", "ws"), "data:", "blob:", "about:")
        assert [one for one in asked if not one.startswith(own)] == []


def test_the_order_is_read_changed_and_taken_away(page, address: str) -> None:
    page.goto(f"{address}/order")
    page.get_by_role("heading", name="Start ").wait_for()
    picture = page.locator("svg[aria-label^='Watering order of']")
    picture.wait_for()
    size = picture.bounding_box()
    assert size is not None
    assert size["width"] >= 1100  # type kept readable: a narrow screen scrolls the picture
    wide = page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert wide  # the page itself never scrolls sideways
    slider = page.get_by_role("slider", name="Capacity, % of now")
    slider.focus()
    for _ in range(12):
        page.keyboard.press("ArrowLeft")
    page.get_by_text("put on in all").wait_for()
    page.locator("svg[aria-label^='Present and changed plan']").wait_for()
    page.get_by_role("button", name="Back to the present plan").click()
    page.get_by_text("Change anything above").wait_for()
    with page.expect_download() as taken:
        page.get_by_role("button", name="Page to print").click()
    assert "<h2>" in Path(taken.value.path()).read_text(encoding="utf-8")
    with page.expect_download() as taken:
        page.get_by_role("button", name="Calendar", exact=True).click()
    assert Path(taken.value.path()).read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")
