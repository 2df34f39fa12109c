"""A person looks at a point, changes it, and takes it back, in a real Chromium on a copy."""

import shutil
from pathlib import Path

import pytest

from analytics.store.statements import query


@pytest.fixture(scope="module")
def store(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a copy of the demonstration, since this module writes."""
    return Path(shutil.copytree(demo_store, tmp_path_factory.mktemp("points") / "store"))


@pytest.fixture
def viewport() -> tuple[int, int]:
    return 1440, 1400


def _fill(page, label: str, words: str) -> None:
    box = page.get_by_label(label, exact=True).last
    box.fill(words)
    box.press("Tab")
    page.wait_for_timeout(400)


def test_a_point_is_changed_and_taken_back(
    page, address: str, store: Path, wait_ms: int
) -> None:
    expect = pytest.importorskip("playwright.sync_api").expect
    page.goto(f"{address}/points?field=Corrie+12&layer=90")
    page.get_by_text("Corrie 12, ").first.wait_for()
    page.locator(".vega-embed canvas, .vega-embed svg").first.wait_for()
    value = page.get_by_label("Value, m³/m³")
    shown = value.input_value()
    before = float(shown)
    _fill(page, "Value, m³/m³", f"{before + 0.03:.3f}")
    page.get_by_text(f"with {before + 0.03:.3f}").wait_for()
    assert query(store, "show_versions", site="x").empty
    page.get_by_role("button", name="Save this point").click()
    page.get_by_text("Say who sets it, and why").wait_for()
    _fill(page, "Set by", "A. Ash")
    _fill(page, "Reason", "cored in March")
    page.get_by_role("button", name="Save this point").click()
    page.get_by_text("is worked out anew").wait_for()
    page.get_by_role("cell", name="cored in March").wait_for()
    expect(page.get_by_label("Reason", exact=True).last).to_have_value("", timeout=wait_ms)
    _fill(page, "Reason", "a wheel track")
    page.get_by_role("button", name="Take back").click()
    page.get_by_text("taken back; what stood before").wait_for()
    expect(value).to_have_value(shown, timeout=wait_ms)  # drawn after the sentence above it
    assert float(value.input_value()) == before


def test_a_value_is_dragged_on_the_chart(page, address: str) -> None:
    page.goto(f"{address}/points?field=Corrie+12&layer=90")
    chart = page.get_by_test_id("stVegaLiteChart").first
    page.locator(".vega-embed canvas, .vega-embed svg").first.wait_for()
    value = page.get_by_label("Value, m³/m³")
    before = value.input_value()
    chart.scroll_into_view_if_needed()
    box = chart.bounding_box()
    assert box is not None
    x, y = box["x"] + 300, box["y"] + 150
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 30, steps=5)
    page.mouse.up()
    page.get_by_text("with 0.").wait_for()
    assert value.input_value() != before


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
