"""The order of a whole store: what is gathered, what is published, what is read back."""

import shutil
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from analytics.errors import InputRefused, NotKnown
from analytics.model import Record
from analytics.settings import Settings
from analytics.store import layout, people, readings, scenarios
from analytics.store.advice import height_m
from analytics.store.assessment import assess
from analytics.store.order_told import inputs_read
from analytics.store.statements import query
from analytics.water.order import solve

DAY = date(2025, 2, 24)
DEPTHS = np.array([15.0, 45.0, 75.0, 105.0])
SIDE = 0.005  # degrees
FIELDS = ["dry", "moist", "alone", "bare"]


def weather() -> pd.DataFrame:
    """Fourteen years, dry winters and wetter summers."""
    days = pd.date_range("2011-01-01", DAY, freq="D")
    season = np.cos((days.day_of_year.to_numpy() - 200) / 365 * 2 * np.pi)
    rain = np.where(days.day_of_year % 9 == 0, 5.0 + 4.0 * season, 0.0)
    mean = 12.0 + 14.0 * season
    return pd.DataFrame({"station": "w", "date": days, "tmin_c": mean - 7, "tmax_c": mean + 7,
                         "rain_mm": rain, "snow_mm": 0.0})  # fmt: skip


def record(site: str, theta: float, until: str = "2025-02-25") -> Record:
    days = np.arange("2024-10-01", until, dtype="datetime64[D]")
    times = np.asarray(days + np.timedelta64(11, "h"), "datetime64[us]")
    values = np.full((len(days), len(DEPTHS)), theta)
    values += np.random.default_rng(3).normal(0, 2e-3, values.shape)
    return Record(site=site, times=times, depths_cm=DEPTHS, theta=values,
                  temp_c=np.full(values.shape, 8.0))  # fmt: skip


