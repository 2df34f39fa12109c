"""Wettings on their way down, frost and faults over the record of each layer."""

import itertools
from typing import Any

import altair as alt
import pandas as pd
import pyarrow as pa
import pytest

from dashboard.charts.fronts import held_spells
from dashboard.charts.layer_record import layer_record
from dashboard.charts.palette import LIGHT
from dashboard.charts.seasons import season_over_season
from dashboard.charts.spec import sent, spec
from dashboard.charts.tally import tally_waterfall

DAYS = pd.date_range("2025-01-01", periods=60, freq="D")
MS = len("2025-01-20T02:35:27.272")
NONE = pd.DataFrame({"from": [], "to": [], "label": [], "kind": []})
LIMITS = pd.DataFrame({"depth_cm": [10.0, 30.0, 60.0], "full": 0.3, "refill": 0.2, "lower": 0.1,
                       "full_sd": 0.01, "state": "learned"})  # fmt: skip
FRONTS = pd.DataFrame({
    "start": pd.Timestamp("2025-01-10"),
    "time": pd.to_datetime(["2025-01-10 06:00", "2025-01-12 00:00", "2025-01-20 00:00"]),
    "depth_cm": [10.0, 30.0, 60.0], "stored_mm": 20.0, "told": "Rain", "label": "Rain 10 Jan",
})  # fmt: skip


def points() -> pd.DataFrame:
    """Three layers of sixty days; the top one is held from 20 to 29 January."""
    held = (pd.Timestamp("2025-01-20") <= DAYS) & (pd.Timestamp("2025-01-30") > DAYS)
    return pd.concat([
        pd.DataFrame({"time": DAYS, "depth_cm": depth, "value": 0.25, "low": 0.24, "high": 0.26,
                      "held": held if depth == 10.0 else False})
        for depth in (10.0, 30.0, 60.0)
    ])  # fmt: skip


def flag(name: str, depth: float = 30.0) -> dict[str, Any]:
    return {"depth_cm": depth, "flag": name, "from": DAYS[5], "to": DAYS[8]}


def drawn(*flags: dict[str, Any], fronts: pd.DataFrame | None = FRONTS) -> dict[str, Any]:
    some = pd.DataFrame(flags or [flag("spike")])
    return layer_record(points(), LIMITS, some, NONE, LIGHT, "in", fronts=fronts).to_dict()


def rows(chart: dict[str, Any], kind: str, **look: Any) -> list[list[dict[str, Any]]]:
    return [
        chart["datasets"][one["data"]["name"]]
        for one in chart["layer"]
        if one["mark"]["type"] == kind and look.items() <= one["mark"].items()
    ]


def words(chart: dict[str, Any]) -> list[str]:
    said = []
    for one in chart["layer"]:
        if one["mark"]["type"] == "text":
            field = one["encoding"]["text"]["field"]
            found = chart["datasets"][one["data"]["name"]]
            said += [row[field] for row in found if field in row]
    return said


def test_a_wetting_goes_down_from_the_surface_to_the_depth_it_reached():
    [path] = rows(drawn(), "line", color=LIGHT.highlight)
    assert [row["at"] for row in path] == [0.0, 0.5, 1.5, 2.5]
    assert [row["from"][:10] for row in path] == [
        "2025-01-10", "2025-01-10", "2025-01-12", "2025-01-20",
    ]  # fmt: skip
    assert "Rain 10 Jan" in words(drawn())


def test_a_record_without_wettings_draws_none():
    for fronts in (None, FRONTS.head(0)):
        assert not rows(drawn(fronts=fronts), "line", color=LIGHT.highlight)


def test_frost_is_a_pattern_and_its_values_are_dashed():
    chart = drawn()
    [dots] = rows(chart, "circle", color=LIGHT.edge)
    assert dots
    assert all(0 <= row["at"] <= 1 for row in dots)  # the top band alone
    [dashed] = rows(chart, "line", strokeDash=[3, 3])
    seen = [row["from"][:10] for row in dashed if row["at"] is not None]
    # ten held days, joined to the reading before and the one after
    assert (seen[0], seen[-1], len(seen)) == ("2025-01-19", "2025-01-30", 12)
    solid = rows(chart, "line", color=LIGHT.ink, strokeWidth=1.1)[0]
    assert sum(row["at"] is None for row in solid) == 10


def test_held_points_that_follow_are_one_spell():
    spells = held_spells(points().rename(columns={"time": "from"}))
    assert len(spells) == 1
    assert (spells["from"][0], spells["to"][0]) == (DAYS[19], DAYS[29])


def test_faults_are_named_and_frost_is_not():
    said = words(drawn(flag("stuck"), flag("frost_edge"), flag("frozen"), flag("spike")))
    assert "stuck" in said
    assert not {"near freezing", "frozen", "spike"} & set(said)


