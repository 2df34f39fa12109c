"""Charts by their specification: encodings, titles with units, domains, rows that travel."""

import itertools
from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analytics.units import System
from dashboard.charts.depletion import root_zone_chart
from dashboard.charts.depth_time import depth_by_time, runs
from dashboard.charts.layer_record import layer_record
from dashboard.charts.palette import BAND, DARK, LIGHT, SHADE, Palette
from dashboard.charts.season import demand_and_capacity
from dashboard.charts.seasons import season_over_season
from dashboard.charts.tally import tally_layers, tally_waterfall
from dashboard.charts.texture import Box, dotting, hatching

EDGES = (0.0, 20.0, 60.0, 120.0)
PLOT_PX = 316.0  # 340 without the strip


def layers_of(chart: Any) -> list[dict[str, Any]]:
    """Give each layer with its rows."""
    spec = chart.to_dict()
    sets = spec.get("datasets", {})
    return [{**one, "rows": sets.get(one.get("data", {}).get("name"), [])}
            for one in spec["layer"]]  # fmt: skip


def marks(chart: Any, kind: str, **wanted: Any) -> list[dict[str, Any]]:
    return [
        one for one in layers_of(chart)
        if one["mark"]["type"] == kind
        and all(one["mark"].get(k) == v for k, v in wanted.items())
    ]  # fmt: skip


def texts(chart: Any) -> set[str]:
    """Give every word that the chart writes into its plot."""
    said = set()
    for one in marks(chart, "text"):
        field = one["encoding"]["text"]["field"]
        said |= {row.get(field, row.get("long")) for row in one["rows"]}
    return said


def axes(chart: Any, channel: str) -> Iterator[dict[str, Any]]:
    return (one["encoding"][channel]["axis"] for one in layers_of(chart)
            if one["encoding"].get(channel, {}).get("axis"))  # fmt: skip


# --- depth by time --------------------------------------------------------------------------


def weekly() -> pd.DataFrame:
    """Ten weeks of three layers: top full; middle held, then not known; bottom low."""
    dates = pd.date_range("2024-10-07", periods=10, freq="7D")
    rows = []
    for (top, bottom), code in zip(itertools.pairwise(EDGES), ("full", "partial", "low"),
                                   strict=True):  # fmt: skip
        for i, day in enumerate(dates):
            middle = top == 20
            known = not (middle and i >= 6)
            rows.append((day, top + 5, top, bottom, 0.5, code if known else None,
                         middle and i < 3))  # fmt: skip
    names = ["date", "depth_cm", "top_cm", "bottom_cm", "fill", "class", "held"]
    return pd.DataFrame(rows, columns=names)


STRIP = pd.DataFrame(
    {"from": ["2024-05-01", "2024-10-20"], "to": ["2024-10-20", None],
     "label": ["Corn 2024", "off-season"], "kind": ["crop", "offseason"]}
)  # fmt: skip
NOTES = pd.DataFrame(
    {
        "date": ["2024-10-10"] * 6,
        "depth_cm": [60.0] * 6,
        "text": [f"note {i}" for i in range(6)],
    }
)


def picture(system: System = "in", palette=LIGHT, notes=NOTES, frame=None):
    return depth_by_time(weekly() if frame is None else frame, STRIP, notes, palette, system)


def test_weeks_alike_are_joined_and_none_is_lost():
    joined = runs(weekly())
    # top 1 run, middle held 3 + known 3 + unknown 4 = 3 runs, bottom 1
    assert len(joined) == 5
    days = (joined["to"] - joined["from"]).dt.days
    assert days.groupby(joined["top_cm"]).sum().to_list() == [70, 70, 70]


def test_a_missing_week_is_left_blank_not_bridged():
    frame = weekly().drop(index=[3, 4])
    top = runs(frame).query("top_cm == 0")
    assert (top["to"] - top["from"]).dt.days.to_list() == [21, 35]


