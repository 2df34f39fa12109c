"""Everybody gets there: WCAG 2.1 AA on every page, light and dark, and narrow windows."""

import pytest

pytest.importorskip("axe_playwright_python", reason="axe-playwright-python is not installed")
from axe_playwright_python.sync_playwright import Axe

from tests.browser.conftest import settled

PAGES = (
    "", "field?field=Corrie+12", "order", "season?field=Lower+Dunnet", "neighbours", "meeting",
    "points", "record",
)  # fmt: skip
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]}
OF_COLOUR = {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}
"""All that can change where nothing but colours does."""
BRUSH = {"exclude": [["[class*=dragged_brush]"]]}
"""What a drag leaves on the points' chart: the chart library draws it, and gives it no name."""
READY = ".ow-answer, .ow-room-head"
INK = "getComputedStyle(document.documentElement).getPropertyValue('--ow-ink')"


def drawn(page) -> None:
    page.locator(READY).first.wait_for()
    settled(page, pause_ms=0)
    page.wait_for_timeout(1000)


def shut_out(page, rules: dict) -> list[tuple[str, str]]:
    """List what on a page shuts somebody out: the rule, and where it is broken."""
    options = {**rules, "resultTypes": ["violations"]}  # listing what passes takes far longer
    found = Axe().run(page, context=BRUSH, options=options)
    return [(one["id"], node["html"][:180]) for one in found.response["violations"]
            for node in one["nodes"]]  # fmt: skip


@pytest.mark.parametrize("where", PAGES)
def test_a_page_shuts_nobody_out_in_light_nor_when_dark_falls_on_it(
    page, address, where: str
) -> None:
    page.emulate_media(color_scheme="light")
    page.goto(f"{address}/{where}")
    drawn(page)
    assert shut_out(page, RULES) == []
    by_day = page.evaluate(INK)
    page.emulate_media(color_scheme="dark")
    page.wait_for_function(f"{INK} !== '{by_day}'")
    drawn(page)
    assert shut_out(page, OF_COLOUR) == []
