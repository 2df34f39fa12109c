"""FAO-56 Eq. 62: mid-season coefficients fitted to a climate."""

import pandas as pd
import pytest

from analytics.settings import overridden
from analytics.water.advice import station_days
from analytics.water.demand import CROPS
from analytics.water.growth import HEIGHT_M, Air, suited


@pytest.mark.parametrize(("air", "printed"), [
    (Air(1.3, 75.0), 1.07),  # Taipei
    (Air(4.6, 44.0), 1.30),  # Mocha
])  # fmt: skip
def test_example_27_maize_2_m_tall(air: Air, printed: float) -> None:
    # FAO-56 Example 27, from memory: both figures follow from Eq. 62 with Kc mid 1.20
    assert suited(CROPS["maize"], 2.0, air).kc_mid == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize(("air", "printed"), [
    (Air(4.0, 20.0), 1.25), (Air(2.0, 20.0), 1.20), (Air(2.0, 45.0), 1.15),
    (Air(1.0, 80.0), 1.02),
])  # fmt: skip
def test_box_14_wheat(air: Air, printed: float) -> None:
    # FAO-56 Box 14, printed to 0.05 in dry air
    wheat = suited(CROPS["winter wheat"], HEIGHT_M["winter wheat"], air)
    assert wheat.kc_mid == pytest.approx(printed, abs=0.03)


def test_only_a_late_coefficient_of_a_green_crop_moves() -> None:
    # Eq. 65 holds for Kc end of 0.45 and more; a crop left to dry keeps its own (p. 126)
    air = Air(4.0, 20.0)
    assert suited(CROPS["maize"], 2.0, air).kc_end == CROPS["maize"].kc_end
    assert suited(CROPS["cotton"], 1.35, air).kc_end > CROPS["cotton"].kc_end


def test_beyond_what_the_equation_was_made_for_it_moves_no_further() -> None:
    most = suited(CROPS["maize"], 2.0, Air(6.0, 20.0))
    assert suited(CROPS["maize"], 2.0, Air(11.0, 3.0)) == most


def test_example_14_wind_of_ten_metres_is_read_at_two() -> None:
    # FAO-56 Example 14, from memory: 3.2 m/s at 10 m are 2.4 m/s at 2 m (Eq. 47)
    days = pd.DataFrame({
        "date": pd.date_range("2021-06-01", periods=3), "tmin_c": 12.0, "tmax_c": 28.0,
        "rain_mm": 0.0, "wind_m_s": 3.2,
    })  # fmt: skip
    high = station_days(days, 38.0, 900.0, overridden({"wind_height_m": 10.0}))
    assert high["wind_m_s"].to_numpy() == pytest.approx(2.4, abs=0.05)
    low = station_days(days, 38.0, 900.0, overridden({}))
    assert low["wind_m_s"].to_numpy() == pytest.approx(3.2, abs=0.005)
