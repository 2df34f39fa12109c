"""The invented district: its files, its own water balance, and each case against its truth.

Every expected value here is a fact of the scenario as demo_data/README.md lists it; the
balance is conservation of water.
"""

import json
from datetime import date, timedelta
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest

from demo_data import SEED, START, TODAY
from demo_data.cases import CASES, LATE_OVERLAP_DAYS, REMOVED_ON
from demo_data.district import DISTRICT, SITE_INDEX, WELLS, area_ha, depths_of
from demo_data.faults import spoil
from demo_data.grow import grow
from demo_data.heat import STEPS_A_DAY, ice_share, temperature_c
from demo_data.sensors import read_probe
from demo_data.truth import Truth, layer_edges, layer_truth, simulate, zone_fill


@pytest.fixture(scope="session")
def truth() -> Truth:
    return simulate()


@pytest.fixture(scope="session")
def told() -> list[tuple[float, str]]:
    return []


@pytest.fixture(scope="session")
def folder(
    tmp_path_factory: pytest.TempPathFactory, truth: Truth, told: list[tuple[float, str]]
) -> Path:
    path = tmp_path_factory.mktemp("tarrow") / "new"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("demo_data.grow.simulate", lambda seed: truth)
        grow(path, progress=lambda share, words: told.append((share, words)))
    return path


def _step(truth: Truth, day: date) -> int:
    """Index of the last step before a local day begins."""
    return (day - START).days * STEPS_A_DAY - 1


def _logger(folder: Path, case: str) -> pd.DataFrame:
    return pd.read_parquet(folder / "loggers" / f"{CASES[case].site}.parquet")


def _utc(day: date) -> pd.Timestamp:
    return pd.Timestamp(day, tz="UTC") + pd.Timedelta(hours=6)


def _fills(truth: Truth, case: str, day: date) -> np.ndarray:
    layers = layer_truth(truth, CASES[case].site)
    water = layers.water_mm[_step(truth, day)]
    return (water - layers.wilt_mm) / (layers.full_mm - layers.wilt_mm)


# the files


def test_every_file_of_the_contract_is_there(folder: Path) -> None:
    names = ("sources", "sites", "layers", "seasons", "water", "stations", "weather")
    assert all((folder / f"{name}.csv").is_file() for name in names)
    assert sorted(p.stem for p in (folder / "loggers").iterdir()) == sorted(SITE_INDEX)
    assert [p.name for p in (folder / "late").iterdir()] == [f"{CASES['late_block'].site}.csv"]


def test_the_district_is_as_the_scenario_says(folder: Path) -> None:
    fields = gpd.read_file(folder / "fields.geojson")
    assert len(fields) == 36
    assert fields["field"].is_unique
    assert fields["name"].is_unique
    assert fields["grower"].nunique() == 4
    assert fields["source"].dropna().nunique() == len(WELLS) == 3
    assert fields["source"].isna().sum() == 1
    assert fields.geometry.is_valid.all()
    assert [plot.shape for plot in DISTRICT].count("o") == 33
    areas_ac = [area_ha(plot) / 0.40468564 for plot in DISTRICT if plot.shape == "o"]
    assert areas_ac == pytest.approx([124.2] * 33, abs=0.5)
    shapes = gpd.GeoSeries(fields.geometry.to_crs("EPSG:32614").buffer(-0.5))
    assert shapes.sindex.query(shapes, predicate="intersects").shape[1] == 36


def test_landmarks_are_lines_of_the_known_kinds(folder: Path) -> None:
    features = json.loads((folder / "landmarks.geojson").read_text(encoding="utf-8"))[
        "features"
    ]
    assert {one["properties"]["kind"] for one in features} == {"road", "canal", "edge"}
    assert {one["geometry"]["type"] for one in features} == {"LineString"}


def test_probes_stand_in_their_fields(folder: Path) -> None:
    fields = gpd.read_file(folder / "fields.geojson").set_index("field")
    sites = pd.read_csv(folder / "sites.csv")
    points = gpd.points_from_xy(sites["longitude"], sites["latitude"])
    for name, point in zip(sites["field"], points, strict=True):
        assert fields.loc[name, "geometry"].contains(point), name


def test_probes_have_eight_to_twelve_sensors_to_120_cm(folder: Path) -> None:
    depths = pd.read_csv(folder / "layers.csv").groupby("site")["depth_cm"]
    assert set(depths.size()) == {8, 10, 12}
    assert (depths.max() == 120).all()


def test_the_record_runs_hourly_to_the_last_morning(folder: Path) -> None:
    table = _logger(folder, "wet_on_top")
    assert table["time"].iloc[0] == _utc(START)
    assert table["time"].iloc[-1] == _utc(TODAY) + pd.Timedelta(hours=6)
    assert table["time"].is_monotonic_increasing
    assert (table["time"].diff().dropna() == pd.Timedelta(hours=1)).mean() > 0.999
    theta = table["vwc 10 cm [m3/m3]"].to_numpy(float)
    assert np.abs(theta * 1e4 - np.round(theta * 1e4)).max() < 1e-3


