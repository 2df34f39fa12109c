"""Each person's task from the landing page to its answer, in three clicks or fewer; and the
masked meeting attacked: nothing that is sent or shown names a field, a grower or a place.
"""

import re
import zipfile
from pathlib import Path

import pandas as pd
import pytest
from playwright.sync_api import TimeoutError as TooLate

from analytics.store import people
from analytics.store.statements import query
from tests.browser.conftest import settled

MOST_CLICKS = 3


class Hand:
    """A hand that counts its clicks."""

    def __init__(self, page) -> None:
        self.page, self.clicks = page, 0

    def click(self, what) -> None:
        what.click()
        self.clicks += 1

    def turn(self, title: str) -> None:
        self.click(self.page.get_by_test_id("stTopNavLink").filter(has_text=title))


@pytest.fixture
def hand(page, address: str) -> Hand:
    page.goto(address)
    page.locator("[role=option]").first.wait_for()
    return Hand(page)


def test_the_manager_learns_where_water_goes_first(hand: Hand) -> None:
    hand.turn("Watering order")
    hand.page.locator(".ow-answer", has_text=re.compile(r"Start|start")).wait_for()
    assert hand.clicks <= MOST_CLICKS


def test_the_agronomist_sets_a_field_beside_its_neighbours(hand: Hand) -> None:
    row = hand.page.locator("[role=option]").nth(3)
    name = row.locator(".title b").inner_text()
    hand.click(row)
    hand.page.get_by_text(f"Open {name}").wait_for()
    hand.turn("Neighbours")
    hand.page.locator(".ow-answer", has_text=name).wait_for()
    hand.page.locator(".ow-beside img").nth(5).wait_for()
    assert hand.page.locator(".ow-beside img").count() == 6
    assert hand.clicks <= MOST_CLICKS


def test_the_consultant_opens_the_masked_meeting(hand: Hand) -> None:
    hand.turn("Meeting")
    hand.page.get_by_text("Names withheld").wait_for()
    hand.page.locator(".ow-room-head").wait_for()
    assert hand.clicks <= MOST_CLICKS
    assert "field=" not in hand.page.evaluate("location.href")


def _rested(page) -> None:
    """Wait until the page is drawn whole: a key is heard only then."""
    page.get_by_text("Set up the walk").wait_for()
    settled(page, pause_ms=0)
    page.wait_for_timeout(200)


def _turned(page, key: str, to: str) -> None:
    """Press a key until the walk turns, as a person would; a busy browser may lose one."""
    for _ in range(3):
        page.keyboard.press(key)
        try:
            page.get_by_text(to).wait_for(timeout=7000)
        except TooLate:
            continue
        return
    page.get_by_text(to).wait_for()


def _secrets(store: Path) -> set[str]:
    """Gather what must not be seen: names, ids, growers, places, coordinates."""
    fields, sites, sources = (
        pd.DataFrame(people.table(store, one)) for one in ("fields", "sites", "sources")
    )
    marks = query(store, "show_landmarks")["name"]
    told = [*fields["field"], *fields["name"], *fields["grower"], *sites["site"],
            *sources["name"], *sources["source"], *marks]  # fmt: skip
    where = [f"{one:.3f}" for one in (*sites["latitude"], *sites["longitude"])]
    return {str(one) for one in (*told, *where) if isinstance(one, str) and one}


def _seen(secrets: set[str], said: str) -> set[str]:
    return {
        one for one in secrets if re.search(rf"(?<!\w){re.escape(one)}", said, re.IGNORECASE)
    }


def test_nothing_in_a_masked_meeting_tells_whose_field_it_is(page, address, store) -> None:
    secrets = _secrets(store)
    assert len(secrets) > 100
    sent: list[str] = []

    def kept(payload: bytes | str) -> None:
        sent.append(payload if isinstance(payload, str) else payload.decode("utf-8", "ignore"))

    page.on("websocket", lambda socket: socket.on("framereceived", kept))
    page.goto(f"{address}/meeting")
    page.locator(".ow-room-head").wait_for()
    steps = int(page.get_by_text(re.compile(r"^1 of \d$")).inner_text()[-1])
    assert steps >= 5
    shown = [page.content()]
    for at in range(2, steps + 1):
        _rested(page)
        _turned(page, "ArrowRight", f"{at} of {steps}")
        page.wait_for_function(
            "n => new URLSearchParams(location.search).get('step') === n", arg=str(at)
        )
        shown.append(page.content())
    shown.append(page.evaluate("location.href"))
    page.get_by_text("Set up the walk").click()
    with page.expect_download() as taken:
        page.get_by_role("button", name="These steps as slides").click()
    with zipfile.ZipFile(taken.value.path()) as deck:
        shown += [deck.read(one).decode("utf-8", "ignore") for one in deck.namelist()]
    shown.append(taken.value.suggested_filename)
    page.get_by_text("Set up the walk").click()
    assert "Field " in "".join(sent)  # the attack does read what is sent
    for said in (*sent, *shown):
        assert _seen(secrets, said) == set()
    _rested(page)
    page.keyboard.press("ArrowLeft")
    page.get_by_text(f"{steps - 1} of {steps}").wait_for()


def test_a_grower_is_named_to_themselves_and_nobody_else(page, address, store) -> None:
    fields = pd.DataFrame(people.table(store, "fields"))
    grower = str(fields["grower"].iloc[0])
    own = set(fields.loc[fields["grower"] == grower, "name"])
    others = set(fields["name"]) - own
    page.goto(f"{address}/meeting")
    page.locator(".ow-room-head").wait_for()
    page.get_by_text("Set up the walk").click()
    asking = page.get_by_label("Name one grower's own fields")
    asking.fill(grower)
    asking.press("Enter")
    page.locator(".drawing svg", has_text=re.compile("|".join(map(re.escape, own)))).wait_for()
    said = page.content()
    assert _seen(own, said) == own
    assert _seen(others, said) == set()
