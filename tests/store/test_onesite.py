"""What is asked of one site is read from its own files, and is what all files would tell."""

import re
import shutil
from contextlib import nullcontext
from pathlib import Path

import pandas as pd
import pyarrow as pa
import pytest

import dashboard.data
from analytics.errors import StoreError
from analytics.store import manifest, onesite, people, sight, statements
from analytics.store.sqlfiles import text
from analytics.store.staged import PER_SITE

VALUES = {
    "month": 10,
    "date": "2026-02-24", "start": "2023-01-01", "zone": "upper",
    "bucket_days": 6, "least_days": 3, "least_hours": 24.0, "depth_cm": 30.0, "placement": 1,
    "step": 0.01,
}  # fmt: skip
ROOM = Path(dashboard.data.__file__).parent
PAGES = "".join(one.read_text(encoding="utf-8") for one in sorted(ROOM.glob("*.py")))
ASKED = sorted(set(re.findall(r"_ask\(\s*store, \"(\w+)\"", PAGES)))
GROWER = sight.Sight(who="rowan@example.org", role="grower", growers=("Quenby Land",))


def values(name: str) -> dict:
    return {one: VALUES[one] for one in re.findall(r"\$(\w+)", text(name)) if one != "site"}


def both(store: Path, name: str, site: str) -> tuple[pd.DataFrame, pd.DataFrame]:
    return told(store, name, site), statements.query(store, name, site=site, **values(name))


def told(store: Path, name: str, site: str) -> pd.DataFrame:
    held = onesite.gather(store, site, dashboard.data.OF_A_SITE)
    return onesite.ask(store, held, name, site=site, **values(name))


@pytest.fixture(scope="module")
def some_held(demo_store: Path) -> dict[str, dict[str, pa.Table]]:
    """Give what is held of some sites of the demonstration."""
    some = people.table(demo_store, "sites")["site"].unique()[::15]
    return {site: onesite.gather(demo_store, site, dashboard.data.OF_A_SITE) for site in some}


def test_the_pages_ask_such_questions() -> None:
    assert len(ASKED) > 20


@pytest.mark.parametrize("name", ASKED)
def test_the_answer_is_that_of_all_files(
    demo_store: Path, some_held: dict[str, dict[str, pa.Table]], name: str
) -> None:
    rows, params = 0, values(name)
    for site, held in some_held.items():
        own = onesite.ask(demo_store, held, name, site=site, **params)
        whole = statements.query(demo_store, name, site=site, **params)
        pd.testing.assert_frame_equal(own, whole)
        rows += len(own)
    assert rows or name == "show_set_points"  # the demonstration has none


def test_what_is_held_holds_no_other_site_and_is_asked_without_the_store(
    demo_store: Path, tmp_path: Path
) -> None:
    site = people.table(demo_store, "sites")["site"].iloc[0]
    (field,) = people.table(demo_store, "sites").query("site == @site")["field"].unique()
    held = onesite.gather(demo_store, site, dashboard.data.OF_A_SITE)
    assert set(held["seasons"]["field"].to_pylist()) == {field}
    for name in set(held) - {"seasons", "set_limits"}:
        assert set(held[name]["site"].to_pylist()) == {site}, name
    answer = onesite.ask(tmp_path, held, "show_tally", site=site, **values("show_tally"))
    assert len(answer)
    assert not list(tmp_path.iterdir())


def test_a_statement_about_what_is_not_held_is_refused(demo_store: Path) -> None:
    held = onesite.gather(demo_store, "N1", ["tally"])
    with pytest.raises(StoreError, match="name sites does not exist"):
        onesite.ask(demo_store, held, "show_probe", site="N1")


def test_other_sites_files_are_not_opened(demo_store: Path, tmp_path: Path) -> None:
    store = tmp_path / "store"
    shutil.copytree(demo_store, store)
    site, *others = sorted(people.table(store, "sites")["site"].unique())
    before = told(store, "show_zone_days", site)
    files = manifest.read(store, manifest.current(store))
    for name in PER_SITE:
        for other in others:
            (store / files[name][other]).unlink(missing_ok=True)
    after = told(store, "show_zone_days", site)
    assert len(after)
    pd.testing.assert_frame_equal(after, before)


def test_a_grower_is_answered_of_their_own_alone(demo_store: Path) -> None:
    every = people.table(demo_store, "sites")["site"].unique()
    with sight.looking(GROWER):
        own = set(people.table(demo_store, "sites")["site"])
        for site in every:
            held = onesite.gather(demo_store, site, dashboard.data.OF_A_SITE)
            for name in ("show_zone_days", "show_tally", "show_probe", "show_limits"):
                answer = onesite.ask(demo_store, held, name, site=site, **values(name))
                assert bool(len(answer)) == (site in own), (site, name)
            assert any(table.num_rows for table in held.values()) == (site in own), site
    assert 0 < len(own) < len(every)


@pytest.mark.parametrize("looking", [None, GROWER])
def test_results_of_an_earlier_form_are_read_as_they_were_laid_down(
    demo_store: Path, monkeypatch: pytest.MonkeyPatch, looking: sight.Sight | None
) -> None:
    monkeypatch.setattr("analytics.store.results.empty", "derived/{}/of-another-form".format)
    with sight.looking(looking) if looking else nullcontext():
        site = people.table(demo_store, "sites")["site"].iloc[0]
        own, whole = both(demo_store, "show_tally", site)
    pd.testing.assert_frame_equal(own, whole)
    assert len(own)


def test_a_site_without_results_has_no_rows(store: Path) -> None:
    for name in ("show_tally", "show_zone_days"):
        own, whole = both(store, name, "N1")
        pd.testing.assert_frame_equal(own, whole)
        assert own.empty