def test_weather_reaches_back_before_the_record(folder: Path) -> None:
    weather = pd.read_csv(folder / "weather.csv")
    assert weather["date"].min() == "1995-01-01"
    assert weather["date"].max() == TODAY.isoformat()
    assert not weather.isna().any().any()
    assert (weather["tmin_c"] <= weather["tmax_c"]).all()
    assert (weather["tdew_c"] <= weather["tmin_c"]).all()
    past = weather[weather["date"] < "2019"]
    yearly = past[["rain_mm", "snow_mm"]].sum().sum() / 24 / 2
    assert 380 < yearly < 560  # semi-arid


def test_every_field_has_a_next_crop_and_none_overlaps(folder: Path) -> None:
    seasons = pd.read_csv(folder / "seasons.csv")
    assert set(seasons["crop"]) == {"corn", "cotton", "sorghum", "winter wheat"}
    for name, rows in seasons.groupby("field"):
        assert rows["planted_on"].max() > TODAY.isoformat(), name
        assert (
            rows["harvested_on"].to_numpy()[:-2] < rows["planted_on"].to_numpy()[1:-1]
        ).all()
    growing = seasons["harvested_on"].isna() & (seasons["planted_on"] <= TODAY.isoformat())
    assert set(seasons.loc[growing, "crop"]) == {"winter wheat"}


def test_irrigation_stays_within_each_well_groups_capacity(truth: Truth) -> None:
    season = np.isin(truth.days.astype("datetime64[M]").astype(int) % 12, range(4, 10))
    for name, _, capacity, allocation, efficiency, *_ in WELLS:
        mine = [i for i, plot in enumerate(DISTRICT) if plot.source == name]
        area = np.array([area_ha(DISTRICT[i]) for i in mine])
        pumped_m3 = truth.irrigation_mm[:, mine] @ area * 10 / efficiency
        assert pumped_m3[season].sum() <= capacity * 86.4 * season.sum()
        assert truth.irrigation_mm[:366, mine].sum(axis=0).max() <= allocation


# the simulation itself


def test_water_is_conserved_in_every_field(truth: Truth) -> None:
    flow = truth.flow
    came = (truth.rain_mm + truth.snow_mm + truth.irrigation_mm).sum(axis=0)
    stored = (flow.end_mm - flow.start_mm).sum(axis=1)
    went = flow.et_mm.sum(axis=0) + flow.drainage_mm.sum(axis=0) + flow.runoff_mm.sum(axis=0)
    lying = truth.snow.lying_mm[-1] + flow.ponded_mm
    np.testing.assert_allclose(came, stored + went + lying, atol=1e-6, rtol=0)


def test_water_stays_between_dry_and_saturated(truth: Truth) -> None:
    water = truth.flow.water_mm
    assert (water >= truth.soil.dry_mm - 1e-3).all()
    assert (water <= truth.soil.sat_mm + 1e-3).all()


def test_nothing_is_taken_up_at_night(truth: Truth) -> None:
    by_step = truth.flow.et_mm.reshape(-1, STEPS_A_DAY, len(DISTRICT)).sum(axis=(0, 2))
    assert (by_step[[0, 1, 7]] == 0).all()
    assert by_step.argmax() == 4


def test_layers_reach_half_a_spacing_below_the_last_sensor() -> None:
    tops, bottoms = layer_edges(np.array(depths_of(DISTRICT[0])))
    assert (tops[0], bottoms[0], bottoms[-1]) == (0.0, 15.0, 125.0)


def test_layer_truth_holds_all_the_water_of_the_slices(truth: Truth) -> None:
    layers = layer_truth(truth, "TF01")
    whole = truth.flow.water_mm[-1, 0, :25].astype(float).sum()  # 25 slices of 5 cm: 125 cm
    assert layers.water_mm[-1].sum() == pytest.approx(whole)


def test_same_seed_same_readings() -> None:
    def once(seed: int) -> pd.DataFrame:
        short = simulate(seed, days=30)
        rng = np.random.default_rng([seed, 3])
        reading = read_probe(rng, short, "TF04")
        main, _ = spoil(rng, reading)
        return pd.DataFrame(reading.theta[main])

    pd.testing.assert_frame_equal(once(SEED), once(SEED))
    assert not once(SEED).equals(once(SEED + 1))


def test_all_five_classes_of_deep_fill_are_there_today(truth: Truth) -> None:
    deep = zone_fill(truth, 90, 125)
    counts = np.histogram(deep, [-1, 0.2, 0.4, 0.6, 0.8, 9])[0]
    assert counts.sum() == 36
    assert counts.min() >= 4