def test_layers_are_drawn_to_scale_with_the_strip_above():
    plain = marks(picture(), "rect", strokeWidth=0.7)[0]
    encoding = plain["encoding"]
    assert (encoding["y"]["field"], encoding["y2"]["field"]) == ("top_cm", "bottom_cm")
    bottom, top = encoding["y"]["scale"]["domain"]
    assert bottom == 120
    # 340 px, less strip 24, axis 26, key 30 and padding 2 x 5, stand for 120 cm
    assert top == pytest.approx(-24 / PLOT_PX * 120)
    assert encoding["color"]["field"] == encoding["stroke"]["field"] == "code"
    assert encoding["color"]["scale"]["range"][0] == LIGHT.depleted


def test_only_what_is_known_has_a_ramp_colour():
    plain, held, unknown = (one["rows"] for one in marks(picture(), "rect")[:3])
    assert {row["code"] for row in plain} == {"full", "partial", "low"}
    assert [row["code"] for row in held] == ["partial"]
    assert [(row["top_cm"], row["code"]) for row in unknown] == [(20, "")]
    hatched = marks(picture(), "rule", color=LIGHT.edge)[0]
    near = 1e-6
    assert hatched["rows"]
    assert all(20 - near <= row["bottom"] <= row["top"] <= 60 + near for row in hatched["rows"])
    dots = marks(picture(), "circle")[0]
    assert dots["rows"]
    assert all(20 <= row["depth"] <= 60 for row in dots["rows"])


@pytest.mark.parametrize(
    ("system", "labels"),
    [("in", ("0 ft", "3 ft", "4 ft")), ("mm", ("0 cm", "90 cm", "120 cm"))],
)
def test_the_depth_axis_carries_its_unit(system, labels):
    axis = next(axes(picture(system), "y"))
    assert axis["values"] == [0, 90, 120]
    assert all(f"'{one}'" in axis["labelExpr"] for one in labels)


def test_at_most_four_notes_that_never_touch():
    chart = picture()
    assert {one for one in texts(chart) if one.startswith("note")} == {
        f"note {i}" for i in range(4)
    }
    plates = [one["rows"][0]["depth"] for one in marks(chart, "rect", cornerRadius=3)]
    px = sorted(depth * PLOT_PX / 120 for depth in plates)
    assert min(b - a for a, b in itertools.pairwise(px)) >= 20  # a plate is 20 px high


def test_seasons_are_named_and_the_key_names_every_state():
    said = texts(picture())
    assert {"Corn 2024", "off-season"} <= said
    assert {
        "Depleted",
        "Low",
        "Partial",
        "Near full",
        "Full",
        "Not known",
        "Frozen, held",
    } <= said


def test_the_strip_s_tint_is_never_over_data():
    [tint] = marks(picture(), "rect", fill=LIGHT.tint)
    assert all(row["bottom"] == 0 and row["top"] < 0 for row in tint["rows"])


def test_seven_years_of_twelve_layers_stay_light():
    dates = pd.date_range("2018-01-01", periods=365, freq="7D")
    codes = np.array(["low", "partial", "near_full", None], dtype=object)
    rng = np.random.default_rng(7)
    frame = pd.concat([
        pd.DataFrame({"date": dates, "depth_cm": i * 10.0 + 5, "top_cm": i * 10.0,
                      "bottom_cm": i * 10.0 + 10, "fill": 0.5, "held": i < 4,
                      "class": codes[np.repeat(rng.integers(0, 4, 73), 5)]})
        for i in range(12)
    ])  # fmt: skip
    spec = picture(frame=frame).to_dict()  # more than 5,000 rows in one set would be refused
    assert sum(len(rows) for rows in spec["datasets"].values()) < 8000


