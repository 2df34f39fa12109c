"""On a shared server everybody sees their own: in every table, statement and file."""

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path

import duckdb
import pandas as pd
import pytest

from analytics.contract import TABLES
from analytics.errors import InputRefused, NotAllowed, NotKnown
from analytics.model import Delivery, Record
from analytics.store import (
    accounts,
    connection,
    edits,
    importing,
    people,
    points,
    readings,
    sight,
)
from analytics.store.assessment import assess
from analytics.store.inputs import site_inputs
from analytics.store.people import BOOKS
from analytics.store.sight import NOBODY, Sight

GROWER = Sight(who="rowan@example.org", role="grower", growers=("Quenby Land",))
AGRONOMIST = Sight(who="fen@example.org", role="agronomist")


def words_of_others(store: Path, grower: str) -> set[str]:
    """Everything that names another grower's field, probe or self."""
    fields, sites = people.fields(store), people.table(store, "sites")
    others = fields[fields["grower"] != grower]
    probes = sites.loc[sites["field"].isin(others["field"]), "site"]
    return {str(one) for one in (*others["field"], *others["name"], *others["grower"], *probes)}


def test_no_table_of_the_demonstration_names_anothers_field(demo_store: Path) -> None:
    hidden = words_of_others(demo_store, "Quenby Land")
    assert len(hidden) > 60
    own = 0
    for name in (*TABLES, *BOOKS):
        if name in {"readings", "superseded"}:
            continue  # tried below: they are files, not tables
        with sight.looking(GROWER):
            frame = pd.DataFrame(
                people.table(demo_store, name).drop(columns="geometry", errors="ignore")
            )
        texts = [frame[column] for column in frame if frame[column].dtype.kind not in "fiubM"]
        words = {str(one) for column in texts for one in column.unique()}
        told = "\n".join({*frame.columns, *words})
        assert not [one for one in hidden if one in told], name
        own += len(frame)
    assert own > 1000, "the grower sees their own fields"


def test_what_no_view_is_laid_over_is_out_of_reach(demo_store: Path) -> None:
    with sight.looking(GROWER):
        with connection.reading(demo_store, naming={"fields"}) as db:
            assert 0 < len(db.execute("FROM fields").fetchall()) < 20
            with pytest.raises(duckdb.CatalogException):
                db.execute("FROM sites")
        with connection.reading(demo_store) as db:
            assert db.execute("FROM sites").fetchall()
            with pytest.raises(duckdb.CatalogException):
                db.execute("FROM readings")  # a view that unfolds every site's


def test_nobody_sees_no_field(demo_store: Path) -> None:
    with sight.looking(NOBODY):
        for name in (
            "fields",
            "sites",
            "readiness",
            "tally",
            "seasons",
            "water",
            "order",
            "sources",
        ):
            assert people.table(demo_store, name).empty, name


def test_who_sees_everything_sees_it_all(demo_store: Path) -> None:
    whole = len(people.table(demo_store, "readiness"))
    with sight.looking(AGRONOMIST):
        assert len(people.table(demo_store, "readiness")) == whole


def test_readings_of_anothers_probe_are_not_read(demo_store: Path) -> None:
    sites = people.table(demo_store, "sites")
    with sight.looking(GROWER):
        seen = set(people.table(demo_store, "sites")["site"])
        other = next(one for one in sites["site"] if one not in seen)
        assert set(readings.sites(demo_store)) <= seen
        assert not len(readings.read(demo_store, other).times)
        assert readings.newest(demo_store, other) is None
        assert len(readings.read(demo_store, min(seen)).times)
        with pytest.raises(NotKnown):
            site_inputs(demo_store, other, date(2024, 1, 1))


def test_a_probe_that_once_stood_elsewhere_stays_hidden(
    store: Path, record: Callable[..., Record]
) -> None:
    fields = people.fields(store)
    fields["grower"] = ["Ash", "Birch"]
    people.put(store, "fields", fields)
    with connection.writing(store) as db:  # as an earlier Overwinter would let it
        db.execute(
            "INSERT INTO sites BY NAME SELECT * REPLACE "
            "('south' AS field, DATE '2023-01-01' AS installed_on) FROM sites WHERE site = 'N1'"
        )
    readings.merge(store, record())
    with sight.looking(Sight(who="b@x.y", role="grower", growers=("Birch",))):
        assert "N1" not in readings.sites(store)
        assert people.table(store, "sites")["site"].tolist() == ["../S 1"]


@pytest.mark.parametrize("who", [GROWER, NOBODY, Sight(who="g@x.y", role="guest")])
def test_who_may_only_look_changes_nothing(
    store: Path, record: Callable[..., Record], who: Sight
) -> None:
    before = (store / "overwinter.duckdb").read_bytes()
    with sight.looking(who):
        with pytest.raises(NotAllowed, match="may look but not change"):
            people.put(store, "water", people.table(store, "water"))
        with pytest.raises(NotAllowed):
            readings.merge(store, record())
        with pytest.raises(NotAllowed), ThreadPoolExecutor(1) as pool:
            assess(store, date(2024, 1, 1), pool)
        with pytest.raises(NotAllowed):
            accounts.give(store, "g@x.y", "administrator")
    assert (store / "overwinter.duckdb").read_bytes() == before
    assert readings.sites(store) == []


