"""From measured layers to the order: a small store's worth of invented sites."""

import json
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analytics.errors import InputRefused
from analytics.model import Layer, Points
from analytics.settings import Settings, overridden
from analytics.water.advice import Advice, advise, sources_of, station_days
from analytics.water.thirst import Ground, SiteAdviceInputs
from analytics.water.whatif import Change, changed

SETTINGS = Settings()
AS_OF = date(2020, 2, 20)
LAYERS = tuple(
    Layer(site="S", depth_cm=10 + 20 * j, top_cm=20 * j, bottom_cm=20 + 20 * j, texture="loam")
    for j in range(7)
)
FULL, LOWER = np.full(7, 0.30), np.full(7, 0.14)
POINTS = Points(placement=1, full=FULL, refill=FULL - 0.55 * (FULL - LOWER), lower=LOWER,
                full_sd=FULL * 0, lower_sd=FULL * 0, state=("learned",) * 7,
                lower_state=("learned",) * 7, ponded=np.zeros(7, bool))  # fmt: skip


def weather():
    draw = np.random.default_rng(5)
    dates = pd.date_range("1995-01-01", "2020-02-20", unit="us")
    n = len(dates)
    mean = (
        11 - 14 * np.cos(2 * np.pi * dates.day_of_year.to_numpy() / 365) + draw.normal(0, 4, n)
    )
    frame = pd.DataFrame({
        "date": dates, "tmin_c": mean - 7, "tmax_c": mean + 7,
        "rain_mm": draw.exponential(6, n) * (draw.random(n) < 0.18),
    })  # fmt: skip
    return {"W": station_days(frame, 38.0, 900.0, SETTINGS)}


GROUND = Ground(weather=weather(), as_of=AS_OF, settings=SETTINGS)
TABLE = pd.DataFrame({
    "source": ["small", "large"], "name": ["", ""], "capacity_l_s": [25.0, 150.0],
    "allocation_mm": [300.0, np.nan], "efficiency": [0.9, np.nan],
    "max_pass_mm": [30.0, np.nan],
    "available_from": [pd.NaT, pd.NaT], "available_until": [pd.NaT, pd.NaT],
})  # fmt: skip
SOURCES = sources_of(TABLE, {"small": 100.0, "large": 100.0}, {}, SETTINGS)


def a_site(field, fill=0.3, source: str | None = "small", **other):
    theta = LOWER + fill * (FULL - LOWER)
    given = {"crop": "corn", "planting": date(2020, 5, 1), "station": "W", "area_ha": 50.0}
    return SiteAdviceInputs(field=field, site=f"P-{field}", source=source, layers=LAYERS,
                            points=POINTS, water_mm=theta * 200.0,
                            **{**given, **other})  # fmt: skip


def rows(*sites, ground=GROUND) -> tuple[Advice, dict[Any, dict[Any, Any]]]:
    found = advise(list(sites), SOURCES, ground)
    return found, found.order.set_index("field").to_dict("index")


def test_missing_efficiency_and_pass_come_from_the_settings():
    assert SOURCES[1].efficiency == SETTINGS.source_efficiency
    assert SOURCES[1].max_pass_mm == SETTINGS.pass_mm
    assert np.isinf(SOURCES[1].left_m3)
    assert SOURCES[0].available_from is None


def test_dry_little_capacity_and_early_planting_rank_higher():
    # the signs of Musick & Lamm, 1990
    found, order = rows(
        a_site("dry", 0.15), a_site("moist", 0.5), a_site("strong", 0.15, "large"),
        a_site("late", 0.15, planting=date(2020, 6, 1)),
    )  # fmt: skip
    rank = {
        name: np.inf if pd.isna(row["rank"]) else row["rank"] for name, row in order.items()
    }
    assert rank["dry"] < min(rank["moist"], rank["late"], rank["strong"])
    assert order["strong"]["target_mm"] <= order["dry"]["target_mm"] + 1e-9
    assert found.left_out.empty


