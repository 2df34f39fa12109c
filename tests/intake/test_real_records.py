"""Real records, read by the mapping guessed for them; values as they stand in the files."""

from pathlib import Path

import numpy as np
import pytest

from analytics.errors import InputRefused
from analytics.intake import Known, describe, guess_kind, read

DATA = Path(__file__).resolve().parents[3] / "shared" / "data"
SCAN = DATA / "scan_2198_pullman_wa/SCAN_AllVariables_Daily_20130724-20170101_20241031.csv"
PLAINS = DATA / "uscrn_2020_plains/FIXTURE_uscrn_2020.csv.gz"
MANHATTAN = DATA / "ks_manhattan_uscrn_2003_2017/KS_Manhattan_6_SSW.csv.gz"
GARDENS = DATA / "crow_canyon_gardens_co/soil_moisture.csv"

pytestmark = pytest.mark.skipif(not DATA.is_dir(), reason="the shared records are not here")


def test_scan_station() -> None:
    assert guess_kind(SCAN) == "logger"
    delivery = read(SCAN, Known(sites={"2198": "America/Los_Angeles"}))
    record = delivery.readings[0]
    # 2, 4, 8, 20, 40 inches
    np.testing.assert_array_equal(record.depths_cm, [5.08, 10.16, 20.32, 50.8, 101.6])
    assert delivery.rows_in == len(record.times) == 990
    assert len(delivery.rejects) == 0
    # first row: 13.0 16.4 24.4 33.0 41.7 percent; 72 76 74 68 63 F; noon of a summer day
    assert str(record.times[0]) == "2013-07-26T19:00:00.000000"
    np.testing.assert_allclose(record.theta[0], [0.130, 0.164, 0.244, 0.330, 0.417])
    fahrenheit = np.array([72, 76, 74, 68, 63])
    np.testing.assert_allclose(record.temp_c[0], (fahrenheit - 32) / 1.8)
    weather = delivery.tables["weather"]
    # second row: TMAX 85.1 F, TMIN 41 F -> 29.5 C; the first day has no rain value
    assert weather["station"].unique().tolist() == ["2198"]
    assert np.isnan(weather["rain_mm"].iloc[0])
    assert weather["tmax_c"].iloc[1] == pytest.approx(29.5)
    second = next(note for note in delivery.notes if "not used" in note)
    assert "STO:2:-2 (as STO:1:-2)" in second
    assert any("TAVG:1:" in note for note in delivery.notes)


def test_scan_station_among_others_needs_its_name(tmp_path: Path) -> None:
    known = Known(sites={"2198": "America/Los_Angeles", "p1": "America/Chicago"})
    with pytest.raises(InputRefused, match="name the file after its site"):
        read(SCAN, known)
    copy = tmp_path / "SCAN_2198_daily.csv"
    copy.write_bytes(SCAN.read_bytes())
    assert read(copy, known).readings[0].site == "2198"


def test_uscrn_table_of_several_stations() -> None:
    known = Known(sites={"03063": "America/Denver", "53974": "America/Chicago"})
    delivery = read(PLAINS, known)
    assert [record.site for record in delivery.readings] == ["03063", "53974"]
    # six stations of 366 days, of which four are not known here
    assert delivery.rows_in == 6 * 366
    assert len(delivery.rejects) == 4 * 366
    assert set(delivery.rejects["reason"]) == {"there is no such site"}
    junta = delivery.readings[0]
    np.testing.assert_allclose(junta.theta[0], [np.nan, 0.217, 0.111, 0.098, 0.149])
    np.testing.assert_allclose(junta.temp_c[0], [-0.4, 0.4, 1.4, 3.9, 7.4])
    day = delivery.tables["weather"].iloc[0]
    assert (day["tmax_c"], day["tmin_c"], day["rain_mm"]) == (14.1, -4.6, 0.0)


def test_manhattan_record_with_missing_codes() -> None:
    delivery = read(MANHATTAN, Known(sites={"53974": "America/Chicago"}))
    record = delivery.readings[0]
    assert delivery.mapping is not None
    assert delivery.mapping["time"] == {"column": "LST_DATE", "format": "%Y%m%d"}
    assert delivery.rows_in == len(record.times) + delivery.rows_repeated
    assert np.nanmin(record.theta) >= 0
    assert np.nanmin(record.temp_c) > -60
    # its README: nothing at 50 and 100 cm, moisture from August 2009
    assert np.isnan(record.theta[:, 3:]).all()
    first = record.times[np.isfinite(record.theta).any(axis=1)][0]
    assert str(first)[:7] == "2009-08"


def test_gardens_named_by_two_columns() -> None:
    known = Known(sites={"CDG-NE": "America/Denver", "CDG-SE": "America/Denver"})
    delivery = read(GARDENS, known)
    assert delivery.mapping is not None
    assert delivery.mapping["site"] == {"columns": ["Garden", "Location"], "join": "-"}
    record = delivery.readings[0]
    assert record.site == "CDG-NE"
    np.testing.assert_array_equal(record.depths_cm, [15, 30, 45])
    at = np.flatnonzero(record.times == np.datetime64("2015-05-24", "us"))[0]
    assert record.theta[at, 0] == pytest.approx(0.1697463860565966)
    assert record.temp_c[at, 0] == pytest.approx((55.85818192742087 - 32) / 1.8)
    rows = describe(delivery.mapping)
    assert [row["unit"] for row in rows if row["column"] == "VWC_15"] == ["fraction"]


def test_gardens_without_their_ids_are_not_given_to_the_only_site() -> None:
    with pytest.raises(InputRefused, match="Garden, Location may say which"):
        read(GARDENS, Known(sites={"home": "America/Denver"}))