def test_hatching_is_clipped_and_runs_at_45_degrees():
    box = Box(left=10, top=20, right=60, bottom=40)
    lines = hatching([box])
    assert lines
    for x1, y1, x2, y2 in lines:
        assert x2 - x1 == pytest.approx(y1 - y2)
        assert 10 <= x1 <= x2 <= 60
        assert 20 <= y2 <= y1 <= 40
    split = hatching([Box(left=10, top=20, right=35, bottom=40),
                      Box(left=35, top=20, right=60, bottom=40)])  # fmt: skip
    length = [sum(x2 - x1 for x1, _, x2, _ in some) for some in (lines, split)]
    assert length[0] == pytest.approx(length[1])


def test_dots_never_outgrow_the_row_guard():
    assert len(dotting([Box(left=0, top=0, right=2000, bottom=2000)])) <= 3500
    assert dotting([]) == []


# --- record by layer ------------------------------------------------------------------------


def points() -> pd.DataFrame:
    times = pd.date_range("2024-01-01", periods=30, freq="D")
    frame = pd.concat([
        pd.DataFrame({"time": times, "depth_cm": depth, "value": 0.2, "low": 0.19,
                      "high": 0.22})
        for depth in (10.0, 50.0)
    ])  # fmt: skip
    return frame[
        ~((frame["depth_cm"] == 50) & frame["time"].between("2024-01-10", "2024-01-20"))
    ]


LIMITS = pd.DataFrame({
    "depth_cm": [10.0, 50.0], "full": [0.3, 0.32], "refill": [0.2, np.nan],
    "lower": [0.1, 0.12], "full_sd": [0.01, 0.03], "state": ["learned", "texture"],
})  # fmt: skip
FLAGS = pd.DataFrame({"depth_cm": [10.0], "from": ["2024-01-03"], "to": ["2024-01-08"],
                      "flag": ["stuck"]})  # fmt: skip


def record(system: System = "in", limits=LIMITS, flags=FLAGS, palette=LIGHT):
    return layer_record(points(), limits, flags, STRIP, palette, system)


def lines(chart: Any) -> list[list[dict[str, Any]]]:
    """Give the rows of each layer's line, from the surface down."""
    (line,) = marks(chart, "line")
    assert line["encoding"]["detail"]["field"] == "depth_cm"  # parts one layer's from the next
    rows = sorted(line["rows"], key=lambda row: row["depth_cm"])
    return [[*own] for _, own in itertools.groupby(rows, key=lambda row: row["depth_cm"])]


def test_every_layer_has_a_band_and_the_title_its_unit():
    chart = record()
    assert len(lines(chart)) == 2
    (area,) = marks(chart, "area")
    assert area["encoding"]["detail"]["field"] == "depth_cm"
    title = "volumetric water content, m³/m³, by depth of the sensor"
    assert chart.to_dict()["title"] == title
    assert {"4 in", "20 in"} <= texts(chart)
    assert {"10 cm", "50 cm"} <= texts(record("mm"))


def test_bands_do_not_reach_into_one_another():
    for i, line in enumerate(lines(record())):
        at = [row["at"] for row in line if row["at"] is not None]
        assert i < min(at) <= max(at) < i + 1


def test_a_reading_under_the_pointer_tells_its_depth():
    first, second = ({row["depth"] for row in own} for own in lines(record("mm")))
    assert (first, second) == ({"10 cm"}, {"50 cm"})


def test_a_hole_breaks_the_line():
    whole, broken = lines(record())
    assert sum(row["value"] is None for row in whole) == 0
    assert sum(row["value"] is None for row in broken) == 1


def test_an_unlearned_full_point_is_dashed_and_shows_its_wider_spread():
    rules = marks(record(), "rule", color=LIGHT.ink, strokeWidth=1.8)
    dashed = [one["mark"].get("strokeDash") for one in rules]
    assert dashed == [None, [6, 4]]
    assert [len(one["rows"]) for one in rules] == [1, 1]
    [band] = marks(record(), "rect", color=LIGHT.tint)
    wide = [row["bottom"] - row["top"] for row in band["rows"]]
    assert wide[1] == pytest.approx(3 * wide[0])