def test_a_full_profile_is_left_alone():
    _, order = rows(a_site("full", 1.0))
    assert order["full"]["net_mm"] == 0.0
    assert '"none_needed"' in order["full"]["reason"]


def test_what_cannot_be_judged_is_left_out_with_its_reason():
    unread = a_site("unread")
    unread = replace(unread, water_mm=np.r_[np.nan, unread.water_mm[1:]])
    found, order = rows(
        unread, a_site("unplanned", planting=None), a_site("past", planting=AS_OF),
        a_site("nowhere", station=None), a_site("good"),
    )  # fmt: skip
    assert list(order) == ["good"]
    assert set(found.left_out["field"]) == {"unread", "unplanned", "past", "nowhere"}
    assert found.left_out["why"].str.contains("planting").sum() >= 2


@pytest.mark.parametrize("planting", [None, AS_OF, date(2020, 5, 1)])
def test_a_field_under_a_crop_is_told_of_its_harvest_whatever_is_planned(planting):
    found, _ = rows(a_site("green", planting=planting, standing="wheat"), a_site("good"))
    assert "wheat still stands there" in found.left_out["why"].item()


def test_an_unknown_crop_is_judged_by_need_and_ceiling_alone():
    found, _ = rows(a_site("herb", 0.3, crop="saffron"))
    why = found.inputs.fields[0].why
    assert "bank_mm" not in why


def test_a_source_that_feeds_no_field_holds_nothing_up():
    idle = sources_of(TABLE, {"large": 100.0}, {}, SETTINGS)  # "small" feeds nothing
    found = advise([a_site("a", source="large")], idle, GROUND)
    told = {row["source"]: row for row in found.sources.to_dict("records")}
    assert told["small"]["given_m3"] == 0.0
    assert np.isnan(told["small"]["share_of_allocation"])
    assert found.order["field"].tolist() == ["a"]


@pytest.mark.parametrize(("until", "like"), [
    (date(2020, 4, 1), "no source"), (date(2020, 12, 31), "no date"),
    (date(2019, 4, 1), "no date"),  # a date shuts days of its own year alone
])  # fmt: skip
def test_the_bank_carries_the_days_on_which_the_source_has_no_water(until, like):
    def bank(*, source: str | None = "large", until: date | None = None) -> float:
        dated = TABLE.assign(available_until=pd.to_datetime(pd.Series([None, until])))
        sources = sources_of(dated, {"small": 100.0, "large": 100.0}, {}, SETTINGS)
        found = advise([a_site("a", source=source)], sources, GROUND)
        return float(str(found.inputs.fields[0].why["bank_mm"]))

    alike = {"no source": bank(source=None), "no date": bank()}
    assert bank(until=until) == alike[like]
    assert alike["no date"] < bank(until=date(2020, 7, 15)) < alike["no source"]


def test_of_several_probes_the_one_that_lacks_most_speaks():
    one, other = a_site("twin", 0.6), replace(a_site("twin", 0.2), site="second")
    _, alone = rows(other)
    _, both = rows(one, other)
    assert both["twin"]["target_mm"] == pytest.approx(alone["twin"]["target_mm"])


def test_rain_to_come_takes_from_the_target_and_later_rain_does_not():
    _, before = rows(a_site("a", 0.3))
    rain = replace(GROUND, rain_on=(50.0, date(2020, 3, 20)))
    _, after = rows(a_site("a", 0.3), ground=rain)
    assert 10 < before["a"]["target_mm"] - after["a"]["target_mm"] <= 50.0
    for day in (date(2020, 6, 1), AS_OF):  # after planting; and what fell by today is known
        _, same = rows(a_site("a", 0.3), ground=replace(GROUND, rain_on=(50.0, day)))
        assert same["a"]["target_mm"] == before["a"]["target_mm"]
    _, soon = rows(a_site("a", 0.3), ground=replace(GROUND, rain_on=(50.0, date(2020, 2, 21))))
    assert soon["a"]["target_mm"] < before["a"]["target_mm"] - 10


