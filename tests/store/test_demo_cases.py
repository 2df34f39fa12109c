"""Each thing the demonstration contains on purpose is found in the program's own output."""

import json
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from analytics.store.people import table
from demo_data import TODAY
from demo_data.cases import CASES, LATE_OVERLAP_DAYS, REMOVED_ON, Case


@pytest.fixture(scope="module")
def results(demo_store: Path) -> dict[str, pd.DataFrame]:
    """Read every table that the cases are looked for in."""
    names = ("readiness", "tally", "wettings", "limits", "gaps", "flags", "frost", "daily")
    return {name: table(demo_store, name) for name in names}


def of(frame: pd.DataFrame, site: str) -> pd.DataFrame:
    return frame[frame["site"] == site]


def codes_today(readiness: pd.DataFrame, site: str) -> dict[str, dict[str, object]]:
    rows = of(readiness, site)
    today = rows[(rows["date"] == pd.Timestamp(TODAY)) & (rows["zone"] == "profile")]
    return {one["code"]: one for one in json.loads(today["headlines"].iloc[0])}


def off_season(tally: pd.DataFrame, site: str, inside: date) -> pd.Series:
    """Give the profile's row of the off-season that holds a day."""
    rows, day = of(tally, site), pd.Timestamp(inside)
    rows = rows[rows["depth_cm"].isna() & (rows["from"] <= day) & (rows["to"] >= day)]
    assert len(rows) == 1
    return rows.iloc[0]


def ended(case: Case) -> pd.Timestamp:
    return pd.Timestamp(case.end or TODAY)


def utc(day: date) -> pd.Timestamp:
    return pd.Timestamp(day, tz="UTC")


def test_wet_on_top_dry_beneath_is_told(results: dict[str, pd.DataFrame]) -> None:
    told = codes_today(results["readiness"], CASES["wet_on_top"].site)
    assert "wet_on_top_dry_beneath" in told
    assert min(told["wet_on_top_dry_beneath"]["depths_cm"]) >= CASES["wet_on_top"].depth_cm  # type: ignore[call-overload]


def test_the_filling_winter_filled_the_deep_soil(results: dict[str, pd.DataFrame]) -> None:
    case = CASES["filling_winter"]
    rows = of(results["readiness"], case.site)
    spring = rows[(rows["zone"] == "deep") & (rows["date"] <= ended(case))]
    assert spring.sort_values("date")["fill"].iloc[-1] > 0.8


def test_the_empty_winter_brought_nothing(results: dict[str, pd.DataFrame]) -> None:
    case = CASES["empty_winter"]
    rows = of(results["readiness"], case.site)
    by_then = rows[(rows["zone"] == "profile") & (rows["date"] <= ended(case))]
    spring = by_then.sort_values("date").iloc[-1]
    assert spring["date"] > pd.Timestamp(2023, 4, 1)
    assert spring["water_mm"] - spring["left_mm"] < 10  # left by the crop of 2022
    winter = off_season(results["tally"], case.site, date(2022, 12, 31))
    closed = results["tally"].query("depth_cm.isna() and not open")
    usual_mm_d = (closed["received_mm"] / (closed["to"] - closed["from"]).dt.days).median()
    days = (winter["to"] - winter["from"]).days
    assert winter["received_mm"] / days < 0.5 * usual_mm_d


def test_frost_went_deep_and_its_melt_is_credited_to_the_thaw(
    results: dict[str, pd.DataFrame],
) -> None:
    case = CASES["deep_frost"]
    frost = of(results["frost"], case.site)
    within = frost["date"].between(pd.Timestamp(case.start), ended(case))
    assert case.depth_cm is not None
    assert frost[within]["bottom_cm"].max() >= case.depth_cm
    winter = off_season(results["tally"], case.site, case.start)
    assert winter["gain_thaw_mm"] > 0
    assert winter["frozen_days"] >= 20