def test_points_are_named_and_a_missing_one_is_not():
    [names] = [one for one in marks(record(), "text")
               if one["encoding"]["x"].get("value") == "width"]  # fmt: skip
    assert [row["words"] for row in names["rows"]] == [
        "full",
        "refill",
        "lower",
        "full",
        "lower",
    ]


def test_flagged_spans_are_ticked_and_named():
    [ticks] = marks(record(), "rule", strokeWidth=7)
    assert [row["name"] for row in ticks["rows"]] == ["stuck"]
    assert ticks["mark"]["strokeDash"]
    assert "stuck" in texts(record())
    assert not marks(record(flags=FLAGS.iloc[:0]), "rule", strokeWidth=7)


def test_a_record_without_points_is_still_drawn():
    assert len(lines(record(limits=LIMITS.iloc[:0]))) == 2


# --- tally ----------------------------------------------------------------------------------

ROW = {
    "start_mm": 117.0, "end_mm": 193.0, "gain_rain_mm": 79.0, "gain_snow_mm": 30.0,
    "gain_irrigation_mm": 0.0, "gain_thaw_mm": 8.0, "gain_unexplained_mm": 2.0, "loss_mm": 43.0,
    "drainage_mm": 3.0, "crop": "corn", "open": True, "bottom_cm": 229.0,
}  # fmt: skip


def steps(chart: Any) -> dict[str, dict[str, Any]]:
    rows = [row for one in marks(chart, "bar") for row in one["rows"]]
    return {row["step"]: row for row in rows}


def test_steps_lead_from_what_was_left_to_what_is_held():
    chart = tally_waterfall(ROW, "mm", LIGHT)
    found = steps(chart)
    # 117 + 79 + 30 + 8 + 2 = 236; all losses 43, of them 3 drained: 236 - 40 - 3 = 193
    assert found["Left by|corn"]["high"] == 117
    assert (found["Rain"]["low"], found["Rain"]["high"]) == (117, 196)
    assert (found["Lost|upward"]["low"], found["Lost|upward"]["high"]) == (196, 236)
    assert found["Drained,|at least"]["low"] == found["Held|today"]["high"] == 193
    assert "Irrigation" not in found  # none was put on


def test_a_tally_under_a_crop_begins_with_its_planting_and_says_nothing_was_left():
    under = {**ROW, "crop": "winter wheat", "standing": True}
    assert next(iter(steps(tally_waterfall(under, "mm", LIGHT)))) == "At its|planting"
    closed = steps(tally_waterfall({**under, "open": False}, "mm", LIGHT))
    assert "At|green-up" in closed
    assert not any("Left by" in one or one == "At|planting" for one in closed)


def test_figures_carry_their_signs_and_the_axis_starts_at_nought():
    chart = tally_waterfall(ROW, "in", LIGHT)
    # 79 / 25.4 = 3.1; 40 / 25.4 = 1.6; 117 / 25.4 = 4.6; 193 / 25.4 = 7.6
    assert {"+3.1", "−1.6", "−0.1", "4.6", "7.6"} <= texts(chart)
    for one in marks(chart, "bar"):
        assert one["encoding"]["y"]["scale"]["domain"][0] == 0
    assert chart.to_dict()["title"] == "inches of water, 0 to 7½ ft"
    assert tally_waterfall(ROW, "mm", LIGHT).to_dict()["title"] == "mm of water, 0 to 229 cm"


def test_states_are_muted_gains_edge_and_losses_hollow():
    for palette in (LIGHT, DARK):
        fills = [
            one["mark"]["fill"] for one in marks(tally_waterfall(ROW, "mm", palette), "bar")
        ]
        assert fills == [palette.muted, palette.edge, palette.ground]


