"""What must hold for any record: gains less losses are the change, layers make the profile."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.model import Daily, Layer, Points, Season
from analytics.settings import Settings
from analytics.soil.causes import CAUSES
from analytics.soil.offseason import off_seasons, tally

DAY0 = date(2019, 9, 1)
GAINS = [f"gain_{cause}_mm" for cause in CAUSES]


def on(number):
    return DAY0 + timedelta(days=int(number))


def record(draw_from, size, *, holes, frost, reinstalled):
    days, k = size
    state = 0.25 + np.cumsum(draw_from.normal(0, 0.004, (days, k)), axis=0)
    state[draw_from.random((days, k)) < holes] = np.nan
    held = draw_from.random((days, k)) < frost
    placement = np.ones(days, np.int16)
    if reinstalled:
        placement[int(draw_from.integers(days)) :] = 2
    return Daily(
        site="S1", days=np.arange(np.datetime64(DAY0), np.datetime64(DAY0) + days),
        depths_cm=15.0 + 30.0 * np.arange(k), first=state, last=state, low=state, high=state,
        mean=state, predawn=state, state=state, temp_c=state, frozen=held, held=held,
        good=np.isfinite(state).astype(np.int32), placement=placement,
    )  # fmt: skip


def points(k, number):
    same = np.ones(k)
    return Points(
        placement=number, full=0.27 * same, refill=0.2 * same, lower=0.1 * same,
        full_sd=0.01 * same, lower_sd=0.01 * same, state=("learned",) * k,
        lower_state=("learned",) * k, ponded=np.zeros(k, bool),
    )  # fmt: skip


def wettings(draw_from, days, k, count):
    starts = np.sort(draw_from.choice(days, min(count, days), replace=False))
    long = draw_from.integers(0, 5, len(starts))
    start = pd.to_datetime([on(one) for one in starts])
    events = pd.DataFrame({
        "start": start,
        "end": start + pd.to_timedelta(long, unit="D"),
        "cause": draw_from.choice(CAUSES, len(starts)),
    })  # fmt: skip
    depth = 15.0 + 30.0 * draw_from.integers(0, k, len(starts))
    return events, pd.DataFrame({"start": start, "depth_cm": depth, "stored_mm": 1.0})


@settings(max_examples=50, deadline=None)
@given(
    seed=st.integers(0, 2**32 - 1),
    size=st.tuples(st.integers(2, 400), st.integers(1, 6)),
    doubt=st.tuples(st.sampled_from([0.0, 0.1, 0.9]), st.sampled_from([0.0, 0.3])),
    count=st.integers(0, 12),
    reinstalled=st.booleans(),
)
def test_the_account_balances(seed, size, doubt, count, reinstalled):
    (days, k), (holes, frost) = size, doubt
    draw = np.random.default_rng(seed)
    daily = record(draw, (days, k), holes=holes, frost=frost, reinstalled=reinstalled)
    layers = tuple(
        Layer(site="S1", depth_cm=d, top_cm=d - 15, bottom_cm=d + 15) for d in daily.depths_cm
    )
    turns = [on(number) for number in np.sort(draw.integers(-100, days + 50, 4))]
    seasons = (
        Season(field="F1", crop="corn", planted_on=turns[0], harvested_on=turns[1]),
        Season(field="F1", crop="wheat", planted_on=turns[2], harvested_on=turns[3]),
    )
    off = off_seasons("F1", seasons, DAY0, on(days + 20))
    got = pd.DataFrame({
        "date": pd.to_datetime([on(one) for one in range(days)]),
        "mm": draw.exponential(1.0, days),
    })  # fmt: skip
    both = {1: points(k, 1), 2: points(k, 2)}
    table = tally(daily, layers, off, both, *wettings(draw, days, k, count), got, Settings())
    assert len(table) == len(off) * (k + 1)
    assert table["coverage"].between(0, 1).all()
    known = table[table["change_mm"].notna()]
    net = known[GAINS].sum(axis=1) - known["loss_mm"]
    np.testing.assert_allclose(net, known["change_mm"], atol=1e-9)
    np.testing.assert_allclose(
        known["end_mm"] - known["start_mm"], known["change_mm"], atol=1e-9
    )
    assert (known[[*GAINS, "loss_mm"]] >= 0).all(axis=None)
    parted = known[known["loss_up_mm"].notna()]
    ways = parted[["loss_up_mm", "loss_down_mm"]].sum(axis=1) + parted["drainage_mm"].fillna(0)
    np.testing.assert_allclose(ways, parted["loss_mm"], atol=1e-9)
    assert (known[["loss_up_mm", "loss_down_mm"]].fillna(0) >= 0).all(axis=None)
    drained = known[known["drainage_mm"].notna()]
    assert (drained["drainage_mm"] >= 0).all()
    assert (drained["drainage_mm"] <= drained["loss_mm"] + 1e-9).all()
    for _, rows in table.groupby("from"):
        check_profile(rows[rows["depth_cm"].notna()], rows[rows["depth_cm"].isna()].iloc[0])


def check_profile(layers, profile):
    names = ["start_mm", "end_mm", "change_mm"]
    if layers["change_mm"].isna().all():
        assert profile[[*names, *GAINS, "loss_mm", "storage_efficiency"]].isna().all()
        return
    sums = layers[names].sum()
    np.testing.assert_allclose(profile[names].astype(float), sums, atol=1e-9)
    if profile["received_mm"] >= Settings().received_least_mm:
        stored = profile["storage_efficiency"] * profile["received_mm"]
        np.testing.assert_allclose(stored, profile["change_mm"], atol=1e-9)
    else:
        assert np.isnan(profile["storage_efficiency"])
