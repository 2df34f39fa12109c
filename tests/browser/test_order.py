"""A manager reads the order, halves a well and takes the valve page, in a real Chromium."""

from pathlib import Path

import pytest


@pytest.fixture(params=[(1440, 1200), (768, 1000)], ids=["wide", "narrow"])
def viewport(request: pytest.FixtureRequest) -> tuple[int, int]:
    return request.param


def test_the_order_is_read_changed_and_taken_away(page, address: str) -> None:
    page.goto(f"{address}/order")
    page.get_by_role("heading", name="Start ").wait_for()
    drawings = page.locator("svg[aria-label^='Watering order of']").filter(visible=True)
    drawings.first.wait_for()
    boxes = [one.bounding_box() for one in drawings.all()]
    narrow = page.viewport_size["width"] < 1100
    assert len(boxes) == (4 if narrow else 1)  # a narrow screen folds the picture
    assert max(box["x"] + box["width"] for box in boxes) <= page.viewport_size["width"]
    wide = page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert wide  # the page itself never scrolls sideways
    slider = page.get_by_role("slider", name="Capacity, % of now")
    slider.focus()
    for _ in range(12):
        page.keyboard.press("ArrowLeft")
    page.get_by_text("put on in all").wait_for()
    page.locator("svg[aria-label^='Present and changed plan']").filter(
        visible=True
    ).first.wait_for()
    page.get_by_role("button", name="Back to the present plan").click()
    page.get_by_text("Change anything above").wait_for()
    with page.expect_download() as taken:
        page.get_by_role("button", name="Page to print").click()
    assert "<h2>" in Path(taken.value.path()).read_text(encoding="utf-8")
    with page.expect_download() as taken:
        page.get_by_role("button", name="Calendar", exact=True).click()
    assert Path(taken.value.path()).read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")
