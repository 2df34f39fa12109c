"""USDA-NRCS SCAN station 2198 (Pullman, Washington), daily record, public domain.

The layer-by-layer change of winter 2014/15, worked by hand from five pairs of readings and
compared with what the program says after importing the station's own file.

Traps of this record, and why they do not touch these numbers:

- percent by volume, inches and Fahrenheit: converted below by hand;
- frost in November 2014 and January 2015 pulls the readings at 2 and 4 inches down: both
  ends of the span are unfrozen (51 F on 1 October, 42 F on 15 April at 2 inches);
- the 40-inch sensor sits at 53-54 % for months, perched water far above any drained limit:
  the change is a true change of water, but that plateau must not become a full point;
- 2013/14 wetted 40 inches before 20 inches, so only 2014/15 is pinned here.

Depths in cm are 5.08, 10.16, 20.32, 50.8, 101.6. Midpoints between sensors, and half the last
spacing below the deepest, bound the layers at 0, 7.62, 15.24, 35.56, 76.2 and 127.0 cm.
"""

import json
from pathlib import Path

import pandas as pd
import pytest

from analytics.cli import main

SCAN = (
    Path(__file__).parents[3]
    / "shared/data/scan_2198_pullman_wa/SCAN_AllVariables_Daily_20130724-20170101_20241031.csv"
)
pytestmark = pytest.mark.skipif(
    not SCAN.exists(), reason="open datasets are not beside the repo"
)

# depth cm: (thickness mm, percent on 2014-10-01, percent on 2015-04-15)
BY_HAND = {
    5.08: (76.2, 7.4, 33.3),  # 76.2 x 0.259 = 19.736 mm
    10.16: (76.2, 14.1, 37.6),  # 76.2 x 0.235 = 17.907 mm
    20.32: (203.2, 17.7, 40.7),  # 203.2 x 0.230 = 46.736 mm
    50.8: (406.4, 20.1, 48.6),  # 406.4 x 0.285 = 115.824 mm
    101.6: (508.0, 28.9, 53.7),  # 508.0 x 0.248 = 125.984 mm
}
CHANGE_MM = {5.08: 19.736, 10.16: 17.907, 20.32: 46.736, 50.8: 115.824, 101.6: 125.984}
PROFILE_MM = 326.187


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Bring the station in as a person would: boundary, site, seasons, its file, assess.

    The crop dates are invented: the file carries none.
    """
    folder = tmp_path_factory.mktemp("scan")
    ring = [
        [-117.09, 46.77],
        [-117.08, 46.77],
        [-117.08, 46.78],
        [-117.09, 46.78],
        [-117.09, 46.77],
    ]
    (folder / "fields.geojson").write_text(
        json.dumps(
            {
                "type": "FeatureCollection",
                "features": [
                    {
                        "type": "Feature",
                        "properties": {
                            "field": "plot",
                            "name": "Station plot",
                            "soil": "silt loam",
                        },
                        "geometry": {"type": "Polygon", "coordinates": [ring]},
                    }
                ],
            }
        )
    )
    (folder / "sites.csv").write_text(
        "site,field,latitude,longitude,timezone,installed_on\n"
        "2198,plot,46.775,-117.085,America/Los_Angeles,2012-09-01\n"
    )
    (folder / "seasons.csv").write_text(
        "field,crop,planted_on,harvested_on\n"
        "plot,wheat,2013-10-10,2014-10-01\n"
        "plot,wheat,2015-04-15,2015-08-20\n"
    )
    store = folder / "store"
    assert main(["init", str(store)]) == 0
    assert main(["import", str(store), *map(str, folder.glob("*.*")), str(SCAN)]) == 0
    assert main(["assess", str(store), "--as-of", "2016-12-27"]) == 0
    return store


@pytest.fixture(scope="module")
def winter(store: Path) -> pd.DataFrame:
    """Read the off-season of 2014/15 from the table the program writes out."""
    out = store.parent / "tally.csv"
    assert main(["table", str(store), "tally", "--format", "csv", "--out", str(out)]) == 0
    tally = pd.read_csv(out)
    return tally[tally["from"] == "2014-10-01"]


def test_hand_arithmetic_is_what_the_comment_says() -> None:
    for depth, (thickness_mm, start, end) in BY_HAND.items():
        assert thickness_mm * (end - start) / 100 == pytest.approx(CHANGE_MM[depth], abs=5e-4)
    assert sum(CHANGE_MM.values()) == pytest.approx(PROFILE_MM, abs=5e-4)


def test_each_layer_changes_as_worked_by_hand(winter: pd.DataFrame) -> None:
    layers = winter.dropna(subset=["depth_cm"]).set_index("depth_cm")["change_mm"]
    assert layers.to_dict() == pytest.approx(CHANGE_MM, abs=0.01)


def test_the_profile_changes_by_the_sum(winter: pd.DataFrame) -> None:
    profile = winter[winter["depth_cm"].isna()]
    assert profile["change_mm"].tolist() == pytest.approx([PROFILE_MM], abs=0.02)


def test_the_perched_plateau_is_no_full_point(store: Path) -> None:
    out = store.parent / "limits.csv"
    assert main(["table", str(store), "limits", "--format", "csv", "--out", str(out)]) == 0
    limits = pd.read_csv(out)
    deepest = limits[(limits["depth_cm"] == 101.6) & (limits["point"] == "full")]
    assert (deepest["value"] < 0.47).all()
