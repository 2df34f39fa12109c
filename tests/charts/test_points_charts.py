"""The picture of one layer's points, and of what each layer gave to a crop."""

import json

import numpy as np
import pandas as pd
import pytest

from dashboard.charts.drydown import drydown
from dashboard.charts.palette import DARK, LIGHT, Palette
from dashboard.charts.points import points_record

STEP = 0.005


def days() -> pd.DataFrame:
    times = pd.date_range("2022-01-01", "2024-12-31", freq="D").to_numpy("datetime64[us]")
    theta = 0.25 + 0.08 * np.sin(np.arange(len(times)) / 58.0)
    frame = pd.DataFrame({"time": times, "value": theta, "low": theta - 0.002,
                          "high": theta + 0.002})  # fmt: skip
    return frame.drop(index=range(200, 230))


def histogram() -> pd.DataFrame:
    low = np.arange(0.17, 0.33, STEP)
    return pd.DataFrame({"low": low, "days": np.arange(1, len(low) + 1)})


def marks() -> pd.DataFrame:
    on = pd.to_datetime(["2022-03-01", "2023-03-02", "2023-12-31"])
    return pd.DataFrame({
        "kind": ["drained", "drained", "season", "histogram", "texture", "previous placement"],
        "name": ["drained to", "drained to", "season 2023", "histogram peak", "texture",
                 "before the re-install"],
        "value": [0.31, 0.315, 0.312, 0.3112, 0.3105, 0.29],
        "on": [*on, pd.NaT, pd.NaT, pd.NaT],
    })  # fmt: skip


def strip() -> pd.DataFrame:
    return pd.DataFrame({
        "from": [pd.Timestamp("2022-01-01"), pd.Timestamp("2022-05-01")],
        "to": [pd.Timestamp("2022-05-01"), pd.Timestamp("2024-12-31")],
        "label": ["off-season", "Corn 2024"], "kind": ["offseason", "crop"],
    })  # fmt: skip


def drawn(palette: Palette = LIGHT, **point: object) -> dict:
    told = {"name": "carried", "value": 0.311, "sd": 0.006, "sure": True, **point}
    chart = points_record(days(), histogram(), marks(), strip(), told, palette, "in", step=STEP)
    return chart.to_dict()


def layers_of(spec: dict, mark: str) -> list[dict]:
    return [one for one in spec["layer"] if one["mark"]["type"] == mark]


def rows(spec: dict, layer: dict) -> list[dict]:
    held = layer if "data" in layer else spec
    return spec["datasets"][held["data"]["name"]]


def test_one_view_on_one_scale_of_water() -> None:
    spec = drawn()
    assert spec["width"] == "container"
    scales = {
        json.dumps(one["encoding"]["y"]["scale"])
        for one in spec["layer"]
        if "scale" in one.get("encoding", {}).get("y", {})
    }
    assert len(scales) == 1
    domain = json.loads(scales.pop())["domain"]
    assert domain[0] < 0.17
    assert domain[1] > 0.35


def test_every_wetting_is_marked_and_every_season_set_beside() -> None:
    spec = drawn()
    (dots,) = layers_of(spec, "point")
    assert sorted(one["value"] for one in rows(spec, dots)) == [0.31, 0.315]
    for tick in layers_of(spec, "tick"):
        assert [one["value"] for one in rows(spec, tick)] == [0.312]


def test_names_stand_apart_and_carry_their_values() -> None:
    spec = drawn(proposed=0.3)
    words = [
        one for layer in layers_of(spec, "text") for one in rows(spec, layer) if "words" in one
    ]
    texts = {one["words"] for one in words}
    assert {"0.311 carried", "0.300 yours", "0.290 before the re-install"} <= texts
    assert not any("drained" in one for one in texts)
    at = sorted(one["at"] for one in words)
    assert np.diff(at).min() > 0.008
    order = sorted(words, key=lambda one: one["at"])
    values = [one["value"] for one in order]
    assert values == sorted(values)


@pytest.mark.parametrize(("sure", "dashed"), [(True, False), (False, True)])
def test_an_unsure_point_is_dashed(sure: bool, dashed: bool) -> None:
    spec = drawn(sure=sure)
    thick = [one for one in layers_of(spec, "rule") if one["mark"].get("strokeWidth") == 2]
    assert len(thick) == 1
    assert ("strokeDash" in thick[0]["mark"]) == dashed


def test_the_interval_is_eight_in_ten() -> None:
    spec = drawn()
    band = layers_of(spec, "rect")[0]
    (row,) = rows(spec, band)
    assert row["most"] - row["least"] == pytest.approx(2 * 1.28155 * 0.006, rel=1e-4)


def test_a_value_asked_about_is_drawn_in_the_highlight() -> None:
    assert DARK.highlight in json.dumps(drawn(DARK, proposed=0.3))
    assert DARK.highlight not in json.dumps(drawn(DARK))


def test_a_hole_breaks_the_line() -> None:
    spec = drawn()
    (line,) = layers_of(spec, "line")
    assert sum(one["value"] is None for one in rows(spec, line)) == 1


def test_nothing_beside_the_record_is_needed() -> None:
    none = marks().head(0)
    point = {"name": "carried", "value": 0.311, "sd": 0.006, "sure": False}
    bars, seasons = histogram().head(0), strip().head(0)
    chart = points_record(days(), bars, none, seasons, point, LIGHT, "mm", step=STEP)
    assert layers_of(chart.to_dict(), "line")


def gave() -> pd.DataFrame:
    return pd.DataFrame({
        "depth_cm": [15.0, 45.0, 75.0], "top_cm": [0.0, 30.0, 60.0],
        "bottom_cm": [30.0, 60.0, 90.0], "gave_mm": [50.8, 25.4, np.nan],
        "peak_mm_d": [5.08, 2.54, np.nan],
        "rooted_on": [pd.Timestamp("2024-05-20"), pd.Timestamp("2024-06-15"), pd.NaT],
        "stopped_on": [pd.Timestamp("2024-09-01"), pd.NaT, pd.NaT],
    })  # fmt: skip


@pytest.mark.parametrize(
    ("system", "said"),
    [
        ("in", ["2.0 · 0.20 a day · 20 May to 1 Sep", "1.0 · 0.10 a day · from 15 Jun"]),
        ("mm", ["51 · 5.1 a day · 20 May to 1 Sep", "25 · 2.5 a day · from 15 Jun"]),
    ],
)
def test_what_each_layer_gave_is_to_scale_and_said(system, said: list[str]) -> None:
    spec = drydown(gave(), LIGHT, system).to_dict()
    (bars,) = layers_of(spec, "rect")
    told = rows(spec, bars)
    assert [one["said"] for one in told] == [*said, "not known"]
    assert told[0]["gave"] == pytest.approx(2 * told[1]["gave"])
    assert told[2]["gave"] == 0.0
    assert told[0]["bottom"] - told[0]["top"] == pytest.approx(30.0, abs=2.0)
