"""Headlines: each fires on the case it is made for, and keeps quiet on its neighbour."""

import json
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from analytics.model import Daily, Layer, Points, Season
from analytics.settings import Settings
from analytics.soil.offseason import last_full, off_seasons
from analytics.water.readiness import readiness

SETTINGS = Settings()
DAY0 = date(2018, 3, 1)
LAYERS = tuple(
    Layer(site="S1", depth_cm=depth, top_cm=depth - 15, bottom_cm=depth + 15)
    for depth in (15.0, 45.0, 75.0, 105.0, 135.0)
)  # five of 300 mm: three upper, two deep
K = len(LAYERS)


def on(number):
    return DAY0 + timedelta(days=number)


def daily(state, placement=None, held=None):
    days = len(state)
    held = np.zeros(state.shape, bool) if held is None else held
    return Daily(
        site="S1", days=np.arange(np.datetime64(DAY0), np.datetime64(DAY0) + days),
        depths_cm=np.array([one.depth_cm for one in LAYERS]), first=state, last=state,
        low=state, high=state, mean=state, predawn=state, state=state,
        temp_c=np.full(state.shape, 5.0), good=np.isfinite(state).astype(np.int32),
        frozen=held, held=held,
        placement=np.ones(days, np.int16) if placement is None else placement,
    )  # fmt: skip


def points(states=("learned",) * K, placement=1):
    same = np.ones(K)
    return Points(
        placement=placement, full=0.30 * same, refill=0.2 * same, lower=0.10 * same,
        full_sd=0.005 * same, lower_sd=0.005 * same, state=states,
        lower_state=("learned",) * K, ponded=np.zeros(K, bool),
    )  # fmt: skip


def rains(*days, stored=12.0):
    start = pd.to_datetime([on(day) for day in days])
    events = pd.DataFrame({"start": start, "end": start, "cause": "rain"})
    return events, pd.DataFrame({"start": start, "depth_cm": 15.0, "stored_mm": stored})


def settling(*spans):
    """Flags as depth, first and last day."""
    depths, first, last = zip(*spans, strict=True) if spans else ((), (), ())
    return pd.DataFrame({
        "site": "S1", "depth_cm": np.array(depths, float), "flag": "settling",
        "from": pd.to_datetime([on(day) for day in first], utc=True),
        "to": pd.to_datetime([on(day) for day in last], utc=True)})  # fmt: skip


def said(state, seasons=(), events=(), own=None, as_of=None, **kept):
    flags = settling(*kept.pop("flags", ()))
    record = daily(state, **kept)
    own = {1: points()} if own is None else own
    as_of = on(len(state) - 1) if as_of is None else as_of
    table = readiness(
        record, LAYERS, own, seasons, off_seasons("F1", seasons, DAY0, as_of), *rains(*events),
        last_full(record, own, SETTINGS), "F1", as_of, SETTINGS, flags=flags,
    )  # fmt: skip
    row = table[(table["date"] == pd.Timestamp(as_of)) & (table["zone"] == "profile")]
    return {line["code"]: line for line in json.loads(row["headlines"].iloc[0])}


CORN = Season(field="F1", crop="corn", planted_on=on(60), harvested_on=on(200))
COTTON = Season(field="F1", crop="cotton", planted_on=on(430), harvested_on=on(580))
WHEAT = Season(field="F1", crop="wheat", planted_on=on(1200))


@pytest.fixture
def two_crops():
    """Full to day 100; corn empties the deep layers, cotton takes the rest; rain on top."""
    state = np.full((700, K), 0.30)
    state[101:200, 3:] = 0.20  # corn: 0.10 * 300 mm * 2 layers = 60 mm
    state[200:, 3:] = 0.16  # ... 0.14 * 300 * 2 = 84 mm by its harvest
    state[500:, 3:] = 0.13  # cotton: 0.03 * 300 * 2 = 18 mm
    state[450:640, :3] = 0.15
    state[640:, :3] = 0.27
    return state


def test_wet_on_top_dry_beneath_with_its_evidence(two_crops):
    lines = said(two_crops, (CORN, COTTON), (300, 639, 641))
    line = lines["wet_on_top_dry_beneath"]
    assert next(iter(lines)) == "wet_on_top_dry_beneath"
    assert line["upper_fill"] == pytest.approx(0.85)  # (0.27 - 0.10) / 0.20
    assert line["deep_fill"] == pytest.approx(0.15)
    assert line["short_mm"] == pytest.approx(0.17 * 600)
    assert line["wettings"] == 2  # since cotton's harvest; the one of day 300 was before
    assert line["stored_above_mm"] == pytest.approx(24.0)
    assert line["last_wetting"] == on(641).isoformat()
    assert line["depths_cm"] == [105.0, 135.0]
    # last full two crops ago, and it was corn that emptied it
    assert line["since"] == on(100).isoformat()
    assert (line["crop"], line["taken_mm"]) == ("corn", pytest.approx(84.0))
    assert line["harvested_on"] == on(200).isoformat()


