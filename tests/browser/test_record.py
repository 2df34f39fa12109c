"""The Record page in a real Chromium: a flag is added and undone, nothing is asked outside."""

import http.client
import re
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

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
HERE = {"127.0.0.1", "localhost"}
WAIT_MS = 60_000


@pytest.fixture(scope="module")
def address(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Serve a copy of the demonstration, since this test writes."""
    copy = tmp_path_factory.mktemp("record") / "store"
    shutil.copytree(demo_store, copy)
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    start = "import sys; from analytics.cli import main; sys.exit(main())"
    words = ["-c", start, "serve", str(copy), "--port", str(port), "--no-browser"]
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


@pytest.fixture
def page() -> Iterator:
    with sync_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        opened = browser.new_page(viewport={"width": 1440, "height": 1400})
        opened.set_default_timeout(WAIT_MS)
        asked: list[str] = []
        wrong: list[str] = []
        opened.on("request", lambda one: asked.append(one.url))
        opened.on("pageerror", lambda one: wrong.append(str(one)))
        yield opened
        browser.close()
    assert asked
    assert [one for one in asked if not _inside(one)] == []
    assert wrong == []


def _inside(url: str) -> bool:
    parts = urlsplit(url)
    return parts.scheme in {"data", "blob", "about"} or parts.hostname in HERE


def _choose(page, label: str, words: str) -> None:
    page.get_by_label(label, exact=True).first.click()
    page.get_by_role("option", name=words).first.click()


def test_a_flag_is_added_and_undone(page, address: str) -> None:
    page.goto(f"{address}/record")
    page.locator(".ow-answer", has_text="probes is silent").wait_for()
    _choose(page, "Probe", "Ansel 6")
    page.get_by_text("What each sensor of Ansel 6").wait_for()
    page.locator(".vega-embed svg, .vega-embed canvas").first.wait_for()
    form = page.get_by_test_id("stForm").filter(has_text="Add this span")
    form.get_by_label("Your name").fill("Ash")
    form.get_by_role("button", name="Add this span").click()
    page.get_by_text("no reason is given").wait_for()
    form.get_by_label("Reason").fill("dug up by mistake")
    form.get_by_role("button", name="Add this span").click()
    page.get_by_text("Sensor failing added by Ash. The results follow it.").wait_for()
    page.get_by_role("cell", name="dug up by mistake").wait_for()
    undo = page.get_by_test_id("stForm").filter(has_text="Undo it")
    undo.get_by_label("Your name").fill("Elm")
    undo.get_by_role("button", name="Undo it").click()
    page.get_by_text("Undone by Elm. The results follow it.").wait_for()
    said = page.get_by_test_id("stMain").inner_text()
    assert not re.search(r"\b(None|nan|NaN|NaT)\b", said)
