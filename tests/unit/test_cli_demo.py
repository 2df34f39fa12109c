"""The demonstration is built whole or not at all, and only once."""

import argparse
from collections.abc import Callable
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from analytics.cli import demonstration
from analytics.errors import StoreError
from analytics.store import people


def small(folder: Path, *, progress: Callable[[float, str], None]) -> None:
    """Grow one field with two days of readings and a late block."""
    progress(0.0, "growing")
    for name in ("loggers", "late"):
        (folder / name).mkdir(parents=True)
    shape = [shapely.Point(-101, 39).buffer(0.01)]
    fields = gpd.GeoDataFrame({"field": ["f"], "name": "F"}, geometry=shape, crs=4326)
    (folder / "fields.geojson").write_text(fields.to_json())
    (folder / "sites.csv").write_text(
        "site,field,latitude,longitude,timezone\nS1,f,39,-101,America/Denver\n"
    )
    hours = pd.date_range("2026-01-01", periods=48, freq="h", tz="UTC")
    table = pd.DataFrame({"time": hours.strftime("%Y-%m-%dT%H:%MZ"), "vwc 10 cm [m3/m3]": 0.25})
    table.to_csv(folder / "loggers" / "S1.csv", index=False)
    table.iloc[:1].assign(**{"vwc 10 cm [m3/m3]": 0.3}).to_csv(
        folder / "late" / "S1.csv", index=False
    )


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(demonstration, "grow", small)
    monkeypatch.setattr(demonstration.os, "cpu_count", lambda: 1)


def test_the_whole_store_appears_under_its_name(tmp_path: Path) -> None:
    store = tmp_path / "demo"
    demonstration.build(store)
    assert [one.name for one in tmp_path.iterdir()] == ["demo"]
    assert people.table(store, "readings")["vwc"].tolist() == [0.3] + [0.25] * 47, "late last"
    assert len(people.table(store, "readiness")) > 0


@pytest.mark.parametrize("step", ["_grow", "_bring", "_assess"])
def test_an_interrupted_build_never_looks_finished(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    store = tmp_path / "demo"
    with monkeypatch.context() as patch:
        patch.setattr(demonstration, step, stop)
        with pytest.raises(KeyboardInterrupt):
            demonstration.build(store)
    assert not store.exists()
    demonstration.build(store)
    assert [one.name for one in tmp_path.iterdir()] == ["demo"]


def test_other_files_are_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(StoreError, match="--store DIR"):
        demonstration.build(tmp_path)


def test_a_store_that_is_there_is_only_served(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    store = tmp_path / "demo"
    demonstration.build(store)
    served: list[object] = []
    monkeypatch.setattr(demonstration, "grow", None)
    monkeypatch.setattr(
        demonstration.serving, "serve", lambda *a, **k: served.append((a, k)) or 0
    )
    asked = argparse.Namespace(store=store, port=None, no_browser=True)
    assert demonstration.run(asked) == 0
    assert served == [((store, None), {"browser": False})]
