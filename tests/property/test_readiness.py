"""What must hold for any record: zones are their layers, classes are sure to one in all."""

import json
from datetime import date, timedelta

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.model import Daily, Layer, Points, Season
from analytics.settings import Settings
from analytics.soil.offseason import last_full, off_seasons
from analytics.water.classes import CLASSES, classify
from analytics.water.readiness import readiness

DAY0 = date(2019, 9, 1)
STATES = ("learned", "provisional", "not_yet_seen", "texture", "set")


def on(number):
    return DAY0 + timedelta(days=int(number))


def scene(seed, days, k, holes):
    draw = np.random.default_rng(seed)
    state = np.clip(0.22 + np.cumsum(draw.normal(0, 0.01, (days, k)), axis=0), 0.02, 0.5)
    state[draw.random((days, k)) < holes] = np.nan
    held = draw.random((days, k)) < 0.1
    placement = np.ones(days, np.int16)
    placement[int(draw.integers(days)) :] = 2
    daily = Daily(
        site="S1", days=np.arange(np.datetime64(DAY0), np.datetime64(DAY0) + days),
        depths_cm=15.0 + 30.0 * np.arange(k), first=state, last=state, low=state, high=state,
        mean=state, predawn=state, state=state, temp_c=state, frozen=held, held=held,
        good=np.isfinite(state).astype(np.int32), placement=placement,
    )  # fmt: skip
    layers = tuple(
        Layer(site="S1", depth_cm=d, top_cm=d - 15, bottom_cm=d + 15) for d in daily.depths_cm
    )
    return draw, daily, layers


def points(draw, k, number):
    lower = draw.uniform(0.05, 0.15, k)
    return Points(
        placement=number, full=lower + draw.uniform(0.05, 0.2, k), refill=lower, lower=lower,
        full_sd=draw.uniform(0, 0.05, k), lower_sd=draw.uniform(0, 0.05, k),
        state=tuple(draw.choice(STATES, k).tolist()),
        lower_state=tuple(draw.choice(STATES, k).tolist()), ponded=np.zeros(k, bool),
    )  # fmt: skip


@settings(max_examples=25, deadline=None)
@given(
    seed=st.integers(0, 2**32 - 1),
    days=st.integers(1, 90),
    k=st.integers(1, 7),
    holes=st.sampled_from([0.0, 0.2, 0.95, 1.0]),
    silent=st.integers(0, 60),
)
def test_zones_are_made_of_their_layers(seed, days, k, holes, silent):
    draw, daily, layers = scene(seed, days, k, holes)
    own = {1: points(draw, k, 1), 2: points(draw, k, 2)}
    seasons = (
        Season(field="F1", crop="corn", planted_on=on(-90), harvested_on=on(days // 3)),
        Season(field="F1", crop="wheat", planted_on=on(days // 2)),
    )
    as_of, rules = on(days - 1 + silent), Settings()
    start = pd.to_datetime([on(days // 2)])
    table = readiness(
        daily, layers, own, seasons, off_seasons("F1", seasons, DAY0, as_of),
        pd.DataFrame({"start": start, "end": start, "cause": "rain"}),
        pd.DataFrame({"start": start, "depth_cm": 15.0, "stored_mm": 9.0}),
        last_full(daily, own, rules), "F1", as_of, rules,
        flags=pd.DataFrame({"depth_cm": [layers[0].depth_cm], "flag": "settling",
                            "from": start, "to": start}),
    )  # fmt: skip
    assert table["date"].iloc[-1] == pd.Timestamp(as_of)
    for day in draw.choice(table["date"].unique(), 4):
        check_date(table[table["date"] == day].set_index("zone"))
    check_classes(table)
    texts = table.loc[table["zone"] == "profile", "headlines"]
    assert all(isinstance(json.loads(text), list) for text in texts)
    assert table.loc[table["zone"] != "profile", "headlines"].isna().all()


def check_date(rows):
    parts, whole = rows.loc[["upper", "deep"]], rows.loc["profile"]
    each = rows.loc[["layer"]]
    for name in ("water_mm", "full_mm", "lower_mm", "deficit_mm"):
        np.testing.assert_allclose(parts[name].sum(), each[name].sum(), atol=1e-9)
        assert np.isnan(whole[name]) == each[name].isna().all()
        if not np.isnan(whole[name]):
            np.testing.assert_allclose(whole[name], each[name].sum(), atol=1e-9)
    if not np.isnan(whole["sd_mm"]):  # between all in quadrature and all straight
        low, high = np.sqrt((each["sd_mm"] ** 2).sum()), each["sd_mm"].sum()
        assert low - 1e-9 <= whole["sd_mm"] <= high + 1e-9
    assert pd.isna(whole["read_on"]) or whole["read_on"] == each["read_on"].min()
    assert (rows["seen"].dropna().between(0, 1 + 1e-12)).all()
    assert (rows["deficit_mm"].dropna() >= 0).all()


def check_classes(table):
    known = table[table["fill"].notna()]
    chances = known[[f"p_{one}" for one in CLASSES]]
    np.testing.assert_allclose(chances.sum(axis=1), 1.0, atol=1e-12)
    assert (chances >= 0).all(axis=None)
    assert known["class"].isin(CLASSES).all()
    unknown = table[table["fill"].isna()]
    assert unknown[["class", "class_probability", "p_full"]].isna().all(axis=None)


@settings(max_examples=50, deadline=None)
@given(fill=st.floats(-3, 3), sd=st.floats(0, 10))
def test_the_chances_of_the_classes_add_up_to_one(fill, sd):
    name, probability = classify(fill, sd)
    assert abs(probability.sum() - 1) < 1e-12
    assert (probability >= 0).all()
    if sd == 0:
        assert probability[CLASSES.index(name.item())] == 1.0
