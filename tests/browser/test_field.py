"""The field's page in a real Chromium: switch and downloads, nothing asked from outside."""

from pathlib import Path

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