def test_the_silent_probe_is_missed(results: dict[str, pd.DataFrame]) -> None:
    case = CASES["silent_probe"]
    gaps = of(results["gaps"], case.site)
    silent = gaps[gaps["reason"] == "silent"]
    assert not silent.empty
    assert (silent["from"] - utc(case.start)).abs().max() < pd.Timedelta(days=1)
    stale = codes_today(results["readiness"], case.site)["stale"]
    assert stale["days"] == pytest.approx((TODAY - case.start).days, abs=1)


def test_the_late_block_filled_its_hole(
    demo_store: Path, results: dict[str, pd.DataFrame]
) -> None:
    case = CASES["late_block"]
    gaps = of(results["gaps"], case.site)
    hole = (gaps["from"] < utc(case.end)) & (gaps["to"] > utc(case.start))  # type: ignore[arg-type]
    hole &= gaps["reason"] == "no readings"
    longest = (gaps[hole]["to"] - gaps[hole]["from"]).max()
    assert longest < pd.Timedelta(days=3)  # the logger's own short silences
    log = table(demo_store, "imports")
    late = log[log["file"].str.contains(f"{case.site}.csv")].iloc[-1]
    assert late["identical"] >= 2 * LATE_OVERLAP_DAYS * 24 * 0.9
    assert late["taken"] > 100 * 24


def flagged(flags: pd.DataFrame, site: str, depth_cm: float, kinds: set[str]) -> pd.Timedelta:
    rows = of(flags, site)
    rows = rows[(rows["depth_cm"] == depth_cm) & rows["flag"].isin(kinds)]
    return pd.Timedelta((rows["to"] - rows["from"]).sum())


def test_the_stuck_sensor_is_not_believed(results: dict[str, pd.DataFrame]) -> None:
    case = CASES["stuck_sensor"]
    assert case.end is not None
    assert case.depth_cm is not None
    span = pd.Timedelta(days=(case.end - case.start).days)
    assert flagged(results["flags"], case.site, case.depth_cm, {"stuck"}) > 0.9 * span


def test_the_dying_sensor_is_not_believed(results: dict[str, pd.DataFrame]) -> None:
    case = CASES["dying_sensor"]
    assert case.depth_cm is not None
    kinds = {"failing", "range", "stuck", "spike"}
    span = pd.Timedelta(days=(TODAY - case.start).days)
    assert flagged(results["flags"], case.site, case.depth_cm, kinds) > 0.5 * span
    daily = of(results["daily"], case.site)
    last = daily[(daily["depth_cm"] == case.depth_cm) & (daily["date"] > "2026-01-01")]
    assert last["state"].isna().all()


def test_points_do_not_cross_a_reinstallation(results: dict[str, pd.DataFrame]) -> None:
    case = CASES["reinstalled"]
    limits = of(results["limits"], case.site)
    opened = limits.groupby("placement")["valid_from"].min()
    assert opened.index.tolist() == [1, 2]
    assert opened[2] >= pd.Timestamp(REMOVED_ON)
    settling = of(results["flags"], case.site).query("flag == 'settling'")
    assert (settling["from"] >= utc(case.start)).any()


def test_the_layer_never_seen_full_says_so(results: dict[str, pd.DataFrame]) -> None:
    case = CASES["never_full"]
    limits = of(results["limits"], case.site).query("point == 'full'")
    deep = limits[limits["depth_cm"] >= case.depth_cm]
    assert set(deep["state"]) == {"not_yet_seen"}
    assert "not_yet_seen_full" in codes_today(results["readiness"], case.site)


def test_the_prewatered_field_shows_irrigation(results: dict[str, pd.DataFrame]) -> None:
    case = CASES["prewatered"]
    winter = off_season(results["tally"], case.site, case.start)
    assert winter["gain_irrigation_mm"] > 20
    wettings = of(results["wettings"], case.site).query("cause == 'irrigation'")
    assert wettings["start"].between(pd.Timestamp(case.start), ended(case)).any()