def test_outlook_and_empty_grade_stand_beside_the_order():
    found, _ = rows(a_site("a"))
    assert set(found.outlook["zone"]) == {"upper", "deep", "profile", "layer"}
    assert (found.outlook["low_mm"] <= found.outlook["high_mm"]).all()
    assert found.grades.empty
    assert found.recharge is None


def test_no_sites_give_no_order():
    found, order = rows()
    assert not order
    assert found.plan.empty


@pytest.mark.parametrize("ceiling", [0.4, 0.6, 0.95])
def test_another_ceiling_asks_for_what_advice_under_it_asks_for(ceiling: float) -> None:
    sites = [a_site("dry", 0.15), a_site("moist", 0.5)]
    told, _ = rows(*sites)
    under = changed(told.inputs, Change(ceiling=ceiling))
    ground = replace(GROUND, settings=replace(SETTINGS, ceiling=ceiling))
    wanted, _ = rows(*sites, ground=ground)
    for one, other in zip(under.fields, wanted.inputs.fields, strict=True):
        assert one.target_mm == pytest.approx(other.target_mm, abs=1e-9)
        assert one.room_mm == pytest.approx(other.room_mm, abs=1e-9)
        assert np.allclose(one.steps, other.steps)
    before = [one.target_mm for one in told.inputs.fields]
    after = [one.target_mm for one in under.fields]
    assert after != before or ceiling > SETTINGS.ceiling


def test_a_ceiling_out_of_bounds_is_refused() -> None:
    told, _ = rows(a_site("dry"))
    with pytest.raises(InputRefused, match="no share of a full root zone"):
        changed(told.inputs, Change(ceiling=1.2))


def test_the_order_is_the_same_whoever_makes_the_cases(monkeypatch: pytest.MonkeyPatch) -> None:
    sites = [a_site(f"f{n}", fill=0.1 * n, source="small" if n % 2 else "large")
             for n in range(6)]  # fmt: skip
    sites.append(a_site("late", planting=None))
    here = advise(sites, SOURCES, GROUND, graded=False)
    monkeypatch.setattr("analytics.water.advice.APART", 2)
    with ThreadPoolExecutor(2) as executor:
        there = advise(sites, SOURCES, GROUND, graded=False, executor=executor)
    for name in ("order", "plan", "sources", "outlook", "left_out", "season_windows",
                 "season_demand"):  # fmt: skip
        pd.testing.assert_frame_equal(getattr(there, name), getattr(here, name))
    assert len(here.left_out) == 1


def test_nothing_is_worth_storing_beneath_a_layer_that_roots_cannot_pass():
    _, order = rows(a_site("free", 0.15), a_site("stopped", 0.15, root_limit_cm=60.0))
    held = (FULL - LOWER) * 600.0
    assert 0 < float(order["stopped"]["target_mm"]) <= np.max(held)
    assert order["free"]["target_mm"] > order["stopped"]["target_mm"]


@pytest.mark.parametrize(("worth", "first"), [({}, "corn"), ({"worth_sorghum": 3.0}, "milo")])
def test_water_too_little_for_all_goes_to_the_crop_that_weighs_more(
    worth: dict[str, float], first: str
) -> None:
    """Two fields in one state: 5 mm over 100 ha are less than either could store."""
    settings = overridden(worth)
    short = sources_of(TABLE.assign(allocation_mm=5.0), {"small": 100.0}, {}, settings)
    sites = [a_site("corn", 0.15), a_site("milo", 0.15, crop="grain sorghum")]
    found = advise(sites, short, replace(GROUND, settings=settings))
    net_mm = found.order.set_index("field")["net_mm"]
    assert net_mm.idxmax() == first
    assert net_mm.min() == pytest.approx(0.0, abs=1e-6)
    why = {one.field: one.why for one in found.inputs.fields}
    assert why["corn"]["worth"] == 1.25
    assert why["milo"]["crop"] == "grain sorghum"


