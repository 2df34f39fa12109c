"""Past one machine: two workers on the loopback give what this machine gives, to the digit."""

import shutil
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pandas as pd
import pytest

from analytics.cli import main
from analytics.cli.cluster import joined
from analytics.contract import RESULTS
from analytics.errors import InputRefused
from analytics.store import connection, people, statements

distributed = pytest.importorskip("distributed", reason="dask.distributed is not installed")
SITES = 2


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, host="127.0.0.1",
        dashboard_address=None, silence_logs=50,
    ) as cluster:  # fmt: skip
        yield cluster.scheduler_address


@pytest.fixture
def store(demo_store: Path, tmp_path: Path) -> Path:
    """Give the demonstration with a few sites due."""
    there = tmp_path / "store"
    shutil.copytree(demo_store, there)
    return there


def due(store: Path) -> list[str]:
    sites = sorted(statements.query(store, "site_names")["site"])[:SITES]
    with connection.writing(store) as db:
        statements.execute(db, "touch_sites", sites=sites)
    return sites


def test_two_workers_give_what_this_machine_gives(
    store: Path, demo_store: Path, address: str, capsys: pytest.CaptureFixture[str]
) -> None:
    sites = due(store)
    assert main(["assess", str(store), "--as-of", "2026-02-23", "--cluster", address]) == 0
    assert f"{SITES} sites assessed" in capsys.readouterr().out
    for table in RESULTS:
        if "site" not in table.names:
            continue
        here, there = (
            pd.DataFrame(people.table(one, table.name)) for one in (demo_store, store)
        )
        pd.testing.assert_frame_equal(
            here[here["site"].isin(sites)].reset_index(drop=True),
            there[there["site"].isin(sites)].reset_index(drop=True),
        )


def test_a_worker_that_does_not_see_the_store_is_told(
    store: Path, address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("analytics.cli.cluster.layout.generation", lambda _: "another")
    with (
        pytest.raises(InputRefused, match="does not see this store at"),
        joined(address, store),
    ):
        pass


def test_nobody_answers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("analytics.cli.cluster.PATIENCE", timedelta(milliseconds=300))
    address = "tcp://127.0.0.1:9"
    with (
        pytest.raises(InputRefused, match=f"{address}: nobody answers"),
        joined(address, tmp_path),
    ):
        pass


@pytest.mark.parametrize("address", ["foo", "tcp://foo", "tcp://foo:first", ""])
def test_what_is_no_address_makes_no_client(
    address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delattr(distributed, "Client")  # left half open it waits 40 s at the end
    told = rf"^cluster {address}: this is not the address of a scheduler .* tcp://HOST:8786\.$"
    with pytest.raises(InputRefused, match=told), joined(address, tmp_path):
        pass