def test_deep_not_refilled_names_date_crop_and_shortfall(two_crops):
    line = said(two_crops, (CORN, COTTON))["deep_not_refilled"]
    assert (line["since"], line["crop"]) == (on(100).isoformat(), "corn")
    assert line["short_mm"] == pytest.approx(102.0)
    assert line["sd_mm"] < line["short_mm"]


def test_a_full_layer_beside_a_dry_one_adds_nothing_to_what_is_short():
    state = np.full((300, K), 0.30)
    state[200:, 4] = 0.13  # one of two deep layers: 0.17 x 300 mm
    line = said(state, (CORN,))["deep_not_refilled"]
    assert line["short_mm"] == pytest.approx(51.0)
    assert line["depths_cm"] == [135.0]


def test_it_stays_quiet_while_the_top_is_dry(two_crops):
    two_crops[640:, :3] = 0.15
    assert "wet_on_top_dry_beneath" not in said(two_crops, (CORN, COTTON), (639,))


def test_it_stays_quiet_while_no_water_was_seen_moving(two_crops):
    assert "wet_on_top_dry_beneath" not in said(two_crops, (CORN, COTTON), (300,))


def test_it_stays_quiet_at_the_deep_zones_usual_level(two_crops):
    two_crops[500:, 3:] = 0.20  # fill 0.5: short, but nothing out of the way
    lines = said(two_crops, (CORN, COTTON), (639,))
    assert "wet_on_top_dry_beneath" not in lines
    assert "deep_not_refilled" in lines


def test_a_profile_never_seen_full_counts_as_never_refilled(two_crops):
    two_crops[:101, 3:] = 0.20
    line = said(two_crops, (CORN, COTTON), (639,))["wet_on_top_dry_beneath"]
    assert line["since"] is None
    assert line["never_full_cm"] == [105.0, 135.0]


def test_a_crop_still_standing_can_be_the_one_that_took_it():
    state = np.full((1300, K), 0.30)
    state[1250:, 3:] = 0.16
    line = said(state, (CORN, COTTON, WHEAT))["deep_not_refilled"]
    assert (line["crop"], line["harvested_on"]) == ("wheat", None)


def test_a_full_profile_has_nothing_to_say():
    assert said(np.full((300, K), 0.30), (CORN,), (250,)) == {}


def test_a_shortfall_within_its_error_is_not_told():
    # two layers 0.012 short (mark is 0.29): 7.2 mm;
    # sd = 300 * sqrt(2) * hypot(.004, .005) = 2.7 mm
    state = np.full((300, K), 0.30)
    state[200:, 3:] = 0.288
    assert "deep_not_refilled" in said(state, (CORN,))
    vague = points()
    vague.full_sd[:] = 0.03  # sd = 300 * sqrt(2) * hypot(.004, .03) = 12.8 mm
    assert "deep_not_refilled" not in said(state, (CORN,), own={1: vague})


def draining():
    state = np.full((300, K), 0.30)
    state[:, -1] = 0.34
    state[-7:, -1] = 0.33
    return state


def test_draining_below_above_a_trusted_full_point():
    line = said(draining())["draining_below"]
    assert line["depth_cm"] == 135.0
    assert line["above_mm"] == pytest.approx(0.03 * 300)
    assert line["fell_mm"] == pytest.approx(0.01 * 300)
    guessed = points((*("learned",) * 4, "texture"))
    assert "draining_below" not in said(draining(), own={1: guessed})
    still = draining()
    still[:, -1] = 0.34
    assert "draining_below" not in said(still)


def test_not_yet_seen_full_names_deep_layers_only():
    own = points(("not_yet_seen", "learned", "learned", "learned", "not_yet_seen"))
    lines = said(np.full((300, K), 0.30), own={1: own})
    assert lines["not_yet_seen_full"]["depths_cm"] == [135.0]
    assert "points_unsure" not in lines  # half, not more


def test_points_unsure_when_more_than_half_is_guessed():
    own = points(("learned", "learned", "learned", "texture", "provisional"))
    assert said(np.full((300, K), 0.30), own={1: own})["points_unsure"]["share"] == 1.0


def test_frozen_layers_are_named_with_their_first_day():
    state, held = np.full((300, K), 0.30), np.zeros((300, K), bool)
    held[100:110] = True
    held[290:, 0] = True
    held[295:, 1] = True
    line = said(state, held=held)["frozen_held"]
    assert (line["top_cm"], line["bottom_cm"]) == (0.0, 60.0)
    assert line["since"] == on(290).isoformat()