def test_unknown_drainage_leaves_one_loss():
    found = steps(tally_waterfall({**ROW, "drainage_mm": None}, "mm", LIGHT))
    assert found["Lost"]["high"] - found["Lost"]["low"] == 43
    assert not any("Drained" in name for name in found)


def test_each_layer_s_change_is_to_scale_with_a_sign():
    rows = pd.DataFrame({
        "depth_cm": [np.nan, 10.0, 40.0, 90.0], "top_cm": [0.0, 0, 20, 60],
        "bottom_cm": [120.0, 20, 60, 120], "change_mm": [20.0, 25.4, -5.4, np.nan],
    })  # fmt: skip
    chart = tally_layers(rows, "in", LIGHT)
    gains, losses = marks(chart, "rect")
    assert [(row["top_cm"], row["bottom_cm"], row["change"]) for row in gains["rows"]] == [
        (0, 20, pytest.approx(1.0))
    ]
    assert len(losses["rows"]) == 1
    assert {"+1.0", "−0.2", "not known"} <= texts(chart)
    assert chart.to_dict()["title"] == "change of each layer's water, in"


# --- seasons --------------------------------------------------------------------------------


def seasons() -> pd.DataFrame:
    day = np.arange(100)
    return pd.concat([
        pd.DataFrame({"season": f"{year}–{year - 1999}", "day": day,
                      "date": pd.Timestamp(f"{year}-10-01") + pd.to_timedelta(day, "D"),
                      "water_mm": 100.0 + year - 2020, "full_mm": 200.0,
                      "current": year == 2024})
        for year in range(2020, 2025)
    ])  # fmt: skip


def test_this_season_stands_out_and_every_one_is_named():
    chart = season_over_season(seasons(), "below 3 ft", "mm", LIGHT, month=10)
    earlier, now = marks(chart, "line")
    assert len(earlier["rows"]) == 400
    assert {row["season"] for row in now["rows"]} == {"2024–25"}
    assert now["mark"]["strokeWidth"] > 2 * earlier["mark"]["strokeWidth"]
    assert {"2020–21", "2024–25", "full"} <= texts(chart)
    assert chart.to_dict()["title"] == "mm of water, below 3 ft"


@pytest.mark.parametrize(("month", "named"), [
    (10, {0: "Oct", 61: "Dec", 123: "Feb", 182: "Apr", 243: "Jun", 304: "Aug"}),
    (1, {0: "Jan", 59: "Mar", 120: "May", 181: "Jul", 243: "Sep", 304: "Nov"}),
    (4, {0: "Apr", 61: "Jun", 122: "Aug", 183: "Oct", 244: "Dec", 306: "Feb"}),
])  # fmt: skip
def test_the_months_of_a_year_stand_where_they_begin(month, named):
    chart = season_over_season(seasons(), "below 3 ft", "mm", LIGHT, month=month)
    axis = marks(chart, "line")[0]["encoding"]["x"]["axis"]
    assert axis["values"] == [*named]
    assert all(f"'{name}'" in axis["labelExpr"] for name in named.values())


def test_names_of_like_seasons_keep_apart():
    chart = season_over_season(seasons(), "below 3 ft", "mm", LIGHT, month=10, height=280)
    [names] = marks(chart, "text", color=LIGHT.muted)
    water = sorted(row["water"] for row in names["rows"])
    top = marks(chart, "line")[0]["encoding"]["y"]["scale"]["domain"][1]
    assert min(b - a for a, b in itertools.pairwise(water)) / top * 280 >= 14.9


def test_water_starts_at_nought_and_the_year_in_october():
    line = marks(season_over_season(seasons(), "x", "in", LIGHT, month=10), "line")[0][
        "encoding"
    ]
    assert line["y"]["scale"]["domain"][0] == 0
    assert line["x"]["scale"]["domain"] == [0, 366]
    assert "'Oct'" in line["x"]["axis"]["labelExpr"]


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_every_chart_stands_on_its_theme_s_ground(palette):
    for chart in (picture(palette=palette), record(palette=palette),
                  tally_waterfall(ROW, "in", palette),
                  season_over_season(seasons(), "x", "in", palette, month=10)):  # fmt: skip
        config = chart.to_dict()["config"]
        assert config["background"] == palette.ground
        assert config["view"]["stroke"] is None
        assert config["axis"]["labelFontSize"] >= 12