def test_progress_only_grows_and_ends_at_one(
    folder: Path, told: list[tuple[float, str]]
) -> None:
    shares = [share for share, _ in told]
    assert folder.is_dir()
    assert shares == sorted(shares)
    assert shares[0] == 0
    assert shares[-1] == 1


# the cases


def test_corrie_12_is_wet_on_top_and_dry_beneath(truth: Truth) -> None:
    fills = _fills(truth, "wet_on_top", TODAY)
    layers = layer_truth(truth, CASES["wet_on_top"].site)
    deep = layers.tops_cm >= 90
    upper = zone_fill(truth, 0, 90)[SITE_INDEX[CASES["wet_on_top"].site]]
    assert upper > 0.65
    assert fills[deep].mean() < 0.4
    share = (layers.water_mm - layers.wilt_mm) / (layers.full_mm - layers.wilt_mm)
    full = np.flatnonzero((share[:, deep] > 0.98).all(axis=1))
    last = START + timedelta(days=int(full[-1]) // STEPS_A_DAY)
    assert date(2024, 5, 1) < last < date(2024, 9, 27)  # under the corn of 2024


def test_several_fields_are_wet_on_top_and_dry_beneath(truth: Truth) -> None:
    wet_dry = (zone_fill(truth, 0, 90) > 0.6) & (zone_fill(truth, 90, 125) < 0.4)
    assert wet_dry.sum() >= 5


def test_one_winter_filled_everything(truth: Truth) -> None:
    case = CASES["filling_winter"]
    assert case.end is not None
    before, after = (zone_fill(truth, 0, 125, _step(truth, d)) for d in (case.start, case.end))
    deep = zone_fill(truth, 90, 125, _step(truth, case.end))
    others = np.arange(len(DISTRICT)) != SITE_INDEX[CASES["never_full"].site]
    wheat = truth.cover.growing[(case.end - START).days]
    assert np.median(before) < 0.6
    assert (after[others & ~wheat] > 0.75).all()
    assert (deep[others & ~wheat] > 0.95).all()
    assert (deep[others] > 0.8).all()


def test_one_winter_brought_nothing(truth: Truth) -> None:
    case = CASES["empty_winter"]
    assert case.end is not None
    inside = (truth.days >= np.datetime64(case.start)) & (truth.days < np.datetime64(case.end))
    assert (truth.rain_mm + truth.snow_mm)[inside].sum(axis=0).max() < 15
    fallen = date(2022, 11, 15)
    before, after = (zone_fill(truth, 0, 125, _step(truth, d)) for d in (fallen, case.end))
    assert (after <= before + 0.01).all()


def test_frost_goes_deep_and_snow_melts_on_it(truth: Truth) -> None:
    case = CASES["deep_frost"]
    index = SITE_INDEX[case.site]
    first, last = _step(truth, case.start), _step(truth, case.end or TODAY)
    heat = truth.heat_k[first:last, index]
    hard = temperature_c(heat) <= 0
    assert hard[:, :5].all(axis=1).any()  # nodes to 50 cm
    days = slice((first + 1) // STEPS_A_DAY, last // STEPS_A_DAY)
    melt = truth.snow.melt_mm[days, index]
    ice = ice_share(heat[3::STEPS_A_DAY, 1])[: len(melt)]
    assert melt[ice > 0.35].sum() > 10


def test_a_frozen_layer_reads_dry_while_its_water_stays(folder: Path, truth: Truth) -> None:
    case = CASES["deep_frost"]
    table = _logger(folder, "deep_frost").set_index("time")
    iced = table.loc[_utc(date(2021, 1, 30)) : _utc(date(2021, 2, 2))]
    before = table.loc[_utc(date(2021, 1, 1)) : _utc(date(2021, 1, 6))]
    theta, temp = "vwc 20 cm [m3/m3]", "soil temp 20 cm [C]"
    assert iced[temp].max() < 0
    assert iced[theta].mean() < before[theta].mean() - 0.05
    layers = layer_truth(truth, case.site)
    held = layers.water_mm[[_step(truth, date(2021, 1, 5)), _step(truth, date(2021, 1, 31))], 1]
    assert held[1] == pytest.approx(held[0], abs=1.0)


def test_one_probe_is_silent(folder: Path) -> None:
    last = _logger(folder, "silent_probe")["time"].iloc[-1]
    assert last < _utc(CASES["silent_probe"].start)
    assert 39 <= (_utc(TODAY) - last).days <= 43


def test_the_late_block_fills_what_the_main_file_lacks(folder: Path) -> None:
    case = CASES["late_block"]
    main = _logger(folder, "late_block")
    late = pd.read_csv(folder / "late" / f"{case.site}.csv", parse_dates=["time"])
    first, last = _utc(case.start), _utc(case.end or TODAY)
    assert not main["time"].between(first, last, inclusive="left").any()
    assert list(late.columns) == list(main.columns)
    assert late["time"].iloc[0] == first - pd.Timedelta(days=LATE_OVERLAP_DAYS)
    both = main.merge(late, on="time", suffixes=("", " late"))
    assert len(both) > 2 * LATE_OVERLAP_DAYS * 24 - 90
    name = f"vwc {depths_of(DISTRICT[SITE_INDEX[case.site]])[0]:g} cm [m3/m3]"
    np.testing.assert_allclose(both[name], both[f"{name} late"], atol=1e-6)


def test_the_stuck_sensor_repeats_one_value_for_months(folder: Path) -> None:
    case = CASES["stuck_sensor"]
    table = _logger(folder, "stuck_sensor").set_index("time")
    inside = table[_utc(case.start) : _utc(case.end or TODAY) - pd.Timedelta(hours=1)]
    assert np.ptp(inside[f"vwc {case.depth_cm:g} cm [m3/m3]"].to_numpy()) == 0
    assert inside["vwc 50 cm [m3/m3]"].nunique() > 50


def test_the_dying_sensor_ends_in_values_no_soil_has(folder: Path) -> None:
    case = CASES["dying_sensor"]
    table = _logger(folder, "dying_sensor").set_index("time")
    theta = table[f"vwc {case.depth_cm:g} cm [m3/m3]"]
    before = theta[_utc(date(2025, 4, 1)) : _utc(case.start)]
    later = theta[_utc(date(2025, 10, 1)) : _utc(date(2025, 11, 1))]
    assert later.std() > 5 * before.std()
    assert later.mean() < before.mean() - 0.03
    end = theta[_utc(date(2026, 1, 10)) :]
    assert ((end < 0) | (end > 1)).all()


def test_the_reinstalled_probe_has_two_rows_and_settles(folder: Path, truth: Truth) -> None:
    case = CASES["reinstalled"]
    sites = pd.read_csv(folder / "sites.csv")
    rows = sites[sites["site"] == case.site]
    assert rows["removed_on"].tolist()[0] == REMOVED_ON.isoformat()
    assert rows["installed_on"].tolist()[1] == case.start.isoformat()
    assert sites.drop(rows.index)["site"].is_unique
    table = _logger(folder, "reinstalled").set_index("time")
    assert table[_utc(REMOVED_ON) : _utc(case.start) - pd.Timedelta(hours=1)].empty
    layers = layer_truth(truth, case.site)
    names = [f"vwc {depth:g} cm [m3/m3]" for depth in layers.depths_cm[1:]]

    def off_by(day: date) -> np.ndarray:
        step = _step(truth, day) + 1
        true = layers.water_mm[step : step + STEPS_A_DAY, 1:].mean(axis=0) / 100.0  # 10 cm
        return table.loc[_utc(day) :, names].iloc[:24].mean().to_numpy() - true

    early, settled, later = (off_by(date(2023, *d)) for d in ((4, 12), (6, 10), (11, 28)))
    assert (early < settled - 0.02).all()
    np.testing.assert_allclose(settled, later, atol=0.006)
    assert np.abs(later - off_by(date(2023, 3, 20))).max() > 0.015


def test_the_deepest_layers_of_one_field_were_never_full(truth: Truth) -> None:
    case = CASES["never_full"]
    layers = layer_truth(truth, case.site)
    below = layers.depths_cm >= (case.depth_cm or 0)
    assert (layers.water_mm[:, below] < 0.7 * layers.full_mm[below]).all()
    others = [plot.site for plot in DISTRICT if plot.site != case.site]
    for site in others:
        other = layer_truth(truth, site)
        assert (other.water_mm.max(axis=0) >= 0.99 * other.full_mm).all(), site


def test_one_field_was_watered_before_planting(folder: Path, truth: Truth) -> None:
    case = CASES["prewatered"]
    name = DISTRICT[SITE_INDEX[case.site]].field
    water = pd.read_csv(folder / "water.csv")
    given = water[(water["field"] == name) & (water["kind"] == "irrigation")]
    given = given[
        given["date"].between(case.start.isoformat(), (case.end or TODAY).isoformat())
    ]
    assert len(given) == 3
    assert given["mm"].sum() == 82
    water = layer_truth(truth, case.site).water_mm.sum(axis=1)
    assert water[-1] - water[_step(truth, case.start)] > 0.7 * 82


def test_gauged_fields_bring_their_own_rain(folder: Path) -> None:
    water = pd.read_csv(folder / "water.csv")
    gauged = {plot.field for plot in DISTRICT if plot.gauge}
    assert set(water.loc[water["kind"] == "rain", "field"]) == gauged
    assert 5 <= len(gauged) < 20