def test_stale_tells_how_long_and_which():
    state = np.full((300, K), 0.30)
    state[290:, 2] = np.nan
    line = said(state)["stale"]
    assert (line["days"], line["depths_cm"], line["whole"]) == (10, [75.0], False)
    state[297:] = np.nan  # the others were read three days ago: not yet stale
    assert said(state)["stale"]["depths_cm"] == [75.0]
    assert said(state, as_of=on(310))["stale"]["whole"] is True
    state[297:] = 0.30
    state[290:, 2] = 0.30
    assert "stale" not in said(state)


def test_settling_is_told_as_long_as_the_flags_have_it():
    state = np.full((300, K), 0.30)
    every = [(one.depth_cm, 10, 160) for one in LAYERS]
    line = said(state, flags=every, as_of=on(150))["settling"]
    assert (line["depths_cm"], line["whole"]) == ([15.0, 45.0, 75.0, 105.0, 135.0], True)
    later = [(75.0, 10, 299), (105.0, 10, 200), (15.0, 250, 260), (45.0, 298, 299)]
    line = said(state, flags=later)["settling"]
    assert (line["depths_cm"], line["whole"]) == ([45.0, 75.0], False)
    assert said(state, flags=later, as_of=on(310))["settling"]["depths_cm"] == [45.0, 75.0]
    assert "settling" not in said(state, flags=[(75.0, 10, 200)])


def four_years():
    """Full in the first spring, emptied below by corn; every winter since wets the top only."""
    state = np.full((1600, K), 0.30)
    state[150:, 3:] = 0.14
    for year in range(4):
        state[150 + 365 * year : 250 + 365 * year, :3] = 0.16  # a crop draws on the top
    state[1500:, :3] = 0.28
    return state


def test_last_full_four_years_ago_is_told_as_such():
    years = tuple(
        Season(field="F1", crop="corn" if year == 0 else "sorghum",
               planted_on=on(60 + 365 * year), harvested_on=on(200 + 365 * year))
        for year in range(4)
    )  # fmt: skip
    line = said(four_years(), years, (1400, 1500))["wet_on_top_dry_beneath"]
    assert line["since"] == on(149).isoformat()
    assert (line["crop"], line["harvested_on"]) == ("corn", on(200).isoformat())
    assert line["taken_mm"] == pytest.approx(0.16 * 600)
    assert line["wettings"] == 2


def test_one_empty_layer_beneath_full_ones_is_told():
    state = np.full((700, K), 0.30)
    state[150:, 4] = 0.13
    line = said(state, (CORN,), (650,))["wet_on_top_dry_beneath"]
    assert line["depths_cm"] == [135.0]
    assert line["deep_fill"] == pytest.approx(
        (0.2 + 0.03) / 0.4, abs=0.01
    )  # the zone is half full


@pytest.mark.parametrize("state_of_point", ["texture", "not_yet_seen", "learned"])
def test_a_layer_that_always_stands_so_is_no_news(state_of_point):
    """A clay that the texture promises more than it ever holds: fill 0.25, wobbling by 0.01."""
    state = np.full((700, K), 0.28)
    state[:, 3:] = 0.15 + 0.01 * np.sin(np.arange(700) / 58.0)[:, None]
    own = points(("learned",) * 3 + (state_of_point,) * 2)
    assert "wet_on_top_dry_beneath" not in said(state, (CORN, COTTON), (639,), own={1: own})


def test_a_layer_never_full_but_emptied_from_what_it_held_is_told():
    state = np.full((700, K), 0.28)
    state[:150, 3:] = 0.22
    state[150:, 3:] = 0.15
    own = points(("learned",) * 3 + ("not_yet_seen",) * 2)
    line = said(state, (CORN, COTTON), (639,), own={1: own})["wet_on_top_dry_beneath"]
    assert (line["crop"], line["since"]) == ("corn", None)
    assert line["never_full_cm"] == [105.0, 135.0]


def test_a_refilled_layer_is_no_news():
    state = four_years()
    state[1450:, 3:] = 0.29
    assert "wet_on_top_dry_beneath" not in said(state, (CORN,), (1400, 1500))


def test_one_stray_high_reading_is_not_what_a_layer_held():
    state = np.full((700, K), 0.28)
    state[:, 3:] = 0.15
    state[300, 3:] = 0.22
    assert "wet_on_top_dry_beneath" not in said(state, (CORN, COTTON), (639,))


def test_another_placements_level_is_not_what_this_one_held():
    state = np.full((700, K), 0.28)
    state[:350, 3:] = 0.30
    state[350:, 3:] = 0.15
    placement = np.repeat(np.array([1, 2], np.int16), [350, 350])
    own = {1: points(), 2: points(placement=2)}
    assert "wet_on_top_dry_beneath" not in said(
        state, (CORN, COTTON), (639,), own=own, placement=placement
    )
