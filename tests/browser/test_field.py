"""The field's page in a real Chromium: switch and downloads, nothing asked from outside."""

import re
from pathlib import Path

from tests.browser.conftest import settled

CHARTS = ".vega-embed svg, .vega-embed canvas"


def test_the_switch_shows_what_a_short_view_hides(page, address: str) -> None:
    page.goto(f"{address}/field?field=Corrie+12")
    page.locator(".ow-answer", has_text="Corrie 12").wait_for()
    page.locator(CHARTS).nth(4).wait_for()
    assert page.get_by_text("This view starts on").count() == 0
    page.get_by_text("This season", exact=True).click()
    page.get_by_text("This view starts on 29 Sep 2025").wait_for()
    page.wait_for_function("() => location.search.includes('span=This+season')")


def test_pictures_and_tables_come_down_offline(page, address: str) -> None:
    page.goto(f"{address}/field?field=Corrie+12")
    page.locator(CHARTS).nth(4).wait_for()
    begins = {"SVG": b"<svg", "PNG": b"\x89PNG", "CSV": b"date,depth_cm"}
    for form, begin in begins.items():
        with page.expect_download() as coming:
            page.locator(f".st-key-take_depth-by-time_{form} button").click()
        assert coming.value.suggested_filename.startswith("corrie-12-depth-by-time-")
        assert Path(coming.value.path()).read_bytes().startswith(begin)


def test_back_shows_what_the_address_says(page, address: str) -> None:
    page.goto(f"{address}/field?field=Teasel+6&units=mm")
    page.locator(".ow-answer", has_text="Teasel 6").wait_for()
    for name in ("Season", "Field"):
        page.get_by_role("link", name=name, exact=True).click()
        page.wait_for_url(f"**/{name.lower()}?field=Teasel+6&units=mm")
        page.locator(".ow-answer", has_text="Teasel 6").wait_for()
        settled(page)
    while "/season?" not in page.url:
        page.go_back()
        settled(page)
    page.locator(".ow-answer", has_text=re.compile(r"Teasel 6, .* mm short")).wait_for()
    assert page.locator(".st-key-field input").input_value() == "Teasel 6"
    assert page.url.endswith("/season?field=Teasel+6&units=mm")
