"""How near the full points come to drained upper limits known from a simulation.

The floors are the aims of the work; the tables show what is really reached. Probes are read
with an offset of their own (sd 0.02 m3/m3) and noise; the truth of a sensor is the soil's
limit on that sensor's own scale.
"""

import importlib.util
from datetime import timedelta
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analytics.contract import TABLES
from analytics.model import Placement, Record, Season
from analytics.settings import Settings
from analytics.soil.calendar import daily_values
from analytics.soil.limits import learn_limits
from analytics.soil.profile import resolve_layers

SETTINGS = Settings()
NONE_SET = pd.DataFrame(columns=list(TABLES["limits"].names))
NINETY = 1.645  # sds to either side of a normal distribution's middle 90 %
PLACEMENT = Placement(
    site="s", field="f", number=1, latitude=39.0, longitude=-101.0,
    timezone="America/Chicago", installed_on=None, removed_on=None,
)  # fmt: skip


def script() -> ModuleType:
    spec = importlib.util.spec_from_file_location(
        "drainage", Path(__file__).with_name("drainage.py")
    )
    assert spec is not None
    assert spec.loader is not None
    drainage = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(drainage)
    return drainage


TRUTH = script()


def seasons() -> tuple[Season, ...]:
    first = TRUTH.FIRST_DAY
    whole = [
        Season(
            field="f", crop="maize",
            planted_on=first + timedelta(days=TRUTH.PLANTED + 365 * year),
            harvested_on=first + timedelta(days=TRUTH.HARVESTED + 365 * year),
        )
        for year in range(-1, 2)
    ]  # fmt: skip
    last = first + timedelta(days=TRUTH.PLANTED + 365 * 2)
    return (*whole, Season(field="f", crop="maize", planted_on=last))


def learned(theta: np.ndarray, texture: str | None) -> pd.DataFrame:
    dawn = np.datetime64(TRUTH.FIRST_DAY, "us") + np.timedelta64(11, "h")
    day = np.timedelta64(1, "D")
    record = Record(
        site="s", times=np.arange(dawn, dawn + len(theta) * day, day),
        depths_cm=TRUTH.DEPTHS_CM, theta=theta, temp_c=np.full(theta.shape, 10.0),
    )  # fmt: skip
    flags = np.zeros(theta.shape, np.uint16)
    daily = daily_values(record, flags, (PLACEMENT,), SETTINGS)
    layers = resolve_layers("s", TRUTH.DEPTHS_CM, (), texture)
    limits = learn_limits(daily, layers, seasons(), (PLACEMENT,), NONE_SET, SETTINGS)
    return limits[limits["point"] == "full"]


def lay_beside(seed: int, *, named: bool) -> pd.DataFrame:
    world, fallow = TRUTH.simulate(seed), TRUTH.fallow_days()
    rng = np.random.default_rng(seed)
    parts = []
    for column, (texture, regime) in enumerate(zip(world.textures, world.regimes, strict=True)):
        true = world.theta[:, column]
        read, offset = TRUTH.read(true, rng)
        told = learned(read, texture if named else None).reset_index(drop=True)
        limit = world.limits[column]
        told["texture"], told["regime"] = texture, regime
        told["error"] = told["value"] - (limit + offset)
        told["above"] = true[fallow].max(axis=0) - limit
        told["drained"] = [
            TRUTH.drained_wettings(one, float(most), fallow)
            for one, most in zip(true.T, limit, strict=True)
        ]
        parts.append(told)
    return pd.concat(parts, ignore_index=True)


@pytest.fixture(scope="module")
def told() -> pd.DataFrame:
    return lay_beside(29, named=True)


def test_learned_full_points_are_near_the_truth_in_every_texture(told):
    sure = told[(told["state"] == "learned") & (told["drained"] >= 3)]
    off = sure["error"].abs()
    show("median error, learned after three or more wettings", off.groupby(sure["texture"]))
    show("by depth", off.groupby(sure["depth_cm"]))
    assert sure["texture"].nunique() == len(TRUTH.SOILS) >= 5
    assert off.median() < 0.010
    assert (off.groupby(sure["texture"]).median() < 0.015).all()


def test_nine_truths_in_ten_lie_in_the_ninety_percent_interval(told):
    inside = told["error"].abs() <= NINETY * told["sd"]
    show("truths inside the 90 % interval", inside.groupby(told["state"]))
    assert inside[told["state"] == "learned"].mean() >= 0.9


def test_nearly_all_layers_that_drained_three_times_are_learned(told):
    enough = told[told["drained"] >= 3]
    assert len(enough) > 100
    assert (enough["state"] == "learned").mean() >= 0.9


def test_never_learned_where_never_wetted_to_drainage(told):
    never = told[told["above"] <= 0.0]
    show("state of layers never wetted to drainage", never.groupby("state")["value"])
    assert len(never) > 80
    assert (never["state"] != "learned").all()


def test_one_wetting_is_never_learned(told):
    few = told[told["regime"] == "few"]
    assert len(few) > 30
    assert (few["state"] != "learned").all()


def test_the_truth_itself_conserves_water():
    soil = TRUTH.Soil.of(list(TRUTH.SOILS))
    head = np.full(soil.ks.shape, -300.0)
    before = soil.at(head)[0].sum(axis=1) * TRUTH.CELL_CM
    inflow, sink, out = np.full(len(before), 2.0), np.zeros(head.shape), 0.0
    for _ in range(8):
        head = TRUTH.step(soil, head, inflow, sink, 0.25)
        out = out + soil.at(head)[2][:, -1] * 0.25
    after = soil.at(head)[0].sum(axis=1) * TRUTH.CELL_CM
    assert after - before == pytest.approx(4.0 - out, abs=0.05)  # cm


def show(title: str, groups: Any) -> None:
    print(f"\n{title}\n{groups.describe().round(4).to_string()}")  # noqa: T201 - asked for
