"""What a person sees and clicks, in a real Chromium, with nothing asked from outside."""

import re
from urllib.parse import parse_qs, urlsplit

FIELDS = "path.leaflet-interactive[fill^='#']"


def _map(page):
    inside = page.frame_locator("iframe[title*='folium']")
    inside.locator(FIELDS).nth(30).wait_for()
    return inside


def _frame(page):
    return next(one for one in page.frames if "folium" in one.url)


def _row(page):
    return page.locator("[role=option][aria-selected=true]")


def _asked(page, name: str) -> str | None:
    return parse_qs(urlsplit(page.evaluate("location.href")).query).get(name, [None])[0]


def _until(page, name: str, value: str) -> None:
    page.wait_for_function(
        "([n, v]) => new URLSearchParams(location.search).get(n) === v", arg=[name, value]
    )


def test_the_map_is_whole_without_the_world_outside(page, address: str) -> None:
    page.goto(address)
    inside = _map(page)
    assert inside.locator(FIELDS).count() >= 36
    numbers = inside.locator(".ow-number").all_inner_texts()
    assert sum(bool(re.fullmatch(r"\d+\.\d", one.strip())) for one in numbers) >= 30
    assert "fields go into the season" in page.locator(".ow-answer").inner_text()
    assert page.locator(".ow-seg").count() >= 5
    assert page.locator("[role=option]").count() == 36


def test_a_click_selects_in_list_and_map_and_the_map_stays(page, address: str) -> None:
    page.goto(address)
    inside, frame = _map(page), _frame(page)
    frame.evaluate("() => { window.kept = 'here'; window.map.setZoom(13, {animate: false}); }")
    page.wait_for_timeout(500)
    before = frame.evaluate("() => [window.map.getZoom(), window.map.getCenter().lat]")
    inside.locator(FIELDS).nth(3).click(position={"x": 12, "y": 12}, force=True)
    _row(page).wait_for()
    first = _row(page).locator(".title b").inner_text()
    _until(page, "field", first)
    page.locator("[role=option]").nth(7).click()
    second = page.locator("[role=option]").nth(7).locator(".title b").inner_text()
    _until(page, "field", second)
    page.get_by_text(f"Open {second}").wait_for()
    page.wait_for_timeout(500)
    assert first != second
    assert inside.locator("path[stroke='#5B2A9D']").count() == 1
    assert frame.evaluate("() => window.kept") == "here"
    assert frame.evaluate("() => [window.map.getZoom(), window.map.getCenter().lat]") == before


def test_the_map_fits_a_smaller_window_until_somebody_moves_it(page, address: str) -> None:
    page.goto(address)
    inside, frame = _map(page), _frame(page)
    stops = "path.leaflet-interactive:not([tabindex='-1']):not(.ow-line)"
    assert inside.locator(stops).count() == 0
    far = """() => Object.values(window.map._layers).filter(one => one.getTooltip
        && one.getTooltip() && !window.map.getBounds().contains(one.getBounds())).length"""
    zoom = frame.evaluate("() => window.map.getZoom()")
    page.set_viewport_size({"width": 390, "height": 900})
    frame.wait_for_function(f"() => window.map.getZoom() < {zoom}")
    assert frame.evaluate(far) == 0
    assert not any(one.is_visible() for one in inside.locator(".ow-name div").all())
    frame.evaluate("() => window.map.setZoom(13, {animate: false})")
    page.set_viewport_size({"width": 1440, "height": 900})
    page.wait_for_timeout(500)
    assert frame.evaluate("() => window.map.getZoom()") == 13


def test_the_list_answers_to_the_keyboard(page, address: str) -> None:
    page.goto(address)
    _map(page)
    page.locator("[role=option]").first.focus()
    for key in ("ArrowDown", "ArrowDown", "Enter"):
        page.keyboard.press(key)
    third = page.locator("[role=option]").nth(2).locator(".title b").inner_text()
    _until(page, "field", third)


def test_a_link_reopens_the_view(page, browser, address: str) -> None:
    page.goto(address)
    _map(page)
    page.get_by_text("mm", exact=True).click()
    _until(page, "units", "mm")
    page.get_by_text("Upper", exact=True).click()
    _until(page, "zone", "Upper")
    page.locator("[role=option]").nth(4).click()
    chosen = page.locator("[role=option]").nth(4).locator(".title b").inner_text()
    _until(page, "field", chosen)
    answer = page.locator(".ow-answer").inner_text()
    assert "mm short in the upper" in answer
    again = browser.new_page()
    again.goto(page.evaluate("location.href"))
    _map(again)
    assert _row(again).locator(".title b").inner_text() == chosen
    assert again.locator(".ow-answer").inner_text() == answer
    again.close()


def test_the_selection_goes_along_to_another_page(page, address: str) -> None:
    page.goto(f"{address}/?field=Corrie+12&units=mm&source=North+wells")
    page.get_by_text("Open Corrie 12").wait_for()
    assert "of 34 " not in page.locator(".ow-answer").inner_text()  # answers for what is shown
    page.get_by_test_id("stTopNavLink").filter(has_text="Field").click()
    page.locator(".ow-answer", has_text="Corrie 12").wait_for()
    assert " mm short" in page.locator(".ow-answer").inner_text()
    page.wait_for_function("() => location.pathname === '/field'")
    assert _asked(page, "field") == "Corrie 12"
    assert _asked(page, "units") == "mm"


def test_a_field_draws_its_soil(page, address: str) -> None:
    page.goto(address)
    _map(page)
    page.locator("[role=option]").first.click()
    name = page.locator("[role=option]").first.locator(".title b").inner_text()
    page.get_by_text(f"Open {name}").click()
    page.locator(".ow-answer", has_text=name).wait_for()
    page.locator(".vega-embed svg, .vega-embed canvas").nth(4).wait_for()
    assert urlsplit(page.evaluate("location.href")).path == "/field"
    assert _asked(page, "field") == name
    assert page.locator(".drawing svg").count() == 1
    assert page.locator(".ow-cores img").count() >= 1
    assert not re.search(r"\b(None|nan|NaN|NaT)\b", page.get_by_test_id("stMain").inner_text())
