"""FAO-56, Table 24: seasonal Ky, which weighs crops where water is short."""

import pytest

from analytics.settings import overridden
from analytics.water.growth import worth_of

DEFAULTS = overridden({})
# crop, Ky: as printed
TABLE_24 = [
    ("Alfalfa", 1.1),
    ("Cotton", 0.85),
    ("Maize", 1.25),
    ("Sorghum", 0.9),
    ("Soybean", 0.85),
    ("Spring wheat", 1.15),
    ("Sunflower", 0.95),
    ("Winter wheat", 1.05),
]


@pytest.mark.parametrize("row", TABLE_24, ids=lambda row: row[0])
def test_rows_as_printed(row: tuple[str, float]) -> None:
    crop, ky = row
    assert worth_of(crop, DEFAULTS) == pytest.approx(ky, abs=1e-12)


def test_trade_names_and_what_the_table_does_not_name() -> None:
    assert worth_of("corn", DEFAULTS) == worth_of("maize", DEFAULTS)
    assert worth_of("grain_sorghum", DEFAULTS) == worth_of("milo", DEFAULTS) == 0.9
    assert worth_of("teff", DEFAULTS) == worth_of(None, DEFAULTS) == 1.0


def test_a_store_may_weigh_otherwise() -> None:
    own = overridden({"worth_cotton": 1.6, "worth_other": 0.5})
    assert worth_of("upland cotton", own) == 1.6
    assert worth_of("teff", own) == 0.5
    assert worth_of("corn", own) == 1.25
