"""The calendar of coverage: a row a sensor, told by pattern, never by red or green."""

import re

import pandas as pd
import pytest

from dashboard.charts import paper
from dashboard.charts.coverage import coverage_calendar
from dashboard.charts.palette import DARK, LIGHT, Palette
from dashboard.charts.spec import spec as written


def runs() -> pd.DataFrame:
    days = pd.to_datetime(["2024-01-01", "2024-02-01", "2024-03-01", "2024-04-01"])
    upper = pd.DataFrame({"depth_cm": 10.0, "state": ["good", "held", "missing"],
                          "from": days[:3], "to": days[1:]})  # fmt: skip
    lower = pd.DataFrame({"depth_cm": 30.0, "state": ["flagged"],
                          "from": days[:1], "to": days[3:]})  # fmt: skip
    return pd.concat([lower, upper], ignore_index=True)


def drawn(palette: Palette, system: str = "in") -> dict:
    return coverage_calendar(runs(), palette, system, width=800).to_dict()  # type: ignore[arg-type]


def data_of(spec: dict, layer: dict) -> list[dict]:
    return spec["datasets"][layer["data"]["name"]]


@pytest.mark.parametrize("palette", [LIGHT, DARK])
def test_states_are_told_by_tone_and_pattern(palette: Palette) -> None:
    spec = drawn(palette)
    rects = [one for one in spec["layer"] if one["mark"].get("type") == "rect"]
    fills = {data_of(spec, one)[0]["state"]: one["mark"]["color"] for one in rects}
    assert fills == {"good": palette.line, "held": palette.line, "flagged": palette.ink,
                     "missing": palette.ground}  # fmt: skip
    marks = {one["mark"]["type"]: len(data_of(spec, one)) for one in spec["layer"]}
    assert marks["rule"] > 10, "missing is hatched"
    assert marks["circle"] > 10, "held is dotted"


def test_a_row_a_sensor_with_its_depth() -> None:
    spec = drawn(LIGHT)
    rects = [one for one in spec["layer"] if one["mark"].get("type") == "rect"]
    rows = {row["sensor"]: row["top"] for one in rects for row in data_of(spec, one)}
    assert rows["4 in"] < rows["12 in"], "depth runs down"
    scale = rects[0]["encoding"]["y"]["scale"]["domain"]
    assert scale == [2.0, 0.0]
    assert "10 cm" in str(drawn(LIGHT, "mm"))


@pytest.mark.parametrize("days", [1, 3, 5, 9, 20, 45, 61, 90, 101, 110, 130, 200, 400, 1500])
def test_every_label_of_the_time_axis_is_told_from_the_next(days: int) -> None:
    first = pd.Timestamp("2026-10-12 05:00")
    one = pd.DataFrame({"depth_cm": 10.0, "state": ["good"], "from": [first],
                        "to": [first + pd.Timedelta(days=days)]})  # fmt: skip
    drawn_ = paper.svg_of(written(coverage_calendar(one, LIGHT, "in", width=800)))
    month = r"(?:Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)"
    shape = rf">\s*(\d+ {month}(?: \d\d:\d\d)?|{month} \d{{4}})\s*<"
    labels = re.findall(shape, drawn_)
    assert len(labels) >= 2
    assert len(set(labels)) == len(labels)
    assert labels[0][0].isdigit() == (days < 120), "a short record is read by the day"
