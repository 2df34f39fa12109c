"""Daily weather in layouts of others: NOAA USCRN, and a plain table parted by blanks."""

from pathlib import Path

import numpy as np
import pytest

from analytics.errors import InputRefused
from analytics.intake import Known, guess_kind, read

DATA = Path(__file__).resolve().parents[3] / "shared" / "data"
PLAINS = DATA / "uscrn_2020_plains/FIXTURE_uscrn_2020.csv.gz"
MANHATTAN = DATA / "ks_manhattan_uscrn_2003_2017/KS_Manhattan_6_SSW.csv.gz"
CHAMPION = DATA / "weather_high_plains/champion_climate.txt.gz"
shared = pytest.mark.skipif(not DATA.is_dir(), reason="the shared records are not here")


@shared
def test_uscrn_as_weather_brings_its_stations() -> None:
    delivery = read(PLAINS, Known(), kind="weather")
    weather, stations = delivery.tables["weather"], delivery.tables["stations"]
    assert delivery.rows_in == 6 * 366
    assert len(stations) == 6
    junta = stations.set_index("station").loc["03063"]
    assert (junta["latitude"], junta["longitude"]) == (37.86, -103.82)
    day = weather[weather["station"] == "03063"].iloc[0]
    # First row of the file: 14.1, -4.6, 0.0 mm, 7.22 MJ/m2, humidity 26.0 to 73.2 %.
    said = [
        day[name] for name in ("tmax_c", "tmin_c", "rain_mm", "rs_mj_m2", "rh_min", "rh_max")
    ]
    assert said == [14.1, -4.6, 0.0, 7.22, 26.0, 73.2]
    assert str(day["date"])[:10] == "2020-01-01"


@shared
def test_manhattan_as_weather_leaves_its_missing_codes_missing() -> None:
    weather = read(MANHATTAN, Known(), kind="weather").tables["weather"]
    # 2 October 2003: 18.9, 2.5 C and 0 mm; the day before is all -9999.
    first = weather.iloc[0]
    assert str(first["date"])[:10] == "2003-10-02"
    assert (first["tmax_c"], first["tmin_c"], first["rain_mm"]) == (18.9, 2.5, 0.0)
    assert weather[["tmin_c", "rain_mm", "rs_mj_m2"]].min().min() > -60


@shared
def test_a_table_parted_by_blanks_with_its_date_in_three_columns() -> None:
    assert guess_kind(CHAMPION) == "weather"
    delivery = read(CHAMPION, Known())
    weather = delivery.tables["weather"]
    # Its README: daily from 1 January 1982 to 31 December 2018 = 13,514 days.
    assert delivery.rows_in == len(weather) == 13_514
    assert weather["station"].unique().tolist() == ["champion_climate"]
    first = weather.iloc[0]
    assert (first["tmin_c"], first["tmax_c"], first["rain_mm"]) == (-21.11, 3.33, 0.0)
    assert "stations" not in delivery.tables
    named = read(CHAMPION, Known(), mapping={"site": {"value": "champion"}}, kind="weather")
    assert named.tables["weather"]["station"].iloc[-1] == "champion"
    assert np.isclose(weather["rain_mm"].sum(), named.tables["weather"]["rain_mm"].sum())


def test_hours_of_a_station_without_a_timezone_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "w1.csv"
    rows = "".join(f"2024-07-01T{hour:02d}:00,{hour},0\n" for hour in range(24))
    path.write_text("time,air temp [C],rain [mm]\n" + rows)
    with pytest.raises(InputRefused, match="no timezone"):
        read(path, Known())
    delivery = read(path, Known(sites={"w1": "America/Chicago"}))
    assert delivery.tables["weather"]["tmax_c"].tolist() == [23.0]


def test_the_water_of_a_snow_pack_is_not_taken_for_snow_that_fell(tmp_path: Path) -> None:
    """SWE is what lies on the ground: summed by day, a pack of 40 mm would fall every hour."""
    path = tmp_path / "w1.csv"
    rows = "".join(f"2024-01-02 {hour:02d}:00,-3.0,0.2,40.0\n" for hour in range(24))
    path.write_text("time,air temp [C],rain [mm],SWE [mm]\n" + rows)
    delivery = read(path, Known(sites={"w1": "America/Denver"}), kind="weather")
    (day,) = delivery.tables["weather"].to_dict("records")
    assert day["rain_mm"] == pytest.approx(4.8)
    assert np.isnan(day.get("snow_mm", np.nan))
    assert any("SWE" in one for one in delivery.notes), "it is said that it was left aside"