def test_what_is_under_the_pointer_is_told_in_words_or_not_at_all():
    """Streamlit would tell every column of a mark that says nothing itself."""
    soil = (picture(), record(), tally_waterfall(ROW, "in", LIGHT))
    years = season_over_season(seasons(), "x", "in", LIGHT, month=10)
    for chart in (*soil, years, *season_charts(LIGHT)):
        assert chart.to_dict()["config"]["mark"] == {"tooltip": None}
        tips = [one["encoding"].get("tooltip", []) for one in layers_of(chart)]
        titles = [tip.get("title", tip["field"]) for tip in itertools.chain(*tips)]
        assert not [one for one in titles if "_" in one]
    season, root_zone = season_charts(LIGHT)
    (band,) = marks(season, "area")
    assert [tip["title"] for tip in band["encoding"]["tooltip"]] == [
        "Day", "1 year in 10 under, mm a day", "the middle, mm a day",
        "1 year in 10 over, mm a day", "the reliability, mm a day",
    ]  # fmt: skip
    (probe,) = marks(root_zone, "line", color=LIGHT.ink)
    assert [tip["title"] for tip in probe["encoding"]["tooltip"]] == [
        "Day", "by the probe, mm short", "by the balance alone, mm short",
        "refill point, mm short",
    ]  # fmt: skip


def test_a_field_without_seasons_or_notes_is_drawn_with_its_record_alone():
    none = pd.DataFrame({"from": [], "to": [], "label": [], "kind": []})
    bare = pd.DataFrame({"date": [], "depth_cm": [], "text": []})
    chart = depth_by_time(weekly(), none, bare, LIGHT, "mm")
    assert not marks(chart, "rect", fill=LIGHT.tint)
    assert len(marks(chart, "rect")) == 3
    assert len(lines(layer_record(points(), LIMITS, FLAGS, none, LIGHT, "mm"))) == 2


# --- the season -----------------------------------------------------------------------------


def season_charts(palette: Palette) -> tuple[Any, Any]:
    """Draw what a crop asks for, and its root zone with what is to come."""
    dates = pd.date_range("2025-05-02", periods=60, freq="D")
    asked = pd.DataFrame({"date": dates, "low_mm_d": 4.0, "middle_mm_d": 5.0, "high_mm_d": 7.0,
                          "sure_mm_d": 6.0})  # fmt: skip
    window = {"capacity_mm_d": 3.0, "run_from": dates[5], "run_until": dates[50],
              "water_from": pd.NaT, "water_until": pd.NaT}  # fmt: skip
    told = pd.DataFrame({"date": dates, "probe_mm": 20.0, "alone_mm": 22.0, "ready_mm": 60.0})
    held = pd.DataFrame({"date": dates, "low_mm": 20.0, "middle_mm": 30.0, "high_mm": 45.0,
                         "ready_mm": 60.0})  # fmt: skip
    season = demand_and_capacity(asked, window, palette, "mm")
    return season, root_zone_chart(told, {"hold": held}, palette, "mm")


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_bands_of_past_years_are_drawn_as_they_are_seen(palette: Palette) -> None:
    """With the colour and opacity that test_palette.py finds contrast enough."""
    season, root_zone = season_charts(palette)
    for chart in (season, root_zone):
        (band,) = marks(chart, "area", color=palette.edge)
        assert band["mark"]["opacity"] == BAND
    (stretch,) = marks(season, "rect", color=palette.line)
    assert stretch["mark"]["opacity"] == SHADE
