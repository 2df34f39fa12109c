"""No probe of the open records was moved: rain, drying and frost must not look like it.

NOAA USCRN (public domain), six plains stations in 2020 at 5 to 100 cm and Manhattan KS 2003 to
2017 at 5 to 20 cm: permanent stations. USDA-NRCS SCAN 2198 is covered in its own tests.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from analytics.model import Placement, Record
from analytics.settings import Settings
from analytics.soil.disturbance import detected_moves
from analytics.soil.quality import quality_flags

DATA = Path(__file__).parents[3] / "shared" / "data"
FILES = {
    "wban": DATA / "uscrn_2020_plains" / "FIXTURE_uscrn_2020.csv.gz",
    "WBANNO": DATA / "ks_manhattan_uscrn_2003_2017" / "KS_Manhattan_6_SSW.csv.gz",
}
DEPTHS_CM = (5, 10, 20, 50, 100)


def records(station: str, path: Path) -> list[Record]:
    table = pd.read_csv(path, dtype={station: str})
    table.columns = [name.lower() for name in table.columns]
    found = []
    for name, part in table.groupby(station.lower()):
        noon = pd.to_datetime(part["lst_date"].astype("str")) + pd.Timedelta(hours=18)
        theta, temp_c = (
            part[[f"soil_{what}_{depth}_daily" for depth in DEPTHS_CM]].to_numpy(np.float64)
            for what in ("moisture", "temp")
        )
        found.append(
            Record(site=str(name), times=noon.to_numpy("datetime64[us]"),
                   depths_cm=np.array(DEPTHS_CM, np.float64),
                   theta=np.where(theta > -99, theta, np.nan),
                   temp_c=np.where(temp_c > -99, temp_c, np.nan))
        )  # fmt: skip
    return found


@pytest.mark.parametrize("station", FILES)
def test_no_move_is_seen(station):
    path = FILES[station]
    if not path.exists():
        pytest.skip("open datasets are not beside the repo")
    for record in records(station, path):
        placed = (Placement(site=record.site, field="f", number=1, latitude=39.0,
                            longitude=-100.0, timezone="America/Chicago", installed_on=None,
                            removed_on=None),)  # fmt: skip
        flags = quality_flags(record, placed, Settings())
        assert np.isfinite(record.theta).sum() > 500
        assert detected_moves(record, flags, None, Settings()).empty, record.site