@pytest.fixture(scope="module")
def ordered(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two fields on one well, one without a source, one without a probe; assessed."""
    store = told(tmp_path_factory.mktemp("order") / "store")
    for site, theta in (("D", 0.17), ("M", 0.24), ("A", 0.17)):
        readings.merge(store, record(site, theta))
    run(store)
    return store


def told(store: Path) -> Path:
    """Make a store with all that people tell of its fields, without readings."""
    layout.create(store)
    boxes = [shapely.box(-101 + at / 50, 39, -101 + at / 50 + SIDE, 39 + SIDE)
             for at in range(4)]  # fmt: skip
    people.put(store, "fields", gpd.GeoDataFrame(
        {"field": FIELDS, "source": ["well", "well", None, "well"], "soil": "silt loam",
         "irrigated_ha": [np.nan, 40.0, np.nan, np.nan]}, geometry=boxes, crs="EPSG:4326",
    ))  # fmt: skip
    people.put(store, "sources", pd.DataFrame({
        "source": ["well"], "capacity_l_s": [30.0], "allocation_mm": [300.0],
        "efficiency": [0.9], "max_pass_mm": [25.0]}))  # fmt: skip
    people.put(store, "sites", pd.DataFrame({
        "site": ["D", "M", "A"], "field": FIELDS[:3], "latitude": 39.0, "longitude": -101.0,
        "timezone": "America/Chicago",
        "installed_on": pd.Timestamp("2024-03-01")}))  # fmt: skip
    people.put(store, "layers", pd.concat([pd.DataFrame({
        "site": site, "depth_cm": DEPTHS, "full": 0.32, "lower": 0.14, "refill": 0.22,
    }) for site in "DMA"]))  # fmt: skip
    people.put(store, "seasons", pd.DataFrame({
        "field": FIELDS, "crop": "corn",
        "planted_on": pd.Timestamp("2025-05-05")}))  # fmt: skip
    people.put(store, "stations", pd.DataFrame({
        "station": ["w"], "latitude": [39.0], "longitude": [-101.0],
        "elevation_m": [np.nan]}))  # fmt: skip
    people.put(store, "weather", weather())
    return store


def by_field(store: Path, name: str) -> dict[str, dict[Any, Any]]:
    return {str(row["field"]): row for row in people.table(store, name).to_dict("records")}


def run(store: Path) -> tuple[str, ...]:
    with ThreadPoolExecutor(1) as pool:
        report = assess(store, DAY, pool)
    assert not report.failed
    return report.assessed


def test_every_field_has_an_order_or_a_reason(ordered: Path) -> None:
    order, left = by_field(ordered, "order"), by_field(ordered, "order_left_out")
    assert set(order) == {"dry", "moist", "alone"}
    assert left["bare"]["why"].startswith("No probe reads this field.")
    assert order["dry"]["net_mm"] > order["moist"]["net_mm"] > 0
    assert order["dry"]["rank"] == 1
    assert '"no_source"' in order["alone"]["reason"]
    assert pd.isna(order["alone"]["rank"])


def test_the_plan_adds_up_to_the_order_within_the_wells_capacity(ordered: Path) -> None:
    order, plan = people.table(ordered, "order"), people.table(ordered, "plan")
    summed = plan.groupby("field")["net_mm"].sum()
    for row in order.to_dict("records"):
        assert row["net_mm"] == pytest.approx(summed.get(row["field"], 0.0))
    area = {"dry": drawn_ha(), "moist": 40.0}
    gross_m3 = plan["gross_mm"] * plan["field"].map(area) * 10.0
    most = 30.0 * 86.4 * 1.002  # m3 a day; the area above is known to a fifth of a hundredth
    assert (gross_m3.groupby(plan["date"]).sum() <= most).all()


def drawn_ha() -> float:
    """Area on the ellipsoid of the box that is drawn; 0.24 km2 to within a hundredth."""
    north_south = SIDE * 111_033.0  # m a degree of latitude at 39 N, WGS 84
    east_west = SIDE * 86_629.0  # m a degree of longitude at 39 N, WGS 84
    return north_south * east_west / 10_000.0


def test_a_fields_area_is_its_polygons_where_none_is_told(ordered: Path) -> None:
    found = inputs_read(people.table(ordered, "order_inputs"), DAY, Settings())
    area = {one.field: one.area_ha for one in found.fields}
    assert area["dry"] == pytest.approx(drawn_ha(), rel=2e-3)
    assert area["moist"] == 40.0
    assert found.sources[0].group_ha == pytest.approx(40.0 + 2 * drawn_ha(), rel=2e-3)


def test_the_inputs_read_back_give_the_published_order_again(ordered: Path) -> None:
    found = solve(inputs_read(people.table(ordered, "order_inputs"), DAY, Settings()))
    kept = by_field(ordered, "order")
    for row in found.order.to_dict("records"):
        assert row["net_mm"] == pytest.approx(kept[row["field"]]["net_mm"], abs=1e-4)
        assert row["latest_start_alone"] == kept[row["field"]]["latest_start_alone"] or (
            pd.isna(row["latest_start_alone"])
        )


def test_the_outlook_lies_within_its_own_spread(ordered: Path) -> None:
    outlook = people.table(ordered, "outlook")
    assert set(outlook["site"]) == {"D", "M", "A"}
    assert (outlook["q10_mm"] <= outlook["q50_mm"]).all()
    assert (outlook["q50_mm"] <= outlook["q90_mm"]).all()
    assert outlook["chance_full"].between(0, 1).all()
    assert (outlook["years"] >= 10).all()


def test_a_changed_source_is_seen_by_the_next_assessment(ordered: Path, tmp_path: Path) -> None:
    store = Path(shutil.copytree(ordered, tmp_path / "copy"))
    before = by_field(store, "order")
    sources = people.table(store, "sources").assign(efficiency=0.45)
    people.put(store, "sources", sources)
    assert run(store) == ("D", "M")  # the sites of its fields, no others
    after = by_field(store, "order")
    assert set(after) == set(before)

    def pumped(order: dict[str, dict[Any, Any]]) -> float:
        """Volume of all fields: a mm weighs the same in both, and either may get more."""
        return order["dry"]["gross_mm"] * drawn_ha() + order["moist"]["gross_mm"] * 40.0

    assert pumped(after) > 1.2 * pumped(before)
    assert after["moist"]["unfilled_mm"] + after["dry"]["unfilled_mm"] > 0.0


@pytest.mark.parametrize(("planted", "harvested", "stands"), [
    ("2024-10-10", None, True), ("2024-10-10", "2025-06-20", True),
    ("2024-04-30", "2024-09-20", False), ("2025-02-24", None, True),
    ("2023-05-01", None, False),  # longer ago than any crop stands: a harvest not brought
])  # fmt: skip
def test_a_field_under_a_crop_is_not_judged_as_bare(
    ordered: Path, tmp_path: Path, planted: str, harvested: str | None, *, stands: bool
) -> None:
    store = Path(shutil.copytree(ordered, tmp_path / "copy"))
    people.put(store, "seasons", pd.DataFrame({
        "field": ["moist"], "crop": ["winter wheat"], "planted_on": [pd.Timestamp(planted)],
        "harvested_on": [pd.Timestamp(harvested) if harvested else pd.NaT]}))  # fmt: skip
    run(store)
    left = by_field(store, "order_left_out")
    assert ("moist" in left) is stands
    assert ("moist" in by_field(store, "order")) is not stands
    if stands:
        assert "winter wheat still stands there." in left["moist"]["why"]


def test_scenarios_are_named_saved_opened_and_forgotten(ordered: Path) -> None:
    scenarios.save(ordered, " Later ", {"planting_days": 7}, "Ash")
    scenarios.save(ordered, "Later", {"planting_days": 9}, "Ash")
    kept = scenarios.listed(ordered)
    assert list(kept["name"]) == ["Later"]
    assert '"planting_days": 9' in kept["told"].iloc[0]
    with pytest.raises(InputRefused, match="author"):
        scenarios.save(ordered, "x", {}, " ")
    with pytest.raises(InputRefused, match="no name"):
        scenarios.save(ordered, " ", {}, "Ash")
    scenarios.remove(ordered, "Later")
    with pytest.raises(NotKnown):
        scenarios.remove(ordered, "Later")
    assert query(ordered, "show_scenarios").empty


def test_a_station_without_a_height_takes_its_neighbours() -> None:
    stations = pd.DataFrame(
        {"station": ["bare", "near", "far"], "latitude": [39.0, 39.1, 41.0],
         "longitude": -101.0, "elevation_m": [np.nan, 1000.0, 200.0]}
    )  # fmt: skip
    assert height_m(stations, 39.0, -101.0) == 1000.0
    assert height_m(stations.head(1), 39.0, -101.0) == 0.0


def test_water_read_long_ago_is_not_todays(ordered: Path, tmp_path: Path) -> None:
    store = told(tmp_path / "store")
    readings.merge(store, record("D", 0.17, until="2025-02-10"))  # 15 days before the day
    moist = record("M", 0.24)
    moist.theta[60:, 3] = np.nan  # the lowest sensor dies as November ends, its layer full
    moist.theta[:60, 3] += 0.08
    readings.merge(store, moist)
    readings.merge(store, record("A", 0.17, until="2025-02-12"))
    run(store)
    order, left = by_field(store, "order"), by_field(store, "order_left_out")
    assert set(order) == {"moist", "alone"}
    assert (
        "4 of 4 layers have no water today: they were not read within 14 days"
        in (left["dry"]["why"])
    )
    assert '"silent_cm": [105.0]' in order["moist"]["reason"]
    usual = by_field(ordered, "order")["moist"]
    assert "silent_cm" not in usual["reason"]
    assert order["moist"]["need_mm"] == pytest.approx(usual["need_mm"], abs=2.0)


def test_a_pan_is_taken_in_with_the_fields_and_stops_roots(
    ordered: Path, tmp_path: Path
) -> None:
    store = Path(shutil.copytree(ordered, tmp_path / "copy"))
    before = by_field(store, "order")
    told = people.fields(store).assign(root_limit_cm=[70.0, np.nan, np.nan, np.nan])
    assert told["field"].iloc[0] == "alone"
    people.put(store, "fields", told)
    assert set(run(store)) == {"A"}
    after = by_field(store, "order")
    assert after["alone"]["target_mm"] < before["alone"]["target_mm"]
    inside = (0.32 - 0.14) * 700.0
    assert after["alone"]["target_mm"] <= inside
    assert after["moist"]["target_mm"] == before["moist"]["target_mm"]
    without = told.drop(columns="root_limit_cm")
    assert people.put(store, "fields", without).identical == 4, "what was known of it stays"


def test_a_field_of_sand_keeps_more_of_its_rain_at_the_surface(
    ordered: Path, tmp_path: Path
) -> None:
    """FAO-56 Table 19: of sand 4.5 mm evaporate readily, of silt loam more."""
    store = Path(shutil.copytree(ordered, tmp_path / "copy"))
    people.put(store, "layers", pd.DataFrame(
        {"site": "D", "depth_cm": DEPTHS[:1], "texture": "sand"}))  # fmt: skip
    assert run(store) == ("D",)
    before, after = (people.table(one, "outlook").set_index(["site", "zone"])["q50_mm"]
                     for one in (ordered, store))  # fmt: skip
    assert after["D", "upper"] < before["D", "upper"] - 0.2
    assert after["M", "upper"] == before["M", "upper"]