def test_a_fault_of_the_whole_probe_is_named_once():
    said = words(drawn(*(flag("gap", depth) for depth in (10.0, 30.0, 60.0))))
    assert said.count("no readings") == 2  # the word and the ground behind it


def test_a_plain_specification_carries_every_row():
    chart = layer_record(points(), LIMITS, pd.DataFrame([flag("spike")]), NONE, LIGHT, "in",
                         fronts=FRONTS)  # fmt: skip
    plain, checked = spec(chart), chart.to_dict()
    assert len(plain["layer"]) == len(checked["layer"])
    for mine, theirs in zip(plain["layer"], checked["layer"], strict=True):
        assert mine["encoding"] == theirs["encoding"]
        assert (
            plain["datasets"][mine["data"]["name"]]
            == (checked["datasets"][theirs["data"]["name"]])
        )
    assert chart.layer[0].data is not None


def test_what_is_sent_to_a_browser_is_that_specification():
    """Times travel as they are written: a browser would show instants in its own zone."""
    chart = layer_record(points(), LIMITS, pd.DataFrame([flag("spike")]), NONE, LIGHT, "in",
                         fronts=FRONTS)  # fmt: skip
    plain, packed = spec(chart), sent(chart)
    assert {**plain, "datasets": 0} == {**packed, "datasets": 0}
    assert plain["datasets"].keys() == packed["datasets"].keys()
    for name, rows_ in plain["datasets"].items():
        told = pa.ipc.open_stream(packed["datasets"][name]).read_all()
        assert [as_sent(row) for row in rows_] == [as_sent(row) for row in told.to_pylist()]


def as_sent(row: dict[str, Any]) -> dict[str, Any]:
    """Altair writes a missing time as an empty word, and of a second more than is drawn."""
    words_ = {name: value for name, value in row.items() if isinstance(value, str)}
    cut = {name: word[:MS].removesuffix(".000") for name, word in words_.items()}
    return {**row, **{name: word or None for name, word in cut.items()}}


def test_a_time_within_a_second_keeps_its_part():
    when = pd.DataFrame({"at": [pd.Timestamp("2025-01-01 10:00:00.250"), pd.NaT]})
    drawn_ = sent(alt.Chart(when).mark_point().encode(x="at:T"))
    (packed,) = drawn_["datasets"].values()
    told = pa.ipc.open_stream(packed).read_all()["at"].to_pylist()
    assert told == ["2025-01-01T10:00:00.250", None]


# --- tally ----------------------------------------------------------------------------------

ROW = {
    "start_mm": 100.0, "end_mm": 150.0, "gain_rain_mm": 90.0, "gain_snow_mm": 0.2,
    "gain_irrigation_mm": 0.0, "gain_thaw_mm": 0.0, "gain_unexplained_mm": 0.0,
    "loss_mm": 40.2, "drainage_mm": 10.0, "crop": "winter wheat", "open": False,
}  # fmt: skip


def steps(row: dict[str, Any]) -> dict[str, tuple[float, float]]:
    chart = tally_waterfall(row, "mm", LIGHT).to_dict()
    return {one["step"]: (one["low"], one["high"]) for some in rows(chart, "bar")
            for one in some}  # fmt: skip


def test_steps_that_round_to_nought_are_left_out():
    assert [*steps(ROW)] == [
        "Left by|winter|wheat", "At|planting", "Rain", "Lost|upward", "Drained,|at least",
    ]  # fmt: skip


def test_what_was_lost_upward_and_downward_is_told_apart_where_known():
    found = steps({**ROW, "loss_up_mm": 30.0, "loss_down_mm": 10.2})
    assert {"Lost|upward", "Lost|downward"} < set(found)
    assert found["Lost|downward"][1] - found["Lost|downward"][0] == pytest.approx(10.2)
    assert "Drained,|at least" not in found


# --- seasons --------------------------------------------------------------------------------


def test_names_of_nine_like_seasons_stay_on_the_plot():
    frame = pd.concat([
        pd.DataFrame({"season": f"{year}", "day": range(360),
                      "date": pd.Timestamp("2020-01-01"),
                      "water_mm": 199 + year / 1e4, "full_mm": 200.0, "current": year == 2025})
        for year in range(2017, 2026)
    ])  # fmt: skip
    chart = season_over_season(frame, "below 3 ft", "mm", LIGHT, month=10, height=260).to_dict()
    [names] = rows(chart, "text", color=LIGHT.muted)
    top = next(
        one["encoding"]["y"]["scale"]["domain"][1]
        for one in chart["layer"]
        if one["mark"]["type"] == "line"
    )
    at = sorted(row["water"] for row in names)
    assert at[-1] <= top
    assert min(b - a for a, b in itertools.pairwise(at)) / top * 260 >= 14.9
