"""The main job on real input: the SCAN station and the USCRN table, from file to screen.

Both are imported by the program with the mapping it guesses, assessed, and shown.
Public records of USDA-NRCS and NOAA; the boundaries and crop dates are invented.
"""

import json
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pytest
from shapely import Point

from analytics.cli import main
from analytics.store.people import table
from tests.app.launching import launched, said, session, turned_to

DATA = Path(__file__).parents[3] / "shared" / "data"
SCAN = next(DATA.glob("scan_2198*/SCAN*.csv"), None)
USCRN = next(DATA.glob("uscrn_2020*/FIXTURE*.csv.gz"), None)
pytestmark = pytest.mark.skipif(
    SCAN is None or USCRN is None, reason="open datasets are not beside the repository"
)


def written(folder: Path, stations: pd.DataFrame) -> list[str]:
    """Write what a person would bring beside the readings: boundaries, sites, seasons."""
    shapes = [
        Point(x, y).buffer(0.004) for x, y in stations[["longitude", "latitude"]].to_numpy()
    ]
    fields = gpd.GeoDataFrame(
        {"field": stations["site"], "name": stations["name"], "soil": "loam"},
        geometry=shapes, crs=4326,
    )  # fmt: skip
    (folder / "fields.geojson").write_text(fields.to_json())
    sites = stations.assign(field=stations["site"], timezone=stations["zone"])
    sites.drop(columns=["name", "zone"]).to_csv(folder / "sites.csv", index=False)
    seasons = pd.DataFrame(
        {"field": stations["site"], "crop": "wheat", "planted_on": stations["planted_on"],
         "harvested_on": stations["harvested_on"]}
    )  # fmt: skip
    seasons.to_csv(folder / "seasons.csv", index=False)
    return [str(folder / name) for name in ("fields.geojson", "sites.csv", "seasons.csv")]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("real")
    assert USCRN is not None
    places = pd.read_csv(USCRN, dtype={"wban": str}).drop_duplicates("wban")
    plains = pd.DataFrame(
        {"site": places["wban"], "name": places["approx_name"], "latitude": places["latitude"],
         "longitude": places["longitude"], "zone": "America/Chicago",
         "planted_on": "2019-10-01", "harvested_on": "2020-07-01"}
    )  # fmt: skip
    scan = pd.DataFrame(
        {"site": ["2198"], "name": ["Station 2198"], "latitude": [46.775],
         "longitude": [-117.085], "zone": ["America/Los_Angeles"],
         "planted_on": ["2013-10-10"], "harvested_on": ["2014-10-01"]}
    )  # fmt: skip
    files = written(folder, pd.concat([plains, scan], ignore_index=True))
    where = folder / "store"
    assert main(["init", str(where)]) == 0
    assert main(["import", str(where), *files]) == 0
    return where


@pytest.fixture(scope="module")
def assessed(store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    assert SCAN is not None
    named = tmp_path_factory.mktemp("named") / "SCAN_2198_daily.csv"  # its id in its name
    named.write_bytes(SCAN.read_bytes())
    assert main(["import", str(store), str(named), str(USCRN)]) == 0
    assert main(["assess", str(store), "--as-of", "2020-12-31"]) == 0
    return store


def test_mappings_were_guessed_and_kept(assessed: Path) -> None:
    kept = [json.loads(one) for one in table(assessed, "mappings")["mapping"]]
    units = {
        (column["quantity"], column["unit"])
        for mapping in kept
        for column in mapping["columns"]
    }
    assert {("vwc", "percent"), ("soil_temp", "F"), ("vwc", "fraction")} <= units


def test_every_station_has_figures_and_missing_codes_are_no_values(assessed: Path) -> None:
    readiness = table(assessed, "readiness")
    latest = readiness[(readiness["zone"] == "profile")].groupby("site")["water_mm"].last()
    assert latest.notna().all()
    assert len(latest) == 7
    daily = table(assessed, "daily")
    assert daily["low"].min() > 0  # -99 and -9999 are missing codes, not readings


def test_frozen_days_of_nebraska_are_held(assessed: Path) -> None:
    """NOAA blanks most frozen days: the layer keeps its last unfrozen value, marked so."""
    daily = table(assessed, "daily")
    held = daily[daily["held"]]
    assert len(held) > 20
    assert held["state"].notna().all()


def test_they_appear_on_the_map_and_on_a_page_of_their_own(
    assessed: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    launched(assessed, monkeypatch, field="Station 2198")
    # A page opened by its own address: AppTest hands a bound value over only on a second run.
    app = turned_to(session(field="Station 2198"), "field")
    assert "Station 2198" in said(app)