@pytest.mark.parametrize("days", [60, 400])
def test_a_station_that_knows_few_years_holds_back_no_field_of_another(days: int) -> None:
    long = GROUND.weather["W"]
    ground = replace(GROUND, weather={"W": long, "young": long.iloc[-days:]})
    found, order = rows(a_site("old", 0.15), a_site("new", 0.15, station="young"),
                        ground=ground)  # fmt: skip
    alone = advise([a_site("old", 0.15)], SOURCES, GROUND).order.set_index("field")
    assert order["old"]["target_mm"] == alone.loc["old", "target_mm"]
    assert set(found.left_out["field"]) == {"new"}
    assert set(found.season_windows["field"]) == {"old"}


def test_no_bank_is_told_from_few_whole_seasons() -> None:
    """The same four days of summer are missing in all years but two."""
    days = GROUND.weather["W"].copy()
    on = pd.DatetimeIndex(days.index)
    gone = (on.month == 7) & (on.day <= 4) & (on.year < 2018)
    days.loc[gone, "eto_mm"] = np.nan
    found, _ = rows(a_site("f", 0.15), ground=replace(GROUND, weather={"W": days}))
    (one,) = found.inputs.fields
    assert "bank_mm" not in one.why
    assert found.season_windows.empty


@pytest.mark.parametrize("ceiling", [0.5, 0.9, 1.0])
def test_what_if_the_zone_is_filled_further_less_of_the_water_stays(ceiling: float) -> None:
    """Of a target above the knee of Stone et al. (2008) less stays; as an assessment says."""
    told, _ = rows(a_site("dry", 0.3))
    (quick,) = changed(told.inputs, Change(ceiling=ceiling)).fields
    ground = replace(GROUND, settings=replace(SETTINGS, ceiling=ceiling))
    (whole,) = rows(a_site("dry", 0.3), ground=ground)[0].inputs.fields
    assert quick.target_mm == pytest.approx(whole.target_mm, abs=1e-3)
    assert quick.stored_spring == pytest.approx(whole.stored_spring, abs=1e-5)
    assert quick.stored_autumn == pytest.approx(whole.stored_autumn, abs=1e-5)
    (small,) = changed(told.inputs, Change(target_mm=5.0)).fields
    assert small.stored_spring >= told.inputs.fields[0].stored_spring


def test_what_an_onion_lacks_ends_where_its_roots_do() -> None:
    """Roots to 45 cm: of layers of 20 cm two, and a quarter of the third."""
    _, order = rows(a_site("f", 0.3, crop="onion"))
    short = float((FULL - LOWER)[0]) * 0.7 * 200.0
    assert order["f"]["need_mm"] == pytest.approx(2.25 * short)


def test_ground_that_is_frozen_today_is_not_watered_for_a_week():
    found, order = rows(a_site("free", 0.15), a_site("hard", 0.15, frozen_cm=30.0))
    starts = {name: one["starts_on"] for name, one in order.items()}
    assert starts["hard"] >= pd.Timestamp("2020-02-28")
    plan = found.plan[found.plan["field"] == "hard"]["date"]
    assert plan.min() >= pd.Timestamp("2020-02-28"), "tomorrow is the 21st"
    assert json.loads(order["hard"]["reason"])["why"]["frozen_cm"] == 30.0
    assert "frozen_cm" not in order["free"]["reason"]
    free = next(one for one in found.inputs.fields if one.field == "free")
    hard = next(one for one in found.inputs.fields if one.field == "hard")
    assert free.frozen is not None
    assert hard.frozen is not None
    assert hard.frozen[:7].all()
    np.testing.assert_array_equal(hard.frozen[7:], free.frozen[7:])


def test_a_layer_beneath_the_deepest_roots_changes_nothing():
    _, order = rows(a_site("free", 0.15), a_site("deep", 0.15, root_limit_cm=500.0))
    assert order["deep"]["target_mm"] == order["free"]["target_mm"]


def test_the_days_of_the_order_begin_tomorrow_and_end_before_the_last_planting():
    found, _ = rows(a_site("first"), a_site("last", planting=date(2020, 6, 1)))
    days = found.inputs.days
    assert (days[0], days[-1]) == (np.datetime64("2020-02-21"), np.datetime64("2020-05-31"))
    assert (np.diff(days) == np.timedelta64(1, "D")).all()
