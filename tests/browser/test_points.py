"""A person looks at a point, changes it, and takes it back, in a real Chromium on a copy."""

import http.client
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from analytics.store.statements import query

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
def store(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a copy of the demonstration, since this module writes."""
    return Path(shutil.copytree(demo_store, tmp_path_factory.mktemp("points") / "store"))


@pytest.fixture(scope="module")
def address(store: Path) -> Iterator[str]:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    start = "import sys; from analytics.cli import main; sys.exit(main())"
    words = ["-c", start, "serve", str(store), "--port", str(port), "--no-browser"]
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
def page(address: str):
    with sync_api.sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        opened = launched.new_page(viewport={"width": 1440, "height": 1400})
        opened.set_default_timeout(WAIT_MS)
        wrong: list[str] = []
        opened.on("pageerror", lambda one: wrong.append(str(one)))
        yield opened
        launched.close()
        assert wrong == []


def _fill(page, label: str, words: str) -> None:
    box = page.get_by_label(label, exact=True).last
    box.fill(words)
    box.press("Tab")
    page.wait_for_timeout(400)


def test_a_point_is_changed_and_taken_back(page, address: str, store: Path) -> None:
    page.goto(f"{address}/points?field=Corrie+12&layer=90")
    page.get_by_text("Corrie 12, ").first.wait_for()
    page.locator(".vega-embed canvas, .vega-embed svg").first.wait_for()
    value = page.get_by_label("Value, m³/m³")
    before = float(value.input_value())
    _fill(page, "Value, m³/m³", f"{before + 0.03:.3f}")
    page.get_by_text(f"with {before + 0.03:.3f}").wait_for()
    assert query(store, "show_versions", site="x").empty
    page.get_by_role("button", name="Save this point").click()
    page.get_by_text("Say who sets it, and why").wait_for()
    _fill(page, "Set by", "A. Ash")
    _fill(page, "Reason", "cored in March")
    page.get_by_role("button", name="Save this point").click()
    page.get_by_text("is worked out anew").wait_for()
    page.get_by_text("cored in March").wait_for()
    page.get_by_role("button", name="Take back").click()
    page.get_by_text("taken back; what stood before").wait_for()
    assert float(page.get_by_label("Value, m³/m³").input_value()) == before


def test_the_work_list_opens_a_layer(page, address: str) -> None:
    page.goto(f"{address}/points")
    page.get_by_text("need a person").first.wait_for()
    second = page.get_by_test_id("stBaseButton-tertiary").nth(1)
    name = second.inner_text().split(",")[0]
    second.click()
    page.locator(".ow-head h2", has_text=f"{name}, ").wait_for()
    page.wait_for_function(
        "n => new URLSearchParams(location.search).get('field') === n", arg=name
    )