def test_a_shared_server_shows_nothing_until_it_knows_who(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(sight.SHARED_VARIABLE, "1")
    monkeypatch.setattr(sight, "_finders", [])
    assert people.table(store, "fields").empty
    sight.find_by(lambda: AGRONOMIST)
    assert len(people.table(store, "fields")) == 2
    with ThreadPoolExecutor(1) as pool:  # a thread without a session
        sight.find_by(lambda: None)
        assert pool.submit(lambda: len(people.table(store, "fields"))).result() == 0


def test_readings_come_in_on_a_shared_server_as_whoever_brings_them(
    store: Path, record: Callable[..., Record], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(sight.SHARED_VARIABLE, "1")
    monkeypatch.setattr(sight, "_finders", [])
    session, brought = threading.get_ident(), record()
    delivery = Delivery(path="N1.csv", kind="readings", sha256="1", readings=(brought,),
                        rows_in=brought.theta.size)  # fmt: skip

    def served_here(who: Sight) -> None:
        sight.find_by(lambda: who if threading.get_ident() == session else None)

    served_here(GROWER)
    with pytest.raises(NotAllowed, match="may look but not change"):
        importing.take(store, delivery)
    served_here(AGRONOMIST)
    assert importing.take(store, delivery).counts.taken == brought.theta.size
    assert len(readings.read(store, "N1").times) == len(brought.times)


def test_work_for_later_is_done_as_whoever_is_served_now(
    store: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(sight.SHARED_VARIABLE, "1")
    monkeypatch.setattr(sight, "_finders", [])
    with sight.looking(AGRONOMIST):
        later = sight.as_now(sight.current)
    with sight.unbound():
        whole = sight.as_now(lambda name: len(people.table(store, name)))
    with ThreadPoolExecutor(1) as pool:
        assert pool.submit(later).result() == AGRONOMIST
        assert pool.submit(whole, "fields").result() == 2
        assert pool.submit(sight.as_now(sight.current)).result() == NOBODY


def test_roles_are_given_found_and_taken(store: Path) -> None:
    accounts.give(store, " Rowan@Example.org ", "grower", ["Ash"])
    found = accounts.sight_of(store, "rowan@example.ORG")
    assert (found.role, found.growers) == ("grower", ("Ash",))
    accounts.give(store, "rowan@example.org", "agronomist")
    assert accounts.sight_of(store, "rowan@example.org").whole
    accounts.take(store, "rowan@example.org")
    assert accounts.sight_of(store, "rowan@example.org") == Sight(
        who="rowan@example.org", role="guest"
    )
    with pytest.raises(NotKnown):
        accounts.take(store, "rowan@example.org")


@pytest.mark.parametrize(
    ("email", "role", "growers", "said"),
    [
        ("rowan", "grower", ["Ash"], "no e-mail address"),
        ("a@b.c", "king", [], "no role 'king'"),
        ("a@b.c", "grower", [], "names whose fields"),
        ("a@b.c", "agronomist", ["Ash"], "names whose fields"),
        ("a@b.c", "grower", ["Nobody"], "farms no field"),
    ],
)
def test_roles_that_make_no_sense_are_refused(
    store: Path, email: str, role: str, growers: list[str], said: str
) -> None:
    with pytest.raises(InputRefused, match=said):
        accounts.give(store, email, role, growers)  # type: ignore[arg-type]


def test_the_trail_tells_who_changed_and_took_what(store: Path) -> None:
    since = pd.Timestamp("2024-01-01", tz="UTC").to_pydatetime()
    with sight.looking(AGRONOMIST):
        edits.make(store, "N1", flag="spike", since=since, until=since, action="dismiss",
                   author="Fen", reason="seen")  # fmt: skip
        accounts.took_away(store, "field north as PDF")
    with sight.looking(GROWER):
        accounts.took_away(store, "readiness as CSV")
    people.put(
        store, "water", people.table(store, "water")
    )  # the program itself leaves no trail
    told = people.table(store, "trail")
    assert told[["who", "what", "about"]].to_numpy().tolist() == [
        ["fen@example.org", "save_flag_edit", "N1"],
        ["fen@example.org", "took away", "field north as PDF"],
        ["rowan@example.org", "took away", "readiness as CSV"],
    ]


def test_what_is_rolled_back_leaves_no_trail(store: Path) -> None:
    water = people.table(store, "water")
    with sight.looking(AGRONOMIST):
        with pytest.raises(InputRefused):
            people.put(store, "water", water.assign(field="not there"))
        assert people.table(store, "trail").empty
        people.put(store, "water", water)
        assert people.table(store, "trail")["what"].tolist() == ["put_water"]


def test_a_preview_of_anothers_point_is_refused(demo_store: Path) -> None:
    sites = people.table(demo_store, "sites")
    with sight.looking(GROWER):
        seen = set(people.table(demo_store, "sites")["site"])
    other = next(one for one in sites["site"] if one not in seen)
    point = points.SetPoint(
        site=other, placement=1, depth_cm=10.0, point="full", value=0.3, set_by="x",
        valid_from=date(2024, 1, 1), reason="y",
    )  # fmt: skip
    with sight.looking(GROWER), pytest.raises(InputRefused, match="no such layer"):
        points.preview(demo_store, point, date(2024, 1, 1))
