"""The Record page in a real Chromium: a flag is added and undone, nothing is asked outside."""

import re
import shutil
from pathlib import Path

import pytest


@pytest.fixture(scope="module")
def store(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a copy of the demonstration, since this module writes."""
    return Path(shutil.copytree(demo_store, tmp_path_factory.mktemp("record") / "store"))


@pytest.fixture
def viewport() -> tuple[int, int]:
    return 1440, 1400


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
