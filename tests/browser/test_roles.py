"""Four roles on a shared server, signed in by a service of the tests' own."""

import shutil
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pandas as pd
import pytest
from pypdf import PdfReader

from analytics.store import accounts, people, readings
from tests.browser.conftest import awaited, settled
from tests.browser.provider import CLIENT, SECRET, provided

GROWER = "Quenby Land"
EVERYBODY = {
    "keeper@example.org": ("administrator", []),
    "fen@example.org": ("agronomist", []),
    "rowan@example.org": ("grower", [GROWER]),
    "visitor@example.org": ("guest", []),
}
UNKNOWN, UNVERIFIED = "stranger@example.org", "unverified@example.org"


@pytest.fixture(scope="module")
def store(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    copy = Path(shutil.copytree(demo_store, tmp_path_factory.mktemp("roles") / "store"))
    for email, (role, growers) in EVERYBODY.items():
        accounts.give(copy, email, role, growers)
    accounts.give(copy, UNVERIFIED, "administrator")
    return copy


@pytest.fixture(scope="module")
def address(store: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    told = tmp_path_factory.mktemp("told") / "sign_in.toml"
    with provided([*EVERYBODY, UNKNOWN, UNVERIFIED]) as service:
        told.write_text(
            "[auth]\n"
            f'redirect_uri = "http://127.0.0.1:{port}/oauth2callback"\n'
            f'cookie_secret = "{"0123456789abcdef" * 3}"\n'
            f'client_id = "{CLIENT}"\n'
            f'client_secret = "{SECRET}"\n'
            f'server_metadata_url = "{service}/.well-known/openid-configuration"\n'
        )
        start = "import sys; from analytics.cli import main; sys.exit(main())"
        words = [
            "serve",
            str(store),
            "--port",
            str(port),
            "--no-browser",
            "--shared",
            str(told),
        ]
        process = subprocess.Popen([sys.executable, "-c", start, *words])
        try:
            awaited(port)
            yield f"http://127.0.0.1:{port}"
        finally:
            process.terminate()
            process.wait(60)


def signed_in(page, address: str, email: str) -> list[bytes]:
    """Sign somebody in; give everything that the server sends from then on."""
    page.goto(address)
    page.get_by_role("button", name="Sign in").click()
    sent: list[bytes] = []
    page.on("websocket", lambda one: one.on("framereceived", lambda got: sent.append(raw(got))))
    page.get_by_role("link", name=email, exact=True).click()
    page.get_by_role("button", name="Sign out").wait_for()
    return sent


def raw(frame: str | bytes) -> bytes:
    return frame if isinstance(frame, bytes) else frame.encode()


def others(store: Path) -> list[str]:
    """Every name of a field or grower, and every probe, that is not the grower's own."""
    fields, sites = people.fields(store), people.table(store, "sites")
    hidden = fields[fields["grower"] != GROWER]
    probes = sites.loc[sites["field"].isin(hidden["field"]), "site"]
    return sorted({*hidden["name"], *hidden["grower"], *hidden["field"], *probes})


def found(words: list[str], sent: list[bytes]) -> list[str]:
    everything = b"\n".join(sent)
    return [one for one in words if one.encode() in everything]


def menu(page) -> list[str]:
    links = page.get_by_test_id("stTopNavLink")
    links.first.wait_for()
    return [one.strip() for one in links.all_inner_texts()]


def test_nothing_is_shown_before_signing_in(address: str, store: Path, page) -> None:
    sent: list[bytes] = []
    page.on("websocket", lambda one: one.on("framereceived", lambda got: sent.append(raw(got))))
    for path in ("", "/field?field=Corrie+12", "/record"):
        page.goto(address + path)
        page.get_by_role("button", name="Sign in").wait_for()
    names = [*people.fields(store)["name"], *people.fields(store)["grower"]]
    assert len(b"".join(sent)) > 1000
    assert found(names, sent) == []


@pytest.mark.parametrize("email", ["keeper@example.org", "fen@example.org"])
def test_who_may_see_everything_does(address: str, page, email: str) -> None:
    signed_in(page, address, email)
    page.get_by_text("of 33 fields").or_(page.get_by_text("of 34 fields")).first.wait_for()
    assert {"Points", "Record"} <= set(menu(page))


def test_an_agronomist_brings_readings_in(
    address: str, store: Path, page, tmp_path: Path
) -> None:
    site, depth_cm = "TF02", readings.newest_depths(store, "TF02")[0]
    last = readings.newest(store, site)
    assert last is not None
    soon = last + pd.Timedelta(minutes=30)  # no new day, which would bring every probe up
    late = tmp_path / "late.csv"
    late.write_text(
        f"site,time,depth_cm,vwc\n{site},{soon:%Y-%m-%dT%H:%M:%SZ},{depth_cm},0.25\n"
    )
    signed_in(page, address, "fen@example.org")
    page.get_by_test_id("stTopNavLink").filter(has_text="Record").first.click()
    page.locator("input[type=file]").set_input_files(late)
    page.get_by_role("button", name="Import this file").click()
    page.get_by_text("late.csv: rows in 1 = 1 taken").wait_for()
    assert readings.newest(store, site) == soon


def test_a_grower_is_sent_nothing_of_anybody_else(address: str, store: Path, page) -> None:
    sent = signed_in(page, address, "rowan@example.org")
    page.get_by_text("of 8 fields").first.wait_for()
    pages = menu(page)
    assert not {"Points", "Record"} & set(pages)
    stranger = str(people.fields(store).query("grower != @GROWER")["field"].iloc[0])
    name_of_stranger = str(people.fields(store).set_index("field").loc[stranger, "name"])
    for name in pages:
        page.get_by_test_id("stTopNavLink").filter(has_text=name).first.click()
        settled(page, pause_ms=1_000)
    for link in ("/field", "/order", "/"):
        page.goto(f"{address}{link}?field={stranger.replace(' ', '+')}")
        page.get_by_role("button", name="Sign out").wait_for()
        settled(page)
        assert name_of_stranger not in page.inner_text("body")
    hidden = [one for one in others(store) if one != stranger]  # the link itself is echoed
    assert found(hidden, sent) == []
    assert found(
        [str(one) for one in people.fields(store).query("grower == @GROWER")["name"]], sent
    )


@pytest.mark.parametrize("email", ["visitor@example.org", UNKNOWN])
def test_without_a_role_no_field_is_shown(address: str, store: Path, page, email: str) -> None:
    sent = signed_in(page, address, email)
    page.get_by_text("No field is open to this account.").wait_for()
    assert found([str(one) for one in people.fields(store)["name"]], sent) == []


def test_an_address_that_the_service_has_not_verified_is_nobody(
    address: str, store: Path, page
) -> None:
    sent = signed_in(page, address, UNVERIFIED)
    page.get_by_text("No field is open to this account.").wait_for()
    assert found([str(one) for one in people.fields(store)["name"]], sent) == []


def test_a_grower_takes_away_their_own_and_leaves_a_trail(
    address: str, store: Path, page
) -> None:
    signed_in(page, address, "rowan@example.org")
    page.get_by_text("of 8 fields").first.wait_for()
    with page.expect_download() as taken:
        page.get_by_role("button", name="All fields on paper, PDF").click()
    told = " ".join(one.extract_text() for one in PdfReader(taken.value.path()).pages)
    own = people.fields(store).query("grower == @GROWER")["name"]
    assert all(str(one) in " ".join(told.split()) for one in own)
    assert [one for one in others(store) if one in told] == []
    page.wait_for_timeout(1_000)
    last = people.table(store, "trail").iloc[-1]
    assert (last["who"], last["what"]) == ("rowan@example.org", "took away")
    assert last["about"].startswith("fields-")
